"""Properties are made from the core's description and lose nothing of a shot."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from striderule.model.fields import specs_of
from striderule.model.identity import shot_identity
from striderule.model.seeds import starter_paths
from striderule.model.shot import Overlay, Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips, Walk
from striderule_blender import live, view_model


def random_model(cls, pick: random.Random, tries: int = 200):
    """A model object of random allowed values with many digits, open values among them."""
    for _ in range(tries):
        values = {}
        for key, spec in specs_of(cls).items():
            if spec.optional and pick.random() < 0.3:
                values[key] = None
            elif spec.kind == "number" and spec.size == 1:
                values[key] = pick.uniform(spec.least, min(spec.most, 300.0))
            elif spec.kind == "whole" and spec.size == 1:
                values[key] = pick.randint(int(spec.least), int(min(spec.most, 12)))
            elif spec.kind == "choice":
                values[key] = pick.choice(spec.choices)
        values.pop("first_foot", None)
        try:
            return cls(**values)
        except ValueError:
            raise
        except Exception:  # noqa: BLE001 - values that contradict each other: draw again
            continue
    raise AssertionError(f"no {cls.__name__} in {tries} tries")


@pytest.mark.parametrize("name", sorted(starter_paths()))
def test_a_starter_goes_into_the_scene_and_comes_back_equal(stage, name):
    shot = load_shot(starter_paths()[name])
    live.show(stage, shot)
    assert live.shot_of(stage) == shot
    assert live.edited_shot(stage) == shot


@pytest.mark.parametrize("seed", range(8))
def test_any_shot_goes_into_the_scene_and_comes_back_equal(stage, seed):
    pick = random.Random(seed)
    base = load_shot(starter_paths()["heron"])
    walk = replace(random_model(Walk, pick), hips=Hips(199.123456789, None, 203.0, None))
    walk = replace(
        walk, steps=2, distance_mm=None, poses_per_step=6, passing_pose=3, lift_off_poses=1, toe_roll_poses=2
    )
    walk = replace(walk, flat_after_poses=1)
    overlay = replace(random_model(Overlay, pick), views=("high", "low"), layers=("pose", "target"))
    shot = Shot("Any", puppet=base.puppet, fps="30000/1001", frames_per_pose=2, walk=walk, overlay=overlay)
    live.show(stage, shot)
    back = live.edited_shot(stage)
    assert back == shot
    assert shot_identity(back) == shot_identity(shot)


def test_ranges_and_words_of_properties_are_the_cores(stage):
    settings = live.settings_of(stage)
    for group, model in (
        (settings.walk, Walk),
        (settings.hips, Hips),
        (settings.overlay, Overlay),
        (settings.shot, Shot),
    ):
        properties = group.bl_rna.properties
        for key, spec in specs_of(model).items():
            if spec.kind not in ("number", "whole"):
                continue
            made = properties[key]
            assert made.hard_min == pytest.approx(spec.least, rel=1e-6)
            assert made.hard_max == pytest.approx(spec.most, rel=1e-6)
            assert spec.doc[1:] in made.description
            assert (f"use_{key}" in properties) == spec.optional


def test_every_value_of_the_walk_stands_in_one_panel():
    keys = [key for section in view_model.SECTIONS.values() for key in section]
    assert sorted(keys) == sorted([*specs_of(Walk), *specs_of(Hips)])


def test_tooltips_start_with_a_verb_and_end_without_a_period(stage):
    settings = live.settings_of(stage)
    edits = (settings.edits, settings.edits.footfalls.add(), settings.edits.body.add(), settings.edits.holds.add())
    for group in (settings, settings.walk, settings.hips, settings.overlay, settings.shot, settings.ground, *edits):
        for one in group.bl_rna.properties:
            if one.identifier in ("rna_type", "name") or not one.description:
                continue
            assert not one.description.endswith("."), one.identifier
            assert one.description.split()[0] in {
                "Set", "Show", "Write", "Choose", "Render", "Overwrite", "Go", "Say", "Identify", "Count",
                "Raise", "Let", "Hold", "Take", "Lay",
            }, one.description  # fmt: skip
