"""Arcs that break, poses in which nothing moves far enough, and the ways that an overlay shows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage
from striderule.camera.placing import view_named
from striderule.check import findings_of
from striderule.check.arcs import largest_moves, off_the_arc
from striderule.check.traced import traced_points
from striderule.draw.drawing import Dot, Label, Line
from striderule.draw.layers import ShotDrawings
from striderule.draw.palette import YELLOW
from striderule.errors import ModelError
from striderule.export.overlay_options import overlay_options
from striderule.model.edits import BodyEdit, Edits
from striderule.model.seeds import starter_paths
from striderule.model.shot import ARC_POINTS, Overlay, Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Walk
from striderule.solve import solve
from striderule.solve.plan import Plan

STARTERS = {name: load_shot(path) for name, path in starter_paths().items()}


def told(plan: Plan, code: str) -> list:
    return [one for one in findings_of(plan, with_cures=False) if one.code == code]


@pytest.mark.parametrize("name", STARTERS)
def test_no_starter_breaks_an_arc_or_has_a_pose_that_hands_cannot_set(name):
    plan = solve(STARTERS[name])
    assert not told(plan, "arc-breaks")
    assert not told(plan, "moves-below-hand")


@pytest.mark.parametrize("name", ["heron", "lamplighter", "tapir"])
@pytest.mark.parametrize("poses", [2, 3, 4, 5, 6, 8, 10, 12, 16])
@pytest.mark.parametrize("landing", ["soft", "heavy"])
def test_plain_walks_break_no_arc_at_any_pace(name, poses, landing):
    walk = Walk(steps=6, poses_per_step=poses, landing=landing)
    assert not told(solve(Shot("x", puppet=STARTERS[name].puppet, walk=walk)), "arc-breaks")


@pytest.mark.parametrize("name", ["heron", "lamplighter"])
@pytest.mark.parametrize("up", [-4.0, 4.0])
def test_a_body_that_jumps_for_one_pose_breaks_its_arcs_there(name, up):
    shot = replace(STARTERS[name], edits=Edits(body=(BodyEdit(pose=16, up_mm=up, over_poses=0.0),)))
    found = told(solve(shot), "arc-breaks")
    assert {one.joint for one in found} >= {"hip", "head"}
    for one in found:
        assert 14 <= one.first <= one.last <= 18, one
    hip = next(one for one in found if one.joint == "hip")
    assert hip.severity == "note"
    assert hip.number == pytest.approx(abs(up), abs=0.3 * abs(up)), "by about as much as it jumps"
    smooth = replace(shot, edits=Edits(body=(BodyEdit(pose=16, up_mm=up, over_poses=3.0),)))
    assert not told(solve(smooth), "arc-breaks")


def test_how_far_a_place_is_off_its_arc_is_what_it_was_moved_by():
    """On a parabola, whose bend is the same everywhere, exactly two thirds of the way back: the two neighbours take the
    rest, as the sum of the differences' squares is least there."""
    t = np.arange(11.0)
    places = np.stack((5 * t, np.zeros(11), 0.2 * t * t), axis=1)
    away, breaks = off_the_arc(places)
    np.testing.assert_allclose(away, 0.0, atol=1e-12)
    assert not breaks.any()
    places[5, 2] += 6.0
    away, breaks = off_the_arc(places)
    assert away[5] == pytest.approx(6.0)
    assert np.flatnonzero(breaks).tolist() == [5]
    assert off_the_arc(places[:4])[1].tolist() == [False] * 4


def test_a_corner_that_goes_on_is_no_break():
    """A point that turns about and goes another way from there has one bend, and no pose that sticks out."""
    places = np.zeros((12, 3))
    places[:, 0] = np.abs(np.arange(12.0) - 6.0) * 4
    assert not off_the_arc(places)[1].any()


def test_a_pose_in_which_nothing_moves_far_enough_is_told_and_one_that_is_held_is_not():
    shot = Shot("x", puppet=STARTERS["lamplighter"].puppet,
                walk=Walk(steps=2, poses_per_step=6, step_mm=0.6, lift_mm=0.1, clearance_mm=0.0, heel_off_deg=0.0,
                          heel_strike_deg=0.0, arm_swing_deg=0.2, elbow_swing_deg=0.0, pelvis_turn_deg=0.1,
                          pelvis_drop_deg=0.1, sway=0.02))  # fmt: skip
    plan = solve(shot)
    (found,) = told(plan, "moves-below-hand")
    assert found.text.endswith("hold, or drop a pose.")
    assert found.number < 0.5
    assert "poses" in found.text
    moving = solve(replace(shot, walk=replace(shot.walk, arm_swing_deg=20.0)))
    assert not told(moving, "moves-below-hand"), "a hand that moves far enough is a move"
    assert told(moving, "move-below-hand"), "while the reference point's own finding stays"
    still = solve(replace(STARTERS["lamplighter"], walk=replace(STARTERS["lamplighter"].walk, pause_poses=14)))
    assert (largest_moves(still)[1:] < 1e-3).any()
    assert not told(still, "moves-below-hand")


def test_of_a_long_settling_just_the_poses_are_told_in_which_something_still_creeps():
    walk = replace(STARTERS["lamplighter"].walk, stop="standing", settle_poses=12)
    plan = solve(replace(STARTERS["lamplighter"], walk=walk))
    moves = largest_moves(plan)
    (found,) = told(plan, "moves-below-hand")
    poses = [pose for first, last in found.runs for pose in range(first, last + 1)]
    assert poses == [k + 1 for k in range(plan.poses) if 1e-3 < moves[k] < 0.5]
    assert min(poses) > plan.shot.laid_out.land[-1] + 1
    three = replace(walk, settle_poses=3)
    assert not told(solve(replace(STARTERS["lamplighter"], walk=three)), "moves-below-hand")


# drawn


def test_every_kind_of_point_has_an_arc_and_each_is_switched_by_itself():
    plan = solve(STARTERS["lamplighter"])
    view = view_named(plan, "side-on")

    def items(*kinds: str) -> list:
        return list(ShotDrawings(plan, view, Overlay(arcs=kinds)).layer("arcs", 3).items)

    assert items() == []
    counts = {kind: len(items(kind)) for kind in ARC_POINTS}
    assert min(counts.values()) > 0
    assert len(items(*ARC_POINTS)) == sum(counts.values())
    assert Overlay().arcs == ("ankle", "toe")
    with pytest.raises(ModelError, match=r"overlay\.arcs: expected points out of hip, knee"):
        Overlay(arcs=("elbow",))


@pytest.mark.parametrize("kind", ["hip", "knee", "hand", "head", "loose"])
def test_an_arc_goes_through_its_point_in_every_pose(kind):
    plan = solve(STARTERS["lamplighter"])
    view = view_named(plan, "three-quarter-front")
    dots = [item for item in ShotDrawings(plan, view, Overlay(arcs=(kind,))).layer("arcs", 0).items
            if isinstance(item, Dot)]  # fmt: skip
    places = np.concatenate([pixels_from_stage(view, point.places_mm)[0] for point in traced_points(plan, (kind,))])
    assert len(dots) > 10
    for dot in dots:
        assert np.hypot(*(places - (dot.x, dot.y)).T).min() < 1e-9


def test_a_heron_has_no_hands_and_its_ghosts_are_of_legs_and_crest():
    plan = solve(STARTERS["heron"])
    assert [point.kind for point in traced_points(plan, ARC_POINTS)] == [
        "hip", "hip", "knee", "knee", "ankle", "ankle", "toe", "toe", "head", "loose"]  # fmt: skip
    bare = replace(plan.shot.puppet, loose=(), shapes=(), body=replace(plan.shot.puppet.body, neck_mm=(0.0, 0.0, 0.0),
                   neck_turn_deg=None, neck_lean_deg=None, neck_tilt_deg=None))  # fmt: skip
    assert not list(traced_points(solve(replace(plan.shot, puppet=bare)), ("head", "hand", "loose")))


# the level mark


def level(shot: Shot) -> Plan:
    return solve(replace(shot, walk=replace(shot.walk, top="level")))


@pytest.mark.parametrize("name", ["lamplighter", "heron"])
def test_a_level_top_has_a_mark_with_its_angles_in_every_pose(name):
    plan = level(STARTERS[name])
    view = view_named(plan, "head-on")
    drawings = ShotDrawings(plan, view)
    for pose in range(0, plan.poses, 7):
        items = drawings.layer("level", pose).items
        lines = [item for item in items if isinstance(item, Line)]
        (words,) = [item for item in items if isinstance(item, Label)]
        assert words.text == "top: lean 0.0, tilt 0.0 degrees"
        assert [line.ink.colour for line in lines] == [YELLOW, YELLOW]
        across = lines[1].points
        assert np.ptp(across[:, 0]) > 10
        assert np.ptp(across[:, 1]) < 0.01 * np.ptp(across[:, 0]) + 0.5, "level in the picture from ahead"


def test_the_mark_tells_of_a_top_that_its_waist_cannot_keep_level():
    shot = STARTERS["lamplighter"]
    body = replace(shot.puppet.body, waist_tilt_deg=(0.0, 0.0))
    plan = level(replace(shot, puppet=replace(shot.puppet, body=body)))
    pose = int(np.argmax(plan.chest_deg[:, 2]))
    drawings = ShotDrawings(plan, view_named(plan, "head-on"))
    (words,) = [item.text for item in drawings.layer("level", pose).items if isinstance(item, Label)]
    assert words == f"top: lean 0.0, tilt {plan.chest_deg[pose, 2]:.1f} degrees"
    assert plan.chest_deg[pose, 2] > 3


def test_only_a_shot_that_keeps_its_top_level_has_the_layer():
    plain, kept = STARTERS["lamplighter"], level(STARTERS["lamplighter"]).shot
    assert "level" not in overlay_options(plain).layers
    assert "level" not in overlay_options(plain).flat
    assert "level" in overlay_options(kept).layers
    assert "level" in overlay_options(kept).flat
    plan = solve(plain)
    assert not ShotDrawings(plan, view_named(plan, "side-on")).layer("level", 3).items
