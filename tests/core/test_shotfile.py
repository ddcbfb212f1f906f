"""Shot and puppet files: what is read, where the puppet comes from, formats."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from striderule.camera.framing import framing_findings
from striderule.camera.placing import view_named
from striderule.errors import FileError
from striderule.model import shotfile
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import (
    dump_shot,
    load_shot,
    migrated,
    parse_puppet,
    parse_shot,
)
from striderule.model.weight import Rig
from striderule.solve import solve

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")


def change(text: str, old: str, new: str) -> str:
    """`text` with one piece replaced, which must be in it once."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


def refused(path: Path) -> FileError:
    with pytest.raises(FileError) as caught:
        load_shot(path)
    return caught.value


def shot_naming(folder: Path, puppet: str) -> Path:
    path = folder / "shot.toml"
    path.write_text(f'kind = "shot"\nformat = 1\nname = "x"\n\npuppet = {puppet} # here\n')
    return path


def test_a_puppet_file_is_found_from_the_shot_files_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "wader.toml").write_text(PUPPET)
    path = shot_naming(tmp_path / "sub", '"../wader.toml"')
    monkeypatch.chdir(tmp_path.parent)
    assert load_shot(path).puppet == parse_puppet(PUPPET, "p")


@pytest.mark.parametrize(
    ("puppet", "words"),
    [
        ('"none.toml"', '"none.toml": a name that does not exist'),
        ('"."', '".": a folder'),
        ('""', "the path of a puppet file"),
        ("7", "given 7"),
        ("[1]", "given [1]"),
        ('"shot.toml"', "which is the shot file itself"),
        ('"parts\\\\wader.toml"', "with forward slashes"),
        ('"/parts/wader.toml"', "relative to the shot file"),
        ('"C:/parts/wader.toml"', "relative to the shot file"),
        ('"a\\u0000b.toml"', "expected a puppet file"),
        ('"empty.toml"', "an empty file"),
        ('{nmae = "x"}', 'Did you mean "name"?'),
    ],
)
def test_a_puppet_that_cannot_be_had_is_refused_at_the_shots_line(tmp_path: Path, puppet: str, words: str) -> None:
    (tmp_path / "empty.toml").touch()
    path = shot_naming(tmp_path, puppet)
    error = refused(path)
    assert (error.file, error.line) == (path, 5)
    assert error.key.startswith("puppet")
    assert words in str(error)


def test_a_shot_named_as_a_puppet_is_refused_as_such(tmp_path: Path) -> None:
    (tmp_path / "other.toml").write_text(SHOT)
    error = refused(shot_naming(tmp_path, '"other.toml"'))
    assert (error.file, error.line, error.key) == (tmp_path / "other.toml", 2, "kind")


def test_a_text_that_is_no_file_can_only_carry_its_puppet_inside() -> None:
    with pytest.raises(FileError, match=r"a \[puppet\] table, because this text is not a file"):
        parse_shot('kind = "shot"\nformat = 1\nname = "x"\npuppet = "wader.toml"\n', "Text")


def test_values_are_read_as_the_model_holds_them() -> None:
    shot = parse_shot(SHOT, "x.toml")
    assert (shot.name, shot.fps, shot.frames_per_pose, shot.poses) == ("Test", "12", 2, 19)
    assert shot.walk.step_mm == 80
    assert type(shot.walk.step_mm) is float
    assert type(shot.walk.steps) is int
    assert shot.walk.hips.contact_mm == 199
    assert shot.stage.start_mm == (10, -5)
    assert shot.cameras[0].name == "door"
    assert shot.cameras[0].resolution == (1280, 720)
    assert shot.overlay.layers == ("pose", "target")
    assert shot.puppet.leg_names == ("left", "right")


def test_a_whole_fps_and_a_fraction_are_both_read() -> None:
    assert parse_shot(change(SHOT, "fps = 12", 'fps = "30000/1001"'), "x").rate.denominator == 1001
    assert parse_shot(change(SHOT, "fps = 12", 'fps = "12"'), "x") == parse_shot(SHOT, "x")


def test_a_mirrored_leg_takes_single_values_and_single_limits_of_its_own() -> None:
    text = change(
        PUPPET, 'mirror_of = "left"\n', 'mirror_of = "left"\nthigh_mm = 99\n[leg.right.limits]\nknee_deg = [45, 80]\n'
    )
    left, right = parse_puppet(text, "p").legs
    assert right == replace(left.mirrored("right"), thigh_mm=99.0, limits=replace(left.limits, knee_deg=(45.0, 80.0)))
    assert right.hip_mm == (0, -24, 0)
    assert right.tie_mm == (39, -2)


def test_a_mirrored_leg_may_stand_first_and_legs_keep_the_files_order() -> None:
    left = PUPPET[PUPPET.index("[leg.left]") : PUPPET.index("[leg.right]")]
    right = '[leg.right]\nmirror_of = "left"\n\n'
    text = change(PUPPET, left + right, right + left)
    assert parse_puppet(text, "p").leg_names == ("right", "left")


def test_every_way_to_write_a_table_reads_the_same() -> None:
    inline = change(SHOT, "[stage]\nstart_mm = [10, -5]\n", "")
    inline = change(inline, "fps = 12\n", "fps = 12\nstage = {start_mm = [10.0, -5.0]}\n")
    dotted = change(SHOT, "[walk.hips]\ncontact_mm = 199\n", "")
    dotted = change(dotted, "[walk]\n", '[walk]\nhips."contact_mm" = 1.99e2\n')
    assert parse_shot(inline, "x") == parse_shot(dotted, "x") == parse_shot(SHOT, "x")


def test_an_older_format_is_brought_up_one_step_after_the_other() -> None:
    def first(kind: str, data: dict) -> dict:
        return {**data, "trail": [*data.get("trail", []), f"{kind} 1 to 2"]}

    def second(kind: str, data: dict) -> dict:
        return {**data, "trail": [*data.get("trail", []), f"{kind} 2 to 3"]}

    steps = {1: first, 2: second}
    assert migrated("shot", {"format": 1}, 1, steps, 3) == {"format": 3, "trail": ["shot 1 to 2", "shot 2 to 3"]}
    assert migrated("puppet", {"format": 2}, 2, steps, 3)["trail"] == ["puppet 2 to 3"]
    assert migrated("puppet", {"format": 3}, 3, steps, 3) == {"format": 3}


def test_a_file_of_an_older_format_is_read_through_its_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """A made-up format 1 wrote old_step; where a key was renamed, the line is that of its table."""

    def renamed(kind: str, data: dict) -> dict:
        walk = dict(data["walk"])
        walk["step_mm"] = walk.pop("old_step")
        return {**data, "walk": walk}

    old = change(SHOT, "step_mm = 80", "old_step = 80")
    with pytest.raises(FileError, match="old_step"):
        parse_shot(old, "x")
    monkeypatch.setattr(shotfile, "FORMAT", 2)
    monkeypatch.setitem(shotfile.MIGRATIONS, 1, renamed)
    assert parse_shot(old, "x").walk.step_mm == 80
    with pytest.raises(FileError) as caught:
        parse_shot(change(old, "old_step = 80", "old_step = -1"), "x")
    assert (caught.value.key, caught.value.line) == ("walk.step_mm", 8)
    with pytest.raises(FileError, match="a newer Striderule"):
        parse_shot(change(old, "format = 1", "format = 3"), "x")


def test_every_step_from_the_first_format_to_the_newest_exists() -> None:
    assert set(shotfile.MIGRATIONS) == set(range(1, shotfile.FORMAT))


def test_a_shot_without_a_name_goes_by_its_file_and_three_lines_are_a_walk(tmp_path):
    puppet = starter_paths()["lamplighter"].parent / "puppets" / "lamplighter.toml"
    (tmp_path / "lamp.toml").write_bytes(puppet.read_bytes())
    path = tmp_path / "down the street.toml"
    path.write_text('kind = "shot"\nformat = 1\npuppet = "lamp.toml"\n')
    shot = load_shot(path)
    assert shot.name == "down the street"
    assert solve(shot).poses == shot.poses
    assert parse_shot(dump_shot(shot), "other.toml") == shot


@pytest.mark.parametrize(
    ("file", "name"), [("\u200b.toml", "Shot"), ("x" * 250 + ".toml", "x" * 200), ("Text", "Text")]
)
def test_whatever_the_file_is_called_its_shot_has_a_name(file, name):
    text = dump_shot(load_shot(starter_paths()["heron"])).replace('name = "Heron"', "", 1)
    assert re.sub(r"\s*#.*", "", text.split("[")[0]).count("name") == 0
    assert parse_shot(text, file).name == name


def test_what_is_off_in_the_heron_starter_is_right_once_it_is_switched_on(tmp_path):
    source = starter_paths()["heron"]
    text = re.sub(r"^# (\[|\w+ = )", r"\1", source.read_text(encoding="utf-8"), flags=re.MULTILINE)
    shot = parse_shot(text, source, source.parent)
    assert {camera.name for camera in shot.cameras} == {"desk", "side-on"}
    assert shot.overlay.views == ("side-on", "desk")
    plan = solve(shot)
    assert framing_findings(plan, [view_named(plan, "desk")]) == ()
    off = load_shot(source)
    same = replace(shot.overlay, views=off.overlay.views)
    assert shot.rig == Rig(carries=True, point_mm=(0, 0, 40), point_name="back bolt")
    assert replace(shot, cameras=(), rig=None, overlay=same) == off  # every other value is shown at its default
