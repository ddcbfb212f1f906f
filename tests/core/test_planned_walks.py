"""Walks that are not even, straight and flat: paths, floors, starts and stops, steps of their own, edits, four legs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from striderule.check import findings_of
from striderule.check.feet import GAP_MM, sole_gaps
from striderule.check.spacing import POP_DEG
from striderule.errors import FileError, ModelError
from striderule.model.edits import BodyEdit, Edits, FootfallEdit, Hold
from striderule.model.floor import Floor, Kerb, Raised, Stairs
from striderule.model.path import PathPiece
from striderule.model.puppet import Limits, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.model.step_change import StepChange
from striderule.model.track import track_of
from striderule.model.walk import Walk
from striderule.solve import FootState, Plan, solve
from striderule.solve.ground import surface_mm


def starter(name: str, **values: object) -> Shot:
    shot = load_shot(starter_paths()[name])
    return replace(shot, walk=replace(Walk(steps=6), **values))


CORNER = (PathPiece(straight_mm=150), PathPiece(turn_deg=70, radius_mm=260), PathPiece(straight_mm=80))
CASES: dict[str, Shot] = {
    "standing": starter("lamplighter", start="standing", stop="standing"),
    "standing heron": starter("heron", start="standing", stop="apart"),
    "corner": replace(starter("heron", steps=None), path=CORNER),
    "points": replace(starter("heron", steps=None), path=(PathPiece(points_mm=((200, 40), (400, 0), (600, -90))),)),
    "turn": replace(starter("lamplighter", steps=9, step_mm=45),
                    path=(PathPiece(straight_mm=90), PathPiece(turn_deg=90, radius_mm=0))),
    "slope": replace(starter("lamplighter"), floor=Floor(slope_deg=6, side_slope_deg=3)),
    "stairs": replace(starter("lamplighter"), floor=Floor(stairs=Stairs(80, 52, 12, 4))),
    "down stairs": replace(starter("lamplighter"), floor=Floor(stairs=Stairs(80, 52, -9, 4, "both"))),
    "plank": replace(starter("heron"), floor=Floor(plank=Raised(120, 420, 9), kerb=Kerb(500, 6))),
    "heights": replace(starter("heron"), floor=Floor(heights_mm=((100, 0), (250, 12), (400, 3)))),
    "steps": replace(starter("heron"), step_changes=(
        StepChange("3", (("poses_per_step", 9),)), StepChange("5", (("step_mm", 88.0),)),
        StepChange("4", (("pause_poses", 4),)), StepChange("left", (("lift_mm", 30.0),)))),
    "edits": replace(starter("heron"), edits=Edits(
        (FootfallEdit(3, move_mm=(8, 5), turn_deg=10), FootfallEdit(4, later_poses=1),
         FootfallEdit(5, at_mm=(400, 20))),
        (BodyEdit(10, -4),), (1.0, 0.5))),
    "surge": starter("heron", surge=0.3, drag=0.2),
}  # fmt: skip


@pytest.fixture(params=sorted(CASES))
def shot(request: pytest.FixtureRequest) -> Shot:
    return CASES[request.param]


def places(plan: Plan, leg: int, poses: list[int], *states: FootState) -> np.ndarray:
    here = [k for k in poses if plan.state[k, leg] in states]
    return (plan.heel_mm if FootState.HEEL in states else plan.ball_mm)[here, leg]


def test_no_foot_slips_on_any_floor_or_path(shot: Shot) -> None:
    plan = solve(shot)
    assert len(plan.stances) > 4
    for one in plan.stances:
        poses = list(range(max(one.first, 0), min(one.last, plan.poses - 1) + 1))
        assert (plan.state[poses, one.leg] != FootState.AIR).all()
        for states in ((FootState.PLANTED, FootState.TOE), (FootState.PLANTED, FootState.HEEL)):
            rows = places(plan, one.leg, poses, *states)
            if len(rows):
                np.testing.assert_allclose(rows, np.broadcast_to(rows[0], rows.shape), atol=1e-9)


def test_lengths_are_kept_and_nothing_is_nan(shot: Shot) -> None:
    plan = solve(shot)
    for i, leg in enumerate(shot.puppet.legs):
        np.testing.assert_allclose(np.linalg.norm(plan.knee_mm[:, i] - plan.hip_mm[:, i], axis=1), leg.thigh_mm)
        np.testing.assert_allclose(np.linalg.norm(plan.ankle_mm[:, i] - plan.knee_mm[:, i], axis=1), leg.shank_mm)
    for values in (plan.body_mm, plan.hip_swing_deg, plan.ankle_deg, plan.band.lowest_mm):
        assert np.isfinite(values).all()


def test_any_planned_shot_is_written_and_read_back(shot: Shot) -> None:
    assert parse_shot(dump_shot(shot), "x") == shot


def test_a_start_from_standing_moves_the_weight_before_the_heel_and_is_at_full_speed_at_the_second_contact() -> None:
    """Fact 10: at least 60 % of the sway before the heel leaves; first step 50-70 %; within 5 % of full speed at the
    second contact (common practice, no source)."""
    plan = solve(starter("lamplighter", start="standing", steps=8))
    laid, leg = plan.shot.laid_out, int(plan.swing_leg[0])
    leaves = int(np.argmax(plan.foot_pitch_deg[:, leg] < -1e-9)) - 1  # the last pose with the heel down
    sway = np.abs(plan.hip_mm.mean(axis=1)[:, 1])
    assert sway[leaves] >= 0.6 * sway[laid.start[0] : laid.land[0]].max()
    landings = [one.place_mm[0] for one in plan.stances if one.step >= 0][:4]
    full = landings[3] - landings[2]
    assert 0.5 <= (landings[1] - landings[0]) / full <= 0.7
    moves = np.diff(plan.reference_mm[:, 0])
    second = int(laid.land[1])
    assert moves[second] == pytest.approx(moves[-7:-1].mean(), rel=0.05)


def test_a_typed_lift_off_has_the_word_over_a_duty_that_no_step_has_room_for_at_a_start_too() -> None:
    plan = solve(starter("lamplighter", start="standing", poses_per_step=4, duty=0.8, lift_off_poses=1))
    assert plan.shot.settled_walk.lift_off_poses == 1


def test_a_stop_ends_with_feet_together_and_settles_in_halving_moves() -> None:
    """Fact 10: overshoot at most 8 % of a step, moves halving (common practice, no source)."""
    plan = solve(starter("lamplighter", stop="standing", settle_poses=3))
    last = [one.place_mm[0] for one in plan.stances][-2:]
    assert last[0] == pytest.approx(last[1], abs=1e-9)
    landed = int(plan.shot.laid_out.land[-1])
    past = plan.reference_mm[landed:, 0] - plan.reference_mm[-1, 0]
    assert 0 < past[0] <= 0.08 * (plan.shot.settled_walk.step_mm or 0)
    moves = -np.diff(past)
    moves = moves[moves > 1e-9]  # none smaller than hands can set
    assert len(moves) >= 2
    assert moves.min() >= 0.5
    np.testing.assert_allclose(moves[1:] / moves[:-1], 0.5, atol=1e-9)


def test_the_inner_foot_steps_shorter_and_feet_follow_the_heading() -> None:
    circle = replace(
        starter("heron", steps=10, step_mm=60, width_mm=42), path=(PathPiece(turn_deg=350, radius_mm=250),)
    )
    plan = solve(circle)
    feet = [one for one in plan.stances if 1 <= one.step <= 9]
    places = np.array([one.place_mm[:2] for one in feet])
    radius = np.linalg.norm(places - np.array((circle.stage.start_mm[0], 250.0)), axis=1)
    inner = [one.leg == 0 for one in feet]  # turning left, the left foot is inside
    width = circle.settled_walk.width_mm or 0
    np.testing.assert_allclose(radius, np.where(inner, 250 - width / 2, 250 + width / 2), atol=1e-6)
    angle = np.degrees(np.unwrap(np.arctan2(places[:, 1] - 250, places[:, 0]))) + 90
    headings = np.array([one.heading_deg for one in feet])
    assert np.abs(headings - headings[0] - (angle - angle[0])).max() < 1e-6


def test_the_track_of_an_arc_is_a_circle_and_points_are_met() -> None:
    track = track_of((PathPiece(turn_deg=90, radius_mm=100),), (0.0, 0.0))
    place, heading = track.on(np.array((0.0, 50 * math.pi)))
    np.testing.assert_allclose(place[:, 1], (100, 100), atol=1e-9)
    assert heading[1] == pytest.approx(math.pi / 2)
    through = ((120.0, 30.0), (260.0, -20.0), (400.0, 60.0))
    track = track_of((PathPiece(points_mm=through),), (0.0, 0.0))
    place, heading = track.on(np.linspace(0, track.length_mm, 4001))
    for point in through:
        assert np.linalg.norm(place.T - point, axis=1).min() < 0.1
    assert np.abs(np.diff(heading)).max() < 0.01  # no corner
    # the length of the curve is that of its fine polyline
    assert track.length_mm == pytest.approx(np.linalg.norm(np.diff(place), axis=0).sum(), rel=1e-5)


@pytest.mark.parametrize(("values", "steps", "step"), [
    ({"distance_mm": 480.0, "step_mm": 80.0, "steps": None}, 6, 80.0),
    ({"distance_mm": 500.0, "step_mm": 80.0, "steps": None}, 6, 500 / 6),
    ({"distance_mm": 480.0, "steps": 5}, 5, 96.0),
])  # fmt: skip
def test_two_of_distance_steps_and_step_length_give_the_third(values, steps, step) -> None:
    walk = starter("heron", **values).settled_walk
    assert (walk.steps, walk.step_mm) == (steps, pytest.approx(step))


def test_a_distance_from_standing_to_standing_is_what_the_body_travels() -> None:
    plan = solve(starter("lamplighter", steps=7, distance_mm=300.0, start="standing", stop="standing"))
    assert plan.reference_mm[-1, 0] - plan.reference_mm[0, 0] == pytest.approx(300, abs=1e-6)


def test_every_foot_on_stairs_stands_in_the_middle_of_its_tread() -> None:
    plan = solve(CASES["stairs"])
    stairs, leg = CASES["stairs"].floor.stairs, CASES["stairs"].puppet.legs[0]
    assert stairs is not None
    middle = 0.5 * (leg.ball_ahead_mm + leg.toe_mm - leg.heel_behind_mm)
    on = [one for one in plan.stances if 0 < one.place_mm[2] < 4 * stairs.riser_mm - 1e-9]
    assert len(on) >= 3
    for one in on:
        tread = round(one.place_mm[2] / stairs.riser_mm) - 1
        expected = CASES["stairs"].stage.start_mm[0] + stairs.first_edge_mm + (tread + 0.5) * stairs.tread_mm
        assert one.place_mm[0] + middle == pytest.approx(expected, abs=1e-6)


def test_soles_lie_along_a_slope() -> None:
    plan = solve(CASES["slope"])
    flat = plan.state == FootState.PLANTED
    assert np.abs(plan.foot_pitch_deg[flat] - 6).max() < 1e-9
    rise = plan.ball_mm[flat][:, 2] - plan.heel_mm[flat][:, 2]
    run = np.linalg.norm(plan.ball_mm[flat][:, :2] - plan.heel_mm[flat][:, :2], axis=1)
    np.testing.assert_allclose(rise / run, math.tan(math.radians(6)), atol=1e-9)


def test_one_step_may_be_slower_and_the_others_stay() -> None:
    shot = replace(starter("heron"), step_changes=(StepChange("3", (("poses_per_step", 9),)),))
    plan = solve(shot)
    contacts = [k for k, key in enumerate(plan.keys) if key == "contact"]
    assert np.diff(contacts).tolist() == [6, 6, 9, 6, 6, 6]


def test_a_leg_s_own_values_are_those_of_its_steps_and_a_single_step_has_the_last_word() -> None:
    changes = (StepChange("2", (("lift_mm", 9.0),)), StepChange("right", (("lift_mm", 40.0),)))
    laid = replace(starter("heron", first_foot="left"), step_changes=changes).laid_out
    lifts = [laid.kinds[k].lift_mm for k in laid.kind]
    assert lifts[1] == 9.0
    assert lifts[3] == lifts[5] == 40.0
    assert lifts[0] == lifts[2] == lifts[4] == laid.walk.lift_mm


def test_a_held_pose_takes_more_frames_and_those_behind_it_move_on() -> None:
    plan = solve(replace(starter("heron"), holds=(Hold(9, 5),), frames_per_pose=2))
    assert plan.last_frame[8] - plan.first_frame[8] == 4
    assert plan.first_frame[9] == plan.last_frame[8] + 1
    assert plan.frames == 2 * (plan.poses - 1) + 5


def test_a_pinned_footfall_stays_where_it_is_when_other_values_change() -> None:
    for step in (70.0, 80.0):
        shot = replace(starter("heron", step_mm=step), edits=Edits((FootfallEdit(4, at_mm=(300, -20)),)))
        stance = next(one for one in solve(shot).stances if one.step == 4)
        assert stance.place_mm[:2] == pytest.approx((300, -20))


def test_a_nudge_fades_smoothly() -> None:
    plain, edited = solve(starter("heron")), solve(replace(starter("heron"), edits=Edits(body=(BodyEdit(13, 3),))))
    up = edited.hip_line_mm - plain.hip_line_mm
    assert up[12] == pytest.approx(3)
    assert np.abs(up[:9]).max() < 1e-12
    assert (np.diff(up[8:13]) > 0).all()


def test_the_body_stands_in_a_pause() -> None:
    shot = replace(starter("heron"), step_changes=(StepChange("3", (("pause_poses", 8),)),))
    plan = solve(shot)
    assert plan.keys.count("pause") == 7
    pause = [k for k, key in enumerate(plan.keys) if key == "pause"]
    assert np.abs(np.diff(plan.reference_mm[pause[2:5], 0])).max() < 1e-9
    assert (np.diff(plan.reference_mm[:, 0]) > -1e-9).all()


def four_legs(poses: int = 8, **values: object) -> Shot:
    base = load_shot(starter_paths()["lamplighter"]).puppet
    hind = [replace(leg, name=f"hind_{leg.name}", hip_mm=(-60.0, leg.hip_mm[1], 0.0)) for leg in base.legs]
    fore = [replace(leg, name=f"fore_{leg.name}", hip_mm=(60.0, leg.hip_mm[1], 0.0)) for leg in base.legs]
    walk = replace(Walk(steps=6, poses_per_step=poses, step_mm=30.0), **values)
    return Shot("four", puppet=Puppet("four", (*hind, *fore)), walk=walk)


@pytest.mark.parametrize("poses", [4, 6, 7, 8, 9, 12])
def test_four_legs_have_three_feet_down_in_every_pose_of_a_lateral_sequence_walk(poses: int) -> None:
    """McGhee & Frank 1968: duty 3/4; a stance is never rounded shorter."""
    plan = solve(four_legs(poses))
    assert ((plan.state == FootState.AIR).sum(axis=1) <= 1).all()
    whole = [one for one in plan.stances if one.first > 0 and one.last < plan.poses - 1]
    assert whole
    assert all(one.last - one.first >= 0.75 * 2 * poses for one in whole)


@pytest.mark.parametrize(
    ("gait", "share"), [("pace", 0.0), ("lateral-sequence", 0.25), ("trot", 0.5), ("diagonal-sequence", 0.75)]
)
def test_a_gait_is_hildebrand_s_phase_of_the_fore_foot_after_the_hind_one(gait: str, share: float) -> None:
    """Hildebrand 1965: share of a stride by which the fore footfall follows the same side's hind one."""
    plan = solve(four_legs(8, gait=gait))
    first = {plan.legs[one.leg]: one.first for one in reversed(plan.stances) if one.first > 16}
    for side in ("left", "right"):
        behind = (first[f"fore_{side}"] - first[f"hind_{side}"]) % 16
        assert behind == round(share * 16) % 16


@pytest.mark.parametrize(("table", "expected"), [
    ("[step.9]\nstep_mm = 50\n", "steps from 1 to 6"),
    ("[step.heft]\nstep_mm = 50\n", "a step's number, a range such as 3-5, or a leg"),
    ("[step.2]\nsteps = 5\n", "a known key"),
    ("[step.2]\nstep_mm = \"x\"\n", "a number in mm"),
    ("[[path]]\nstraight_mm = 5\nturn_deg = 5\n", "one of straight_mm, turn_deg (with radius_mm), points_mm"),
    ("[[path]]\npoints_mm = [[1, 2, 3]]\n", "2 numbers"),
    ("[floor]\nheights_mm = [[100, 0], [50, 1]]\n", "distances that rise"),
    ("[floor.stairs]\ntread_mm = 50\n", "first_edge_mm"),
    ("[[hold]]\npose = 0\nframes = 2\n", "a whole number from 1"),
    ("[[edit.footfall]]\nstep = 2\nat_mm = [1, 2]\nmove_mm = [1, 2]\n", "at_mm or move_mm"),
    ("[[edit.footfall]]\nstep = 99\nlater_poses = 1\n", "a step from -20 to 6"),
])  # fmt: skip
def test_a_bad_table_is_one_clear_refusal_with_its_line(table: str, expected: str) -> None:
    text = dump_shot(starter("heron")).replace("[puppet]", f"{table}\n[puppet]", 1)
    with pytest.raises(FileError) as caught:
        parse_shot(text, "x.toml")
    assert expected in str(caught.value)
    assert caught.value.line


def test_steps_step_length_and_distance_together_are_refused() -> None:
    with pytest.raises(ModelError, match="two of steps, step_mm and distance_mm"):
        Walk(steps=3, step_mm=50, distance_mm=150)


def test_the_boards_of_a_stair_lie_where_its_feet_stand() -> None:
    shot = CASES["stairs"]
    boards = surface_mm(shot, 10.0, 30.0)
    assert surface_mm(starter("heron"), 10.0, 30.0) == []
    for one in solve(shot).stances:
        under = [b for b in boards if b[0, 0] <= one.place_mm[0] < b[1, 0]]
        assert len(under) == 1
        assert under[0][0, 2] == pytest.approx(one.place_mm[2], abs=1e-6)


def impossible(plan: Plan) -> list[str]:
    return [one.text for one in findings_of(plan, with_cures=False) if one.severity == "impossible"]


@pytest.mark.parametrize("turn", [90, -90, 180, -45])
@pytest.mark.parametrize("name", ["lamplighter", "heron"])
def test_soles_keep_clear_of_each_other_while_turning_on_the_spot(name: str, turn: float) -> None:
    shot = load_shot(starter_paths()[name])
    step = 1.5 * (shot.settled_walk.step_mm or 0.0)
    pieces = (PathPiece(straight_mm=step), PathPiece(turn_deg=turn), PathPiece(straight_mm=step))
    plan = solve(replace(shot, walk=Walk(), path=pieces))
    for _, _, gap in sole_gaps(plan):
        assert gap.min() >= GAP_MM - 1e-9
    assert plan.heading_deg[-1] == pytest.approx(turn)


@pytest.mark.parametrize("riser", [-15, -12, -7, 4, 7, 10, 12, 15])
def test_the_lamplighter_climbs_and_descends_treads_of_an_eighth_of_its_leg(riser: float) -> None:
    """Risers of 12 to 15 mm are stairs of 18 cm and more for a person of 230 mm to 1.75 m (common practice, no
    source)."""
    shot = replace(starter("lamplighter", steps=9), floor=Floor(stairs=Stairs(100, 44, riser, 5)))
    assert not impossible(solve(shot))
    assert (shot.settled_walk.heel_off_deg or 0) > (starter("lamplighter").settled_walk.heel_off_deg or 0)


@pytest.mark.parametrize("values", [
    {"walk": Walk(steps=5, step_mm=69, stop="apart")}, {"walk": Walk(steps=5, step_mm=69, stop="standing")},
    {"step_changes": (StepChange("2", (("pause_poses", 4),)),)}, {"path": (PathPiece(turn_deg=90, radius_mm=200),)},
    {"floor": Floor(kerb=Kerb(130, 6))}, {"floor": Floor(plank=Raised(110, 260, 5))},
    {"step_changes": (StepChange("3", (("step_mm", 75.0),)),)},
    {"edits": Edits((FootfallEdit(3, move_mm=(9, 4)),))},
], ids=["apart", "standing", "pause", "arc", "kerb", "plank", "long step", "edit"])  # fmt: skip
def test_hips_that_nobody_typed_come_down_to_where_the_legs_reach(made_shot, monkeypatch, values) -> None:
    """And no further, nor with a corner."""
    shot = replace(made_shot(limits=Limits(), walk=Walk(steps=5)), **values)
    plan = solve(shot)
    assert not impossible(plan)
    assert plan.gap_mm.max() == 0
    monkeypatch.setattr("striderule.solve.open_hips", lambda shot: False)
    asked = solve(shot)
    assert asked.gap_mm.max() > 0 or impossible(asked) or asked.knee_deg.min() < POP_DEG
    lowered = asked.hip_line_mm - plan.hip_line_mm
    assert lowered.min() >= -1e-9
    assert 0.1 < lowered.max() < 8
    assert lowered.min() < 0.05 or values.keys() == {"path"}
    assert np.abs(np.diff(lowered, 2)).max() <= 0.8 * lowered.max()
    lowest = int(np.argmax(lowered))
    near = slice(max(lowest - 3, 0), lowest + 4)
    assert plan.knee_deg[near].min() < 12  # no lower than a nearly straight leg asks for


def test_what_edits_add_to_lowered_hips_stays_added() -> None:
    shot = starter("lamplighter", stop="apart")
    up = replace(shot, edits=Edits(body=(BodyEdit(20, 2.0),), hips_up_mm=(0.5,)))
    added = solve(up).hip_line_mm - solve(shot).hip_line_mm
    assert added[19] == pytest.approx(2.0)
    assert added[0] == pytest.approx(0.5)


@pytest.mark.parametrize("radius", [220, 400, 0])
def test_four_legs_follow_a_curve_with_their_hips_over_their_feet(radius: float) -> None:
    tapir = load_shot(starter_paths()["tapir"])
    walk = replace(tapir.walk, steps=None if radius else 11)
    plan = solve(replace(tapir, walk=walk, path=(PathPiece(turn_deg=80, radius_mm=radius),)))
    straight = solve(tapir)
    assert np.abs(plan.hip_out_deg).max() < np.abs(straight.hip_out_deg).max() + (9 if radius else 20)
    assert np.isfinite(plan.band.highest_mm).all()
    stiff = replace(
        tapir, puppet=replace(tapir.puppet, legs=tuple(replace(leg, part="body") for leg in tapir.puppet.legs))
    )
    other = solve(replace(stiff, walk=walk, path=(PathPiece(turn_deg=80, radius_mm=radius),)))
    if radius:
        # of a spine that bends each pair's middle goes along the track, of a stiff trunk that of all four
        for one, legs in ((plan, [0, 1]), (plan, [2, 3]), (other, [0, 1, 2, 3])):
            middle = one.hip_mm[:, legs].mean(axis=1)[:, :2]
            on = np.linalg.norm(middle - np.array((tapir.stage.start_mm[0], tapir.stage.start_mm[1] + radius)), axis=1)
            turning = (plan.heading_deg > 25) & (plan.heading_deg < 55)
            assert np.abs(on[turning] - radius).max() < 7  # but for the sway


@pytest.mark.parametrize("ends", [{"start": "standing"}, {"stop": "standing"}, {"stop": "apart"}])
def test_four_legs_start_and_stop_with_their_pairs_as_far_apart_as_their_hips(ends: dict[str, str]) -> None:
    """A pair that begins later lands further on, as the body has gone on meanwhile, and stands under its hips again."""
    tapir = load_shot(starter_paths()["tapir"])
    plan = solve(replace(tapir, walk=Walk(steps=6, **ends)))
    for _, _, gap in sole_gaps(plan):
        assert gap.min() > 0
    hind, fore = (float(np.mean([plan.shot.puppet.legs[k].hip_mm[0] for k in pair])) for pair in ((0, 1), (2, 3)))
    if ends != {"stop": "apart"}:
        pose = 0 if "start" in ends else -1
        ankles = plan.ankle_mm[pose, :, 0]
        np.testing.assert_allclose(ankles[2:] - ankles[:2], fore - hind, atol=1e-6)
    middle = 0.5 * (plan.ankle_mm[..., :2, 0].mean(axis=1) + plan.ankle_mm[..., 2:, 0].mean(axis=1))
    assert np.abs(middle - plan.hip_mm[..., 0].mean(axis=1)).max() < 0.5 * (plan.shot.settled_walk.step_mm or 0)
