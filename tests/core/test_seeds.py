"""The starter shots: they load, they are what they are said to be, and they look like it."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import numpy as np
import pytest

from striderule.errors import FileError
from striderule.model import seeds
from striderule.model.puppet import Puppet, Shape
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.solve import solve

NAMES = ["heron", "heron-burdened", "heron-curve", "lamplighter", "lamplighter-stair", "tapir"]


def starter(name: str) -> Puppet:
    return load_shot(starter_paths()[name]).puppet


def box_of(shapes: tuple[Shape, ...], part: str = "") -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest corner (along, across, up) of the shapes of one part, or of all."""
    low, high = [], []
    for shape in shapes:
        if part in ("", shape.part):
            half = np.array(shape.size_mm) / 2 if shape.size_mm else np.full(3, shape.radius_mm)
            for centre in (shape.centre_mm, shape.from_mm, shape.to_mm):
                if centre is not None:
                    low.append(np.array(centre) - half)
                    high.append(np.array(centre) + half)
    return np.min(low, axis=0), np.max(high, axis=0)


def test_the_starters_are_found_by_name_in_order() -> None:
    assert list(starter_paths()) == NAMES
    assert all(path.is_file() for path in starter_paths().values())


def test_packaged_starters_come_before_those_of_a_checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "core" / "striderule"
    (package / "model").mkdir(parents=True)
    monkeypatch.setattr(seeds, "__file__", str(package / "model" / "seeds.py"))
    with pytest.raises(FileError, match="Install Striderule again"):
        starter_paths()
    shutil.copytree(next(iter(starter_paths_of_checkout())).parent, tmp_path / "seeds")
    assert {path.parent for path in starter_paths().values()} == {tmp_path / "seeds"}
    shutil.copytree(tmp_path / "seeds", package / "seeds")
    assert {path.parent for path in starter_paths().values()} == {package / "seeds"}
    assert load_shot(starter_paths()["heron"]).name == "Heron"


def starter_paths_of_checkout() -> list[Path]:
    return sorted((Path(__file__).resolve().parents[2] / "seeds").glob("*.toml"))


@pytest.mark.parametrize("name", NAMES)
def test_a_starter_loads_and_survives_being_written(name: str) -> None:
    shot = load_shot(starter_paths()[name])
    assert 4 <= len(shot.laid_out.kind) <= 9
    assert shot.fps == "12"
    assert parse_shot(dump_shot(shot), "x") == shot


@pytest.mark.parametrize("name", NAMES)
def test_a_starters_plan_is_finite_and_reaches_every_foot(name: str) -> None:
    plan = solve(load_shot(starter_paths()[name]))
    assert plan.poses == load_shot(starter_paths()[name]).poses
    assert not np.any(plan.gap_mm > 1e-6)


@pytest.mark.parametrize(
    "path",
    [*starter_paths_of_checkout(), *sorted((Path(__file__).resolve().parents[2] / "seeds" / "puppets").glob("*.toml"))],
    ids=lambda path: f"{path.parent.name}-{path.stem}",
)
def test_a_starter_file_begins_with_words_for_a_person_and_says_its_kind(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert "format = 1\n" in text
    assert max(len(line) for line in text.split("\n")) <= 140
    assert text.isascii()
    assert "\t" not in text


def test_the_lamplighter_has_the_legs_and_feet_of_a_person_230_mm_tall() -> None:
    """Drillis & Contini 1966, shares of the height (from memory): ankle .039, hip .530, thigh .245, shank .246,
    foot .152, foot breadth .055; the hip pivots about .10 apart (common practice, no source)."""
    height = 230.0
    leg, other = starter("lamplighter").legs
    assert leg.ankle_up_mm == pytest.approx(0.039 * height, abs=0.06)
    assert leg.thigh_mm == pytest.approx(0.245 * height, abs=0.06)
    assert leg.shank_mm == pytest.approx(0.246 * height, abs=0.06)
    assert leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm == pytest.approx(0.152 * height, abs=0.06)
    assert leg.sole_width_mm == pytest.approx(0.055 * height, abs=0.06)
    assert leg.straight_mm == pytest.approx(0.530 * height, abs=0.15)
    assert leg.hip_mm[1] - other.hip_mm[1] == pytest.approx(0.10 * height)


def test_the_lamplighters_crown_is_230_mm_over_the_floor_and_its_hat_above_that() -> None:
    puppet = starter("lamplighter")
    head = next(shape for shape in puppet.shapes if shape.part == "head" and shape.form == "ball")
    assert head.centre_mm is not None
    assert head.radius_mm is not None
    assert puppet.legs[0].straight_mm + head.centre_mm[2] + head.radius_mm == pytest.approx(230.0)
    assert box_of(puppet.shapes, "head")[1][2] > head.centre_mm[2] + head.radius_mm


def test_the_heron_stands_about_380_mm_tall_long_beak_forward_tail_behind() -> None:
    low, high = box_of(starter("heron").shapes)
    assert 200 + high[2] == pytest.approx(380, abs=5)
    beak = box_of(starter("heron").shapes, "head")[1][0]
    assert high[0] == beak > 150
    assert low[0] < -120
    assert high[1] == -low[1] <= 40


@pytest.mark.parametrize(
    ("name", "total", "foot", "shank", "thigh", "body", "chest", "head"),
    [("heron", 440, 20, 22, 24, 250, 0, 58), ("lamplighter", 250, 8, 12, 24, 30, 66, 30)],
)
def test_a_starters_masses_add_up(name, total, foot, shank, thigh, body, chest, head) -> None:
    puppet = starter(name)
    for leg in puppet.legs:
        assert (leg.foot_g, leg.shank_g, leg.thigh_g) == (foot, shank, thigh)
    trunk = (puppet.body.body_g, puppet.body.chest_g, puppet.body.head_g)
    assert trunk == (body, chest, head)
    arms = sum((arm.upper_g or 0) + (arm.fore_g or 0) + (arm.hand_g or 0) for arm in puppet.arms)
    loose = sum(one.mass_g or 0 for one in puppet.loose)
    assert sum(trunk) + arms + loose + len(puppet.legs) * (foot + shank + thigh) == total
    assert puppet.body.chest_g + arms + loose == {"heron": 0, "lamplighter": 102}[name], "chest and arms"


def test_the_heron_is_measured_as_described() -> None:
    leg, other = starter("heron").legs
    assert (leg.thigh_mm, leg.shank_mm, leg.ankle_up_mm, leg.knee) == (100, 112, 18, "backward")
    assert (leg.heel_behind_mm, leg.ball_ahead_mm, leg.toe_mm, leg.sole_width_mm) == (14, 28, 22, 32)
    assert (leg.hip_mm, other.hip_mm) == ((0, 24, 0), (0, -24, 0))
    limits = leg.limits
    assert (limits.hip_swing_deg, limits.hip_out_deg, limits.knee_deg) == ((-70, 30), (-12, 20), (40, 90))
    assert (limits.ankle_deg, limits.toe_deg) == ((-70, 15), (0, 45))
    assert other == leg.mirrored("right")


def test_the_heron_is_tied_through_its_toe_so_that_it_holds_while_the_heel_rises() -> None:
    leg = starter("heron").legs[0]
    assert leg.ball_ahead_mm < leg.tie_mm[0] < leg.ball_ahead_mm + leg.toe_mm


@pytest.mark.parametrize("name", ["heron", "lamplighter"])
def test_every_tie_down_lies_on_its_sole(name: str) -> None:
    for leg in starter(name).legs:
        assert -leg.heel_behind_mm < leg.tie_mm[0] < leg.ball_ahead_mm + leg.toe_mm
        assert abs(leg.tie_mm[1]) < leg.sole_width_mm / 2


@pytest.mark.parametrize("name", ["heron", "lamplighter"])
def test_head_and_trunk_meet_where_they_turn(name: str) -> None:
    """The neck's turning place lies inside a shape of the head, so that a turned head does not come off."""
    puppet = starter(name)
    neck = np.array(puppet.body.neck_mm)
    gaps = []
    for shape in puppet.shapes:
        if shape.part == "head" and shape.form == "capsule":
            a, b = np.array(shape.from_mm), np.array(shape.to_mm)
            share = float(np.clip((neck - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1))
            gaps.append(math.dist(neck, a + share * (b - a)) - float(shape.radius_mm or 0))
    assert min(gaps) < 0
