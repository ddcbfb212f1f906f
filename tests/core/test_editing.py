"""Edits made by hand on a plan: footfalls dragged and pinned, the body nudged, poses held, and the list of them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from striderule.adjust.editing import (
    edit_rows,
    with_dragged,
    with_hold,
    with_let_go,
    with_nudge,
    without_edit,
    without_edits,
)
from striderule.errors import ModelError
from striderule.model.edits import BodyEdit, FootfallEdit, Hold
from striderule.model.path import PathPiece
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.solve import solve


def starter(name: str) -> Shot:
    return load_shot(starter_paths()[name])


def stance_of(plan, step, leg=None):
    return next(one for one in plan.stances if one.step == step and leg in (None, plan.legs[one.leg]))


CURVED = (PathPiece(straight_mm=50), PathPiece(turn_deg=70, radius_mm=200))


@pytest.mark.parametrize("pin", [False, True])
@pytest.mark.parametrize("step", [-1, 0, 1, 4, 6])
@pytest.mark.parametrize("curved", [False, True])
def test_a_dragged_footfall_stands_where_it_was_dropped(pin, step, curved):
    shot = replace(starter("heron"), path=CURVED if curved else ())
    plan = solve(shot)
    stance = stance_of(plan, step)
    at = (stance.place_mm[0] + 7.5, stance.place_mm[1] - 4.25)
    new = with_dragged(shot, plan, stance, at, 12.0, pin)
    moved = stance_of(solve(new), step)
    assert np.abs(np.array(moved.place_mm[:2]) - at).max() < 0.02
    assert moved.heading_deg - stance.heading_deg == pytest.approx(12.0, abs=0.01)
    others = [one for one in solve(new).stances if one.step != step]
    assert [one.place_mm for one in others] == [one.place_mm for one in plan.stances if one.step != step]
    # once more, from where it is now, and back
    again = with_dragged(new, solve(new), moved, stance.place_mm[:2], -12.0, pin)
    assert stance_of(solve(again), step).place_mm[0] == pytest.approx(stance.place_mm[0], abs=0.02)
    if not pin:
        assert again == shot, "an edit that says nothing is gone"


def test_a_pinned_footfall_stays_and_a_moved_one_goes_along_when_the_step_changes():
    shot = starter("heron")
    plan = solve(shot)
    stance = stance_of(plan, 4)
    at = (stance.place_mm[0] + 5, stance.place_mm[1])
    longer = {"walk": replace(shot.walk, step_mm=70.0)}
    pinned = solve(replace(with_dragged(shot, plan, stance, at, pin=True), **longer))
    moved = solve(replace(with_dragged(shot, plan, stance, at), **longer))
    assert stance_of(pinned, 4).place_mm[0] == pytest.approx(at[0], abs=0.02)
    expected = stance_of(solve(replace(shot, **longer)), 4).place_mm[0] + 5
    assert stance_of(moved, 4).place_mm[0] == pytest.approx(expected, abs=0.02)


def test_of_four_legs_only_the_dragged_foot_moves_and_the_file_says_which():
    shot = starter("tapir")
    plan = solve(shot)
    for leg in plan.legs:
        stance = next(one for one in plan.stances if plan.legs[one.leg] == leg and one.step > 1)
        new = with_dragged(shot, plan, stance, (stance.place_mm[0] + 6, stance.place_mm[1] + 1))
        assert new.edits.footfalls[0].leg == leg
        off = {
            (one.leg, one.step): math.dist(one.place_mm, was.place_mm)
            for one, was in zip(solve(new).stances, plan.stances, strict=True)
        }
        assert [key for key, far in off.items() if far > 0.01] == [(stance.leg, stance.step)]
        assert parse_shot(dump_shot(new), "t.toml") == new


def test_an_edit_without_a_leg_is_of_the_hindmost_pair_alone():
    shot = starter("tapir")
    edits = replace(shot.edits, footfalls=(FootfallEdit(3, move_mm=(8.0, 0.0)),))
    plan, plain = solve(replace(shot, edits=edits)), solve(shot)
    moved = [k for k, (a, b) in enumerate(zip(plan.stances, plain.stances, strict=True)) if a.place_mm != b.place_mm]
    assert [plan.legs[plan.stances[k].leg][:4] for k in moved] == ["hind"]


@pytest.mark.parametrize(("edit", "words"), [
    (FootfallEdit(3, "middle", move_mm=(1.0, 0.0)), "a leg of the puppet"),
    (FootfallEdit(3, "hind_right", move_mm=(1.0, 0.0)), "the leg that step 3 is of, hind_left"),
    (FootfallEdit(3, "fore_left", later_poses=1), "a leg of the hindmost pair"),
])  # fmt: skip
def test_an_edit_of_the_wrong_leg_is_refused(edit, words):
    shot = starter("tapir")
    with pytest.raises(ModelError, match=words):
        solve(replace(shot, edits=replace(shot.edits, footfalls=(edit,))))


def test_letting_go_takes_a_footfalls_edit_away():
    shot = starter("tapir")
    plan = solve(shot)
    stance = plan.stances[5]
    new = with_dragged(shot, plan, stance, (stance.place_mm[0] + 6, stance.place_mm[1] + 1), 5, pin=True)
    assert with_let_go(new, solve(new), stance) == shot


def test_nudges_of_one_pose_add_up_and_go_when_they_come_to_nothing():
    shot = with_nudge(with_nudge(starter("heron"), 13, 2.0), 13, 1.5)
    assert shot.edits.body == (BodyEdit(13, 3.5, 3.0),)
    assert solve(shot).hip_line_mm[12] - solve(starter("heron")).hip_line_mm[12] == pytest.approx(3.5)
    assert with_nudge(shot, 13, -3.5) == starter("heron")
    with pytest.raises(ModelError, match="a pose from 1 to 37"):
        with_nudge(shot, 38, 1.0)


def test_a_pose_is_held_once_with_its_latest_count():
    shot = with_hold(with_hold(starter("heron"), 8, 4), 8, 6)
    assert shot.holds == (Hold(8, 6),)
    assert solve(shot).frames == solve(starter("heron")).frames + 5


def test_every_edit_is_listed_in_words_and_can_be_taken_away():
    shot = starter("heron")
    edits = replace(
        shot.edits,
        footfalls=(FootfallEdit(2, move_mm=(12.0, -4.0), later_poses=1), FootfallEdit(4, at_mm=(180.0, 12.5))),
        body=(BodyEdit(12, -2.0),),
        hips_up_mm=(0.0, 0.5),
    )
    shot = with_hold(replace(shot, edits=edits), 8, 6)
    rows = edit_rows(shot)
    assert [row.text for row in rows] == [
        "Step 2: 12 mm on, 4 right, 1 pose later",
        "Step 4: pinned at 180, 12.5 mm",
        "Pose 12: body 2 mm down",
        "Pose 8: held for 6 frames",
        "Poses 1-2: hips up to 0.5 mm off",
    ]
    assert [rows[0].pose, rows[1].pose] == [14, 25]  # a late step lands later, the next ones as before
    for left, row in enumerate(rows[::-1]):
        shot = without_edit(shot, row.kind, row.index)
        assert len(edit_rows(shot)) == 4 - left
    assert shot == starter("heron")
    with pytest.raises(ModelError, match="one of the edits"):
        without_edit(shot, "hold", 0)


def test_all_edits_can_go_at_once():
    shot = with_nudge(with_hold(starter("heron"), 8, 6), 5, 1.0)
    assert without_edits(shot) == starter("heron")


@pytest.mark.parametrize("path", [(PathPiece(straight_mm=480),), CURVED])
def test_a_heading_of_the_path_turns_the_whole_walk_about_its_start(path):
    shot = replace(starter("heron"), path=path)
    turned = replace(shot, path=(replace(path[0], heading_deg=40.0), *path[1:]))
    plan, other = solve(shot), solve(turned)
    c, s = math.cos(math.radians(40)), math.sin(math.radians(40))
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    for name in ("reference_mm", "ankle_mm", "knee_mm", "toe_mm", "heel_mm"):
        assert np.abs(getattr(plan, name) @ turn.T - getattr(other, name)).max() < 1e-9, name
    assert np.abs(plan.knee_deg - other.knee_deg).max() < 1e-9
    assert parse_shot(dump_shot(turned), "t.toml") == turned


def test_a_heading_in_a_later_piece_is_refused():
    with pytest.raises(ModelError, match="first piece alone"):
        replace(starter("heron"), path=(CURVED[0], replace(CURVED[1], heading_deg=10.0)))
