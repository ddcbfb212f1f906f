"""The working band against the slow way: lift the body, solve the legs again and look at every joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from striderule.camera.solids import planned_ankle_mm
from striderule.model.puppet import Leg, Limits, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Walk
from striderule.solve import FootState, Stop, solve
from striderule.solve.feet import FootTurn
from striderule.solve.legs import leg_measures, reach
from striderule.solve.plan import Plan

STOPS = {
    Stop.KNEE_LEAST: ("knee_deg", 0),
    Stop.KNEE_MOST: ("knee_deg", 1),
    Stop.HOCK_LEAST: ("hock_deg", 0),
    Stop.HOCK_MOST: ("hock_deg", 1),
    Stop.HIP_BACK: ("hip_swing_deg", 0),
    Stop.HIP_FORWARD: ("hip_swing_deg", 1),
    Stop.HIP_IN: ("hip_out_deg", 0),
    Stop.HIP_OUT: ("hip_out_deg", 1),
    Stop.ANKLE_DOWN: ("ankle_deg", 0),
    Stop.ANKLE_UP: ("ankle_deg", 1),
}


def lifted(plan: Plan, rise: np.ndarray) -> dict[str, np.ndarray]:
    """Joint angles (P, L) with the whole body `rise` (P,) higher over the same feet; gap_mm too."""
    each = [plan.carrier_of(leg) for leg in range(len(plan.legs))]
    body, axes = np.stack([place for place, _ in each], axis=1), np.stack([axes for _, axes in each], axis=1)
    body[:, :, 2] += rise[:, None]
    feet = planned_ankle_mm(plan).transpose(2, 1, 0)  # also where the leg does not reach it as planned
    solved = reach(
        leg_measures(plan.shot.puppet),
        body,
        axes,
        feet,
        FootTurn.of(np.radians(plan.foot_heading_deg.T), np.radians(plan.foot_pitch_deg.T)),
    )
    return {
        "knee_deg": np.degrees(solved.knee_rad).T,
        "hock_deg": plan.hock_deg if solved.hock_rad is None else np.degrees(solved.hock_rad).T,
        "hip_swing_deg": np.degrees(solved.swing_rad).T,
        "hip_out_deg": np.degrees(solved.out_rad).T,
        "ankle_deg": np.degrees(solved.ankle_rad).T,
        "gap_mm": solved.gap_mm.T,
    }


def excess(plan: Plan, rise: np.ndarray) -> np.ndarray:
    """(P,) how many degrees the worst joint of the touching legs is beyond its stop with the body `rise` higher."""
    angles = lifted(plan, rise)
    worst = np.full(plan.poses, -np.inf)
    for i, leg in enumerate(plan.shot.puppet.legs):
        ranges = {
            "knee_deg": leg.knee_range_deg,
            "hip_swing_deg": leg.limits.hip_swing_deg,
            "hip_out_deg": leg.limits.hip_out_deg,
            "ankle_deg": leg.limits.ankle_deg,
        }
        for name, (low, high) in ranges.items():
            beyond = np.maximum(low - angles[name][:, i], angles[name][:, i] - high)
            beyond = np.where(angles["gap_mm"][:, i] > 0, 90.0, beyond)
            worst = np.maximum(worst, np.where(plan.state[:, i] != FootState.AIR, beyond, -np.inf))
    return worst


def starter(name: str) -> Shot:
    return load_shot(starter_paths()[name])


def assert_band(plan: Plan) -> None:
    band = plan.band
    open_band = band.highest_mm - band.lowest_mm > 0.5
    assert open_band.any()
    for share in (0.02, 0.5, 0.98):
        inside = band.lowest_mm + share * (band.highest_mm - band.lowest_mm) - plan.hip_line_mm
        assert excess(plan, inside)[open_band].max() <= 0.05
    for edge, legs, stops, outward in (
        (band.highest_mm, band.highest_leg, band.highest_stop, 1.0),
        (band.lowest_mm, band.lowest_leg, band.lowest_stop, -1.0),
    ):
        at_edge = lifted(plan, edge - plan.hip_line_mm)
        beyond = excess(plan, edge + outward * 0.5 - plan.hip_line_mm)
        for pose in np.flatnonzero(open_band):
            leg, stop = int(legs[pose]), Stop(int(stops[pose]))
            name, end = STOPS[stop]
            measures = plan.shot.puppet.legs[leg]
            bound = (measures.knee_range_deg if name == "knee_deg" else getattr(measures.limits, name))[end]
            assert at_edge[name][pose, leg] == pytest.approx(bound, abs=0.05), (pose, stop.name)
            if plan.state[pose, leg] != FootState.AIR:
                assert beyond[pose] > 0, (pose, stop.name)


@pytest.mark.parametrize("name", ["heron", "heron-burdened", "lamplighter", "tapir"])
def test_the_band_s_edges_are_where_the_named_joint_meets_its_stop(name: str) -> None:
    assert_band(solve(starter(name)))


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-15, 10),
    st.floats(4, 40),
    st.floats(60, 120),
    st.floats(5, 40),
    st.floats(-50, -5),
    st.floats(0, 0.4),
    st.sampled_from(["forward", "backward"]),
    st.floats(-10, 10),
)
def test_the_band_agrees_with_the_slow_way_on_random_limits(
    knee_shift: float,
    knee_least: float,
    knee_most: float,
    ankle_up: float,
    ankle_down: float,
    share: float,
    knee: str,
    lean: float,
) -> None:
    """Any joint may set either edge; the band never assumes that its top is a straight leg."""
    limits = Limits(
        hip_swing_deg=(-30.0 + knee_shift, 35.0 + knee_shift),
        hip_out_deg=(-8.0, 9.0),
        knee_deg=(knee_least, knee_most),
        ankle_deg=(ankle_down, ankle_up),
    )
    left = Leg("left", (0.0, 12.0, 0.0), 60.0, 58.0, 10.0, 10.0, 16.0, knee, 9.0, 12.0, limits=limits)
    shot = Shot(
        "x",
        puppet=Puppet("x", (left, left.mirrored("right"))),
        walk=Walk(steps=2, step_mm=118.0 * share, lean_deg=lean),
    )
    plan = solve(shot)
    if (plan.band.highest_mm - plan.band.lowest_mm > 0.5).any():
        assert_band(plan)
    pose = np.arange(plan.poses)
    # where the free leg cannot fold far enough the touching legs may still have room
    both_touch = (plan.state[pose, plan.band.lowest_leg] != FootState.AIR) & np.isfinite(plan.band.highest_mm)
    empty = (plan.band.highest_mm < plan.band.lowest_mm - 0.5) & both_touch
    rises = np.linspace(-80, 40, 61)
    if empty.any():
        best = np.min([excess(plan, np.full(plan.poses, rise)) for rise in rises], axis=0)
        assert (best[empty] > -0.05).all()


def test_a_flat_contact_leaves_the_lamplighter_almost_no_room_and_a_raised_heel_gives_it() -> None:
    """Worked by hand: a 60 mm contact flat reaches to 117.8; with the rear heel up 20 to 120.5 (project's own
    table)."""
    shot = starter("lamplighter")
    square = replace(shot.walk, heel_strike_deg=0.0, pelvis_turn_deg=0.0, pelvis_drop_deg=0.0, sway=0.0, lean_deg=0.0)
    left = replace(shot.puppet.legs[0], hip_mm=(0.0, 8.5, 0.0))
    puppet = replace(shot.puppet, legs=(left, left.mirrored("right")))
    flat = solve(replace(shot, puppet=puppet, walk=replace(square, heel_off_deg=0.0, toe_roll_poses=None)))
    straight = left.thigh_mm + left.shank_mm
    # the hips hang a little behind the middle, so the front leg is the longer one: by the theorem of Pythagoras
    ahead = flat.ball_mm[0, :, 0] - left.ball_ahead_mm - flat.hip_mm[0, :, 0]
    knee = np.radians(left.knee_range_deg[0])
    longest = np.sqrt(left.thigh_mm**2 + left.shank_mm**2 + 2 * left.thigh_mm * left.shank_mm * np.cos(knee))
    by_hand = left.ankle_up_mm + np.sqrt(longest**2 - np.abs(ahead).max() ** 2)
    assert longest < straight
    assert flat.band.highest_mm[0] == pytest.approx(by_hand, abs=1e-6)
    assert (flat.gap_mm[0] > 0).any()  # the walk as planned cannot be stood flat
    centred = replace(square, heel_off_deg=45.0, step_mm=60.0)
    raised = solve(replace(shot, puppet=puppet, walk=centred))
    assert raised.foot_pitch_deg[0, 0] < -5 or raised.foot_pitch_deg[0, 1] < -5
    rear = int(np.argmin(raised.ball_mm[0, :, 0]))
    assert raised.band.highest_leg[0] != rear  # the raised heel has freed the rear leg; now the front one sets the edge
