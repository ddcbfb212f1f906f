"""The model's own checks."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest

from striderule.errors import ModelError
from striderule.model.edits import BodyEdit, Edits, FootfallEdit, Hold
from striderule.model.fields import is_name
from striderule.model.floor import Floor, Kerb, Raised, Stairs
from striderule.model.path import PathPiece
from striderule.model.puppet import Body, Leg, Limits, Puppet, Shape
from striderule.model.shot import Overlay, Shot
from striderule.model.shotfile import parse_shot
from striderule.model.stage import HoleGrid, Obstacle, Stage
from striderule.model.upper import Arm, ArmLimits, Loose, LooseLimits
from striderule.model.variant import Variant
from striderule.model.view import CameraSetup
from striderule.model.walk import Hips, Walk
from striderule.model.weight import Holding, Pull, Rig

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")
CLASSES = (Limits, Leg, ArmLimits, Arm, LooseLimits, Loose, Shape, Body, Puppet, Hips, Walk, PathPiece, Stairs, Raised,
           Kerb, Floor, Stage, HoleGrid, Obstacle, Hold, FootfallEdit, BodyEdit, Edits, CameraSetup, Overlay, Variant,
           Holding, Pull, Rig, Shot)  # fmt: skip


def a_shot() -> Shot:
    return parse_shot(SHOT, "x")


# single values


@pytest.mark.parametrize(
    "value", [-1, 5001, float("nan"), float("inf"), float("-inf"), 10**400, True, "80", [80], (1, 2)]
)
def test_a_length_refuses_what_is_no_length(value: Any) -> None:
    with pytest.raises(ModelError, match=r"walk\.step_mm: expected a number in mm from 0 to 5000, given"):
        Walk(step_mm=value)


@pytest.mark.parametrize(
    "value", [0, -3, 20001, 10**400, pytest.param(10**6000, id="6001 digits"), 2.0, float("nan"), True, "4"]
)
def test_a_count_refuses_what_is_no_count(value: Any) -> None:
    with pytest.raises(ModelError, match=r"walk\.steps: expected a whole number from 1 to 20000, given") as caught:
        Walk(steps=value)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("value", [(1.0,), (1.0, 2.0, 3.0), [1.0, 2.0], 1.0, None, (1.0, "2"), (float("nan"), 0.0)])
def test_a_place_on_the_floor_is_two_numbers(value: Any) -> None:
    with pytest.raises(ModelError, match=r"stage\.start_mm: expected 2 numbers"):
        Stage(value)


def test_limits_the_wrong_way_round_are_refused_and_equal_ones_are_a_locked_joint() -> None:
    with pytest.raises(ModelError, match="the least one first, given 60, 10"):
        Limits(toe_deg=(60.0, 10.0))
    assert Limits(toe_deg=(10.0, 10.0)).toe_deg == (10.0, 10.0)


@pytest.mark.parametrize("name", ["left", "a", "hind-left_2", "x" * 40])
def test_a_name_of_small_letters_digits_and_marks_is_one(name: str) -> None:
    assert is_name(name)


@pytest.mark.parametrize(
    "name",
    ["", "Left", "2nd", "a b", "a/b", "..", "a.b", "x" * 41, "con", "nul", "com1", "lpt9", "left\n", "é", None, 3],
)
def test_a_name_that_could_harm_a_path_on_some_system_is_none(name: Any) -> None:
    assert not is_name(name)


@pytest.mark.parametrize("fps", ["0", "241", "1/0", "1e9", "1e999999999", "12.5", "", "twelve", "-12", " 12", "1/2/3"])
def test_a_frame_rate_that_no_film_has_is_refused_at_once(fps: str) -> None:
    with pytest.raises(ModelError, match="fps: expected frames per second from 1 to 240"):
        replace(a_shot(), fps=fps)


def test_a_shape_is_given_exactly_what_its_form_needs() -> None:
    Shape("ball", centre_mm=(0, 0, 0), radius_mm=3)
    with pytest.raises(ModelError, match=r"shape\.radius_mm: .*given no radius_mm"):
        Shape("ball", centre_mm=(0, 0, 0))
    with pytest.raises(ModelError, match=r"shape\.size_mm: .*given size_mm as well"):
        Shape("ball", centre_mm=(0, 0, 0), radius_mm=3, size_mm=(1, 1, 1))


def test_a_ruler_limit_becomes_knee_angles_by_the_cosine_law() -> None:
    """Standing with its hips at 119.5 the lamplighter (56.4, 56.6, ankle 9) bends its knee by 24.1."""
    leg = replace(a_shot().puppet.legs[0], thigh_mm=56.4, shank_mm=56.6, limits=Limits(hip_to_ankle_mm=(80.0, 110.5)))
    least, most = leg.knee_range_deg
    assert least == pytest.approx(24.1, abs=0.05)
    assert most > least


def test_a_leg_mirrored_twice_is_itself() -> None:
    leg = replace(a_shot().puppet.legs[0], tie_mm=(39.0, 2.0), outward="left")
    assert leg.mirrored("right").outward == "right"
    assert leg.mirrored("right").mirrored("left") == leg


def test_two_legs_or_views_of_one_name_are_refused() -> None:
    shot = a_shot()
    left = shot.puppet.legs[0]
    with pytest.raises(ModelError, match="legs of different names"):
        replace(shot.puppet, legs=(left, left))
    with pytest.raises(ModelError, match="views of different names"):
        replace(shot, cameras=shot.cameras * 2)


@pytest.mark.parametrize("cls", CLASSES)
def test_every_value_of_the_model_says_what_it_is_in_one_line(cls: type) -> None:
    """A field is described, or it is one of the model's own classes (or a tuple of them)."""
    for field in fields(cls):
        spec = field.metadata.get("spec")
        assert spec is not None or field.name in {
            "limits",
            "holding",
            "pulls",
            "rig",
            "measured",
            "legs",
            "arms",
            "loose",
            "body",
            "shapes",
            "hips",
            "puppet",
            "walk",
            "step_changes",
            "path",
            "floor",
            "stage",
            "grid",
            "obstacles",
            "holds",
            "edits",
            "stairs",
            "plank",
            "kerb",
            "footfalls",
            "cameras",
            "matched",
            "overlay",
            "variants",
            "values",
            "opened",
        }
        if spec:
            assert spec.doc
            assert spec.doc[0].isupper()
            assert "\n" not in spec.doc
            assert (spec.unit == "mm") == field.name.endswith("_mm")
            assert (spec.unit == "deg") == field.name.endswith("_deg")
            assert (spec.unit == "g") == field.name.endswith("_g")
            assert (spec.unit == "N mm") == field.name.endswith("_nmm")
