"""Feet over the holes of a stage: where they come to stand, what never happens to them, what is offered instead."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from striderule.adjust.editing import edit_rows, with_dragged
from striderule.adjust.hole_choice import cost_of
from striderule.adjust.hole_feet import Floorplan, feet_of
from striderule.adjust.hole_offers import at_even_speed, offers_for, with_step
from striderule.adjust.hole_reach import new_trouble, trouble_by_pose
from striderule.adjust.hole_rows import without_ties
from striderule.adjust.holes import MOST_UNEVEN, snap_to_holes
from striderule.check import findings_of
from striderule.check.feet import GAP_MM, outline_gap
from striderule.check.stage import off_stage_mm, on_obstacle_mm, prints_of
from striderule.errors import ModelError
from striderule.model.edits import Edits, FootfallEdit
from striderule.model.floor import Floor, Stairs
from striderule.model.holes import hole_name, holes_about, holes_mm, is_missing, nearest_holes, off_holes
from striderule.model.path import PathPiece
from striderule.model.puppet import Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.model.stage import HoleGrid, Obstacle, Stage
from striderule.solve import solve

STARTERS = {name: load_shot(starter_paths()[name]) for name in ("heron", "lamplighter", "tapir")}
CURVE = (PathPiece(straight_mm=150), PathPiece(turn_deg=60, radius_mm=260), PathPiece(straight_mm=80))


def starter(name="heron", pitch=25.0, **values):
    """A starter over a grid; values: of its walk, or of the shot."""
    shot = STARTERS[name]
    own = {key: value for key, value in values.items() if hasattr(shot, key)}
    walk = replace(shot.walk, **{key: value for key, value in values.items() if key not in own})
    grid = own.pop("grid", HoleGrid(pitch))
    return replace(shot, walk=walk, grid=grid, **own)


def held_to(found, shot):
    """What holds for every snapped walk; returns the plan."""
    assert found.fits, found.why
    plan = solve(found.shot)
    prints = prints_of(plan)
    hole, away = off_holes(shot.grid, prints.tie_mm)
    pinned = {(one.step, one.leg) for one in found.tied if one.pinned}
    f = plan.footing
    mine = np.array([(s, plan.legs[leg]) not in pinned for s, leg in zip(f.step.tolist(), f.leg.tolist(), strict=True)])
    assert away[mine].max(initial=0.0) <= 1e-6
    assert not is_missing(shot.grid, hole)[mine].any()
    assert off_stage_mm(shot.stage, prints.corners_mm)[mine].max(initial=0.0) == 0
    for one in shot.obstacles:
        assert on_obstacle_mm(one, prints.corners_mm)[mine].max(initial=0.0) == 0
    assert not new_trouble(trouble_by_pose(solve(without_ties(shot))), plan).any()
    assert snap_to_holes(found.shot) == found
    assert parse_shot(dump_shot(found.shot), "x") == found.shot
    # nobody stands on another's sole
    for a in range(len(f.leg)):
        for b in range(a + 1, len(f.leg)):
            if f.first[b] <= f.last[a] and f.last[b] >= f.first[a] and mine[a] and mine[b]:
                pair = prints.corners_mm[a][None], prints.corners_mm[b][None]
                assert outline_gap(*pair)[0] >= GAP_MM - 1e-5
    return plan


CASES = {
    "heron": starter(),
    "many steps": starter(steps=20),
    "lamplighter": starter("lamplighter"),
    "tapir": starter("tapir", 10.0),
    "tapir, coarse": starter("tapir", 25.0),
    "turned": starter(grid=HoleGrid(25, (3.0, -7.0), 17.0)),
    "curve": starter(pitch=10.0, steps=None, path=CURVE),
    "on the spot": starter("lamplighter", 5.0, steps=9, step_mm=45,
                           path=(PathPiece(straight_mm=90), PathPiece(turn_deg=90, radius_mm=0))),
    "slope": starter("lamplighter", 10.0, floor=Floor(slope_deg=6, side_slope_deg=3)),
    "hills": starter(pitch=10.0, floor=Floor(heights_mm=((100, 0), (250, 12), (400, 3)))),
    "stairs": starter("heron", 8.0, step_mm=80, floor=Floor(stairs=Stairs(140, 80, 6, 3))),
    "standing": starter(pitch=10.0, start="standing", stop="standing"),
    "missing": starter(grid=HoleGrid(25, missing=((7, 1), (13, -1), (13, 1)))),
    "obstacle": starter(obstacles=(Obstacle((150.0, 25.0), 8.0, "lamp"),)),
    "edges": starter(stage=Stage(across_mm=(-25.0, 60.0), along_mm=(-60.0, 700.0))),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(CASES))
def test_every_foot_is_tied_at_a_hole_and_nothing_gets_worse(name):
    held_to(snap_to_holes(CASES[name]), CASES[name])


GRIDS = st.builds(
    HoleGrid,
    st.sampled_from((5.0, 8.0, 10.0, 12.5, 20.0, 25.0)),
    st.tuples(st.floats(-30, 30), st.floats(-30, 30)),
    st.floats(-90, 90),
    st.lists(st.tuples(st.integers(-2, 30), st.integers(-4, 4)), max_size=12).map(tuple),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    GRIDS,
    st.sampled_from(("heron", "lamplighter", "tapir")),
    st.integers(1, 9),
    st.lists(st.builds(Obstacle, st.tuples(st.floats(0, 400), st.floats(-60, 60)), st.floats(2, 15)), max_size=2),
    st.none() | st.floats(-60, 60),
)
def test_any_grid_is_met_exactly_or_the_shot_stays_as_it_is(grid, name, steps, obstacles, turn):
    path = (PathPiece(straight_mm=60), PathPiece(turn_deg=turn, radius_mm=250)) if turn else ()
    try:
        shot = starter(name, grid=grid, steps=steps, obstacles=tuple(obstacles), path=path,
                       stage=Stage(across_mm=(-400.0, 400.0)))  # fmt: skip
    except ModelError:
        assume(False)
    found = snap_to_holes(shot)
    if found.fits:
        held_to(found, shot)
        low, high = found.lengths_mm
        assert found.uneven >= 0
        assert high >= low
    else:
        assert found.shot is shot
        assert all(one.endswith((".", ")")) for one in found.why)


def test_the_choice_costs_no_more_than_the_nearest_hole_of_each_foot_taken_step_by_step():
    for shot in (starter(steps=12), starter(grid=HoleGrid(25, (3.0, -7.0), 17.0), steps=12)):
        found = snap_to_holes(shot)
        (feet,), floorplan = feet_of(shot), Floorplan(shot, shot.grid)
        holes = [floorplan.candidates(feet, k, 1.25) for k in range(len(feet.leg))]
        greedy = cost_of([one.moved for one in holes], [0] * len(holes))  # candidates come nearest first
        toe = math.radians(1.0) * (feet.legs[0].ball_ahead_mm + feet.legs[0].toe_mm)
        mine = [np.array([[one.ahead_mm, one.left_mm, one.turn_deg * toe]]) for one in found.tied]
        assert cost_of(mine, [0] * len(mine)) <= greedy + 1e-6


def test_pinned_footfalls_stay_and_wishes_are_kept():
    rows = (FootfallEdit(2, at_mm=(200.0, -20.0)), FootfallEdit(4, move_mm=(6.0, 4.0), turn_deg=10.0),
            FootfallEdit(5, later_poses=1))  # fmt: skip
    shot = starter(edits=Edits(rows))
    found = snap_to_holes(shot)
    held_to(found, shot)
    after = {one.step: one for one in found.shot.edits.footfalls}
    assert after[2] == rows[0]
    assert next(one for one in found.tied if one.step == 2).pinned
    assert (after[4].move_mm, after[4].turn_deg, after[4].hole_turn_deg) == ((6.0, 4.0), 10.0, 0.0)
    assert after[5].later_poses == 1
    assert without_ties(found.shot).edits.footfalls == rows or set(without_ties(found.shot).edits.footfalls) == set(
        rows
    )
    # without the mark the place is a person's, and stays when the grid changes
    mine = replace(after[3], hole_turn_deg=None)
    kept = tuple(mine if one.step == 3 else one for one in found.shot.edits.footfalls)
    other = replace(found.shot, edits=Edits(kept), grid=HoleGrid(25, (4.0, 4.0)))
    again = {one.step: one for one in snap_to_holes(other).shot.edits.footfalls}
    assert again[3] == mine
    assert again[1] != after[1]


def test_feet_follow_when_the_walk_changes_and_holes_are_chosen_anew():
    found = snap_to_holes(starter())
    longer = replace(found.shot, walk=replace(found.shot.walk, step_mm=100.0))
    assert snap_to_holes(longer).shot.edits == snap_to_holes(starter(step_mm=100.0)).shot.edits


def test_a_stage_without_holes_leaves_the_shot_alone():
    shot = STARTERS["heron"]
    found = snap_to_holes(shot)
    assert found.shot is shot
    assert (found.tied, found.uneven, found.fits) == ((), 0.0, True)


def test_an_80_mm_walk_over_a_25_mm_grid_would_limp_and_75_mm_is_offered():
    """A hole every 25 mm allows 75, 75, 100; one equal length, 75 for 80, beats it (common practice, no source)."""
    shot = starter(steps=40)
    found = snap_to_holes(shot)
    assert found.limps
    lengths = sorted({round(80 + one.longer_mm) for one in found.tied[1:]})
    assert lengths == [75, 100]
    offers = offers_for(shot, found)
    assert offers[0].step_mm == 75.0
    assert offers[0].poses_per_step == 6
    assert offers[0].faster == pytest.approx(75 / 80 - 1)
    assert offers[0].uneven <= MOST_UNEVEN
    # 100 mm keeps nearly the speed in 8 poses: 100 / 8 = 12.5 against 80 / 6 = 13.3 mm a pose
    assert (100.0, 8) in [(one.step_mm, one.poses_per_step) for one in offers]
    for one in offers:
        if one.step_mm is not None:
            taken = snap_to_holes(with_step(shot, one.step_mm, one.poses_per_step)[0])
            assert not taken.limps
            held_to(taken, taken.shot)
    assert all(one.possible for one in offers)


def test_longer_steps_get_more_poses_where_the_speed_is_to_stay():
    shot = starter(steps=40)
    found = snap_to_holes(shot)
    even, by_step = at_even_speed(found)
    long = {one.step for one in found.tied[1:] if one.longer_mm > 10}
    assert {step for step, _ in by_step} == long - {-1, 0}
    assert {n for _, n in by_step} <= {7, 8}
    assert even.edits == found.shot.edits
    hole_of = {one.step: one.hole for one in found.tied}
    assert {one.step: one.hole for one in snap_to_holes(even).tied} == hole_of
    assert not [one for one in findings_of(solve(even), with_cures=False) if one.severity == "impossible"]


def test_a_step_that_the_legs_cannot_take_is_never_chosen():
    """60 mm over a 25 mm grid is 50, 75, 50, 75: the lamplighter's legs do not reach 75."""
    shot = starter("lamplighter", steps=24)
    found = snap_to_holes(shot)
    assert not found.fits
    assert found.shot is shot
    assert "does not reach" in " ".join(found.why)
    offers = offers_for(shot, found)
    assert [(one.step_mm, one.poses_per_step) for one in offers] == [(50.0, 6), (50.0, 5)]
    assert offers[1].faster == pytest.approx(0.0)  # 50 in 5 poses is 60 in 6


def test_where_no_hole_is_left_the_foot_and_step_are_named():
    everything = tuple((i, j) for i in range(-20, 60) for j in range(-20, 20))
    found = snap_to_holes(starter(steps=2, grid=HoleGrid(25, missing=everything)))
    assert not found.fits
    assert found.why[0].startswith("No hole is left for the left foot of step -1: ")
    narrow = snap_to_holes(starter(stage=Stage(across_mm=(-15.0, 15.0))))
    assert "over the stage's edge" in narrow.why[0]


def test_legs_of_pairs_get_rows_of_their_own():
    found = snap_to_holes(CASES["tapir"])
    rows = found.shot.edits.footfalls
    assert {one.leg for one in rows} == set(found.shot.puppet.leg_names)
    same = [one for one in rows if one.step == 1]
    assert len(same) == 2
    assert same[0].at_mm != same[1].at_mm
    wrong = Edits((FootfallEdit(1, turn_deg=3.0, leg="hind_right"),))
    with pytest.raises(ModelError, match="the leg that step 1 is of, hind_left"):
        snap_to_holes(replace(CASES["tapir"], edits=wrong))


def test_a_foot_dragged_off_its_hole_is_a_persons_from_then_on():
    found = snap_to_holes(starter())
    plan = solve(found.shot)
    stance = next(one for one in plan.stances if one.step == 2)
    pinned = with_dragged(found.shot, plan, stance, (210.0, -24.0), pin=True)
    row = next(one for one in pinned.edits.footfalls if one.step == 2)
    assert (row.at_mm, row.hole_turn_deg, row.turn_deg) == ((210.0, -24.0), None, -4.0)
    assert any("over a hole at 136.1, 22.28 mm, 4 deg left" in one.text for one in edit_rows(pinned))
    assert next(one for one in snap_to_holes(pinned).tied if one.step == 2).new_mm == pytest.approx((210.0, -24.0))


def test_three_legs_that_step_in_turn_are_put_over_holes():
    shot = STARTERS["lamplighter"]
    left, right = shot.puppet.legs
    legs = (left, replace(left, name="middle", hip_mm=(0.0, 0.0, 0.0), outward="left"), right)
    walk = replace(shot.walk, width_mm=60.0, step_mm=40.0, steps=6, first_foot=None)
    three = replace(shot, puppet=Puppet("three", legs), walk=walk, grid=HoleGrid(8.0))
    found = snap_to_holes(three)
    if found.fits:
        held_to(found, three)
    else:
        assert found.shot is three


def test_a_turned_foot_comes_nearer_and_a_typed_turn_is_not_changed():
    found = snap_to_holes(starter())
    assert {abs(one.turn_deg) for one in found.tied} == {4.0}  # 25 mm rows are too narrow or too wide for 38 mm
    ankle_tied = snap_to_holes(starter("lamplighter"))
    assert {one.turn_deg for one in ankle_tied.tied} == {0.0}
    typed = starter(edits=Edits((FootfallEdit(3, turn_deg=0.0),)))
    assert next(one for one in snap_to_holes(typed).tied if one.step == 3).turn_deg == 0.0


def test_holes_have_names_that_are_counted_from_the_origin():
    grid = HoleGrid(25, (5.0, 5.0), 90.0)
    assert [hole_name(grid, *ij) for ij in ((12, 1), (0, -3), (-2, 0))] == ["12L1", "0R3", "-2L0"]
    every = [(i, j) for i in range(-12, 13) for j in range(-12, 13)]
    assert len({hole_name(grid, i, j) for i, j in every}) == len(every)
    np.testing.assert_allclose(holes_mm(grid, np.array((2, 1))), (5.0 - 25.0, 5.0 + 50.0), atol=1e-9)


@given(GRIDS, st.lists(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), min_size=1, max_size=5))
def test_the_nearest_existing_hole_is_the_nearest_of_all(grid, places):
    at = np.array(places)
    hole, away = off_holes(grid, at)
    near = nearest_holes(grid, at)
    side = np.arange(-8, 9)
    every = near[:, None] + np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    distance = np.linalg.norm(holes_mm(grid, every) - at[:, None], axis=2)
    distance[is_missing(grid, every)] = np.inf
    np.testing.assert_allclose(away, distance.min(axis=1), atol=1e-9)
    np.testing.assert_allclose(np.linalg.norm(holes_mm(grid, hole) - at, axis=1), away, atol=1e-9)
    about = holes_about(grid, at, 20.0)
    assert (np.linalg.norm(holes_mm(grid, about)[:, None] - at, axis=2).min(axis=1) <= 20.0 + 1e-9).all()


def test_the_curve_starter_is_snapped_already():
    shot = load_shot(starter_paths()["heron-curve"])
    found = snap_to_holes(shot)
    assert found.shot == shot
    assert not found.limps
    # the heron's weak knees and ankles are there to be found
    assert {one.code for one in findings_of(solve(shot)) if one.severity != "note"} <= {"joint-overloaded"}
    held_to(found, shot)
