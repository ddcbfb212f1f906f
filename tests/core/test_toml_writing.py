"""What a shot and a puppet look like when they are written."""

from __future__ import annotations

import tomllib
from dataclasses import fields, replace
from pathlib import Path

import tomlkit

from striderule.model.fields import specs_of
from striderule.model.shot import Shot
from striderule.model.shotfile import (
    dump_puppet,
    dump_shot,
    parse_puppet,
    parse_shot,
)

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")


def change(text: str, old: str, new: str) -> str:
    """`text` with one piece replaced, which must be in it once."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


def test_a_written_shot_reads_back_equal_and_writes_the_same_again() -> None:
    shot = parse_shot(SHOT, "x")
    text = dump_shot(shot)
    assert parse_shot(text, "y") == shot
    assert dump_shot(parse_shot(text, "y")) == text
    assert text.endswith("\n")
    assert "\r" not in text


def test_a_written_puppet_says_what_differs_and_mirrors_where_it_can() -> None:
    puppet = parse_puppet(PUPPET, "p")
    text = dump_puppet(puppet)
    assert parse_puppet(text, "q") == puppet
    assert text.count("thigh_mm") == 1
    assert '[leg.right]\nmirror_of = "left"\n' in text
    assert "ankle_deg" not in text
    assert "thigh_mm = 100                    # Hip pivot to knee pivot\n" in text
    uneven = replace(puppet, legs=(puppet.legs[0], replace(puppet.legs[1], thigh_mm=99.5)))
    assert "mirror_of" not in dump_puppet(uneven)
    assert parse_puppet(dump_puppet(uneven), "q") == uneven


def test_what_is_written_is_toml_to_another_parser_as_well() -> None:
    text = dump_shot(replace(parse_shot(SHOT, "x"), name='a "quoted" \\ name, é'))
    assert tomlkit.parse(text).unwrap() == tomllib.loads(text)


def test_texts_with_quotes_backslashes_and_letters_of_any_language_survive() -> None:
    shot = replace(parse_shot(SHOT, "x"), name="\"\"\"\\ ''' # [x] = é 鶴")
    assert parse_shot(dump_shot(shot), "y").name == shot.name


def test_numbers_are_written_as_a_person_would_and_lose_nothing() -> None:
    shot = parse_shot(SHOT, "x")
    shot = replace(shot, walk=replace(shot.walk, step_mm=0.1 + 0.2, lift_mm=-0.0, width_mm=40.0))
    text = dump_shot(shot)
    assert "step_mm = 0.30000000000000004" in text
    assert "lift_mm = 0 " in text
    assert "width_mm = 40 " in text
    assert parse_shot(text, "y").walk.step_mm == 0.1 + 0.2


def test_every_field_of_the_model_is_described_or_a_table_of_its_own() -> None:
    """A new field without a description would be neither read nor written."""
    tables = {"puppet", "walk", "step_changes", "path", "floor", "stage", "grid", "obstacles", "holds", "edits"}
    tables |= {"rig", "cameras", "overlay", "variants"}
    assert {field.name for field in fields(Shot)} == set(specs_of(Shot)) | tables
