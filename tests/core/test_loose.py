"""Loose parts: late by the poses that were asked, at rest where all is at rest, settling in halves."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from striderule.model.puppet import Shape
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.upper import Loose, LooseLimits
from striderule.solve import solve
from striderule.solve.loose import swing_out, tangents
from striderule.solve.plan import Plan

WIDE = LooseLimits((-175.0, 175.0), (-175.0, 175.0))
TAIL = Loose("tail", (-20.0, 0.0, 10.0), (-320.0, 0.0, 10.0), limits=WIDE)  # long, so that its turns stay small


def starter(name: str, *loose: Loose, **walk) -> Shot:
    shot = load_shot(starter_paths()[name])
    shapes = tuple(shape for shape in shot.puppet.shapes if not shape.part.startswith("loose"))
    puppet = replace(shot.puppet, loose=loose, shapes=shapes)
    return replace(shot, puppet=puppet, walk=replace(shot.walk, **walk))


def ends(plan: Plan) -> tuple[np.ndarray, np.ndarray]:
    """(poses, 3) end of the first loose part, and where a stiff part's end would be."""
    one = plan.shot.puppet.loose[0]
    return plan.loose[0].end_mm, plan.on_part(one.part, np.array(one.end_mm))


def lag(signal: np.ndarray, reference: np.ndarray, period: int) -> int:
    """By how many poses `signal` is later than `reference`, by the greatest cross-correlation; both repeat in a
    period, so that more than that has no meaning."""
    signal, reference = signal - signal.mean(), reference - reference.mean()
    return max(range(period), key=lambda k: float(signal @ np.roll(reference, k)))


@pytest.mark.parametrize("part", ["body", "chest", "head"])
@pytest.mark.parametrize("late", [1, 2, 3])
@pytest.mark.parametrize(("axis", "period"), [(1, 12), (2, 6)])
def test_a_loose_part_arrives_as_many_poses_later_as_asked(part, late, axis, period):
    """Sideways and up and down, by cross-correlation over two strides of the lamplighter."""
    tail = replace(TAIL, part=part, late_poses=late)
    plan = solve(starter("lamplighter", tail, steps=8, head_follows=0.5))
    end, stiff = ends(plan)
    stride = slice(12, 36)
    assert np.ptp(stiff[stride, axis]) > 1
    assert lag(end[stride, axis], stiff[stride, axis], period) == late


def test_its_delay_is_exact_and_it_damps_what_is_quicker_than_a_few_poses():
    """A stiff end that moves as a sine of 12 poses is followed by exactly `late` poses, at 93 % (the three-pose mean's
    share by its transfer function, (1 + cos w) / 2)."""
    tail = replace(TAIL, late_poses=2)
    plan = solve(starter("lamplighter", tail, steps=8))
    end, stiff = (values[12:36, 1] for values in ends(plan))
    first, second = (np.fft.rfft(one)[2] for one in (stiff, end))
    assert np.angle(first / second) / (2 * np.pi / 12) == pytest.approx(2.0, abs=0.02)
    assert abs(second / first) == pytest.approx(0.5 * (1 + np.cos(2 * np.pi / 12)), abs=0.01)


def test_it_keeps_its_length_and_its_joint_stays_on_what_carries_it():
    for name in ("lamplighter", "heron", "tapir", "lamplighter-stair"):
        plan = solve(load_shot(starter_paths()[name]))
        for one, had in zip(plan.shot.puppet.loose, plan.loose, strict=True):
            np.testing.assert_allclose(np.linalg.norm(had.end_mm - had.joint_mm, axis=1), one.length_mm, atol=1e-9)
            np.testing.assert_allclose(had.joint_mm, plan.on_part(one.part, np.array(one.joint_mm)), atol=1e-9)
            np.testing.assert_allclose(plan.on_part(f"loose.{one.name}", np.array(one.end_mm)), had.end_mm, atol=1e-9)
            np.testing.assert_allclose(had.axes @ had.axes.swapaxes(1, 2), np.broadcast_to(np.eye(3), had.axes.shape),
                                       atol=1e-9)  # fmt: skip


def test_a_straight_even_walk_repeats_in_every_stride():
    for name, stride, first in (("lamplighter", 12, 0), ("heron", 12, 0), ("tapir", 16, 6)):
        shot = load_shot(starter_paths()[name])
        plan = solve(replace(shot, walk=replace(shot.walk, steps=10)))
        for had in plan.loose:  # from `first` on: a tail follows what the trunk of four legs does before it is even
            np.testing.assert_allclose(had.swing_deg[first + stride :], had.swing_deg[first:-stride], atol=1e-7)
            np.testing.assert_allclose(had.side_deg[first + stride :], had.side_deg[first:-stride], atol=1e-7)
            assert np.ptp(had.swing_deg) > 3


def test_at_an_even_pace_it_does_not_trail_behind():
    """A pole on a body that neither sways nor turns nor bounces is stiff, however fast it goes."""
    hips = replace(load_shot(starter_paths()["lamplighter"]).walk.hips, contact_mm=118.0, down_mm=118.0,
                   passing_mm=118.0, up_mm=118.0)  # fmt: skip
    still = starter("lamplighter", TAIL, sway=0.0, pelvis_turn_deg=0.0, pelvis_drop_deg=0.0, hips=hips)
    plan = solve(still)
    np.testing.assert_allclose(plan.loose[0].swing_deg, 0.0, atol=1e-7)
    np.testing.assert_allclose(plan.loose[0].side_deg, 0.0, atol=1e-7)
    faster = solve(replace(still, walk=replace(still.walk, surge=0.3)))
    assert np.ptp(faster.loose[0].swing_deg) < 0.1, "a tail along the way is not swung by going faster and slower"


def test_a_hanging_part_lags_behind_at_a_start_and_swings_ahead_at_a_stop():
    lantern = Loose("lantern", (0.0, 40.0, 40.0), (0.0, 40.0, 0.0), part="body", hangs=True, limits=WIDE)
    shot = starter("lamplighter", lantern, start="standing", stop="standing", settle_poses=8, steps=6)
    plan = solve(shot)
    begin, land = int(shot.laid_out.start[0]), int(shot.laid_out.land[-1])
    swing = plan.loose[0].swing_deg
    assert swing[0] == 0
    assert swing[begin : begin + 6].min() < -2
    assert swing[land - 6 : land + 1].max() > 2
    np.testing.assert_allclose((swing[-1], plan.loose[0].side_deg[-1]), 0.0, atol=1e-9)


def test_it_hangs_plumb_at_rest_whatever_its_carrier_does():
    shot = load_shot(starter_paths()["lamplighter-stair"])
    plan = solve(replace(shot, walk=replace(shot.walk, start="standing", settle_poses=8)))
    had = plan.loose[0]
    for pose in (0, plan.poses - 1):
        np.testing.assert_allclose((had.end_mm - had.joint_mm)[pose], (0.0, 0.0, -30.0), atol=1e-6)
    stiff = TAIL
    held = solve(starter("lamplighter", stiff, start="standing", lean_deg=20.0, lead_in_poses=4))
    end, rest = ends(held)
    np.testing.assert_allclose(end[0], rest[0], atol=1e-6, err_msg="what does not hang leans with its carrier")


@pytest.mark.parametrize("late", [1, 2, 3, 5])
@pytest.mark.parametrize("size", [0.3, 0.9, 3.0, 12.0, 60.0])
def test_it_settles_in_halves_and_leaves_out_moves_that_hands_cannot_set(late, size):
    share = swing_out(60, late, size)
    moves = np.abs(np.diff(share)) * size
    real = moves[moves > 1e-9]
    assert (real >= 0.5 - 1e-9).all()
    assert share[-1] == 0
    if size < 0.5:
        assert not share.any()
        return
    assert share[0] == 1
    turns = [share[0], *share[1:-1][(np.diff(share)[:-1] * np.diff(share)[1:] < 0)]]
    for before, after in pairwise(turns):
        assert after == pytest.approx(-0.5 * before)


def test_what_settles_is_late_by_a_half_swing_of_as_many_poses_as_it_arrives_late():
    share = swing_out(30, 3, 1000.0)
    np.testing.assert_allclose(share[[0, 3, 6, 9]], (1.0, -0.5, 0.25, -0.125))


def test_its_limits_are_kept_and_met_softly():
    tail = replace(TAIL, end_mm=(-40.0, 0.0, 10.0), limits=LooseLimits((-4.0, 6.0), (-3.0, 0.0)), much=3.0)
    had = solve(starter("lamplighter", tail)).loose[0]
    free = solve(starter("lamplighter", replace(tail, limits=WIDE))).loose[0]
    assert had.swing_deg.min() >= -4
    assert had.swing_deg.max() <= 6
    assert had.side_deg.min() >= -3
    assert had.side_deg.max() <= 1e-9
    assert free.side_deg.max() > 5
    assert (np.diff(had.swing_deg[np.argsort(free.swing_deg)]) >= -1e-9).all(), "further still where asked for more"
    inside = np.abs(free.swing_deg) < 2
    np.testing.assert_allclose(had.swing_deg[inside], free.swing_deg[inside], atol=1e-9)


def test_how_much_of_its_lateness_shows_is_a_share():
    none, half, whole = (solve(starter("lamplighter", replace(TAIL, much=much))).loose[0] for much in (0.0, 0.5, 1.0))
    np.testing.assert_allclose(none.side_deg, 0.0, atol=1e-9)
    np.testing.assert_allclose(half.side_deg, 0.5 * whole.side_deg, atol=0.05)


@pytest.mark.parametrize(
    ("end", "swing", "side"),
    [
        ((0, 0, -1), (1, 0, 0), (0, 1, 0)),  # it hangs: forward, left
        ((-1, 0, 0), (0, 0, -1), (0, 1, 0)),  # a tail: down, left
        ((0, 0, 1), (-1, 0, 0), (0, 1, 0)),  # it stands up: back, left
        ((0, 1, 0), (1, 0, 0), (0, 0, 1)),  # it lies across: forward, up
    ],
)
def test_the_signs_of_swing_and_side(end, swing, side):
    """Swing turns as a leg's does, minus about the axis to the left: -(Y x end) by hand."""
    got = tangents(np.array(end, float))
    np.testing.assert_allclose(got[0], swing, atol=1e-12)
    np.testing.assert_allclose(got[1], side, atol=1e-12)
    if end[1] == 0:
        np.testing.assert_allclose(got[0], -np.cross((0.0, 1.0, 0.0), end), atol=1e-12)


def test_the_angles_told_are_those_that_the_end_has():
    """From the end's place alone: the tail's end to the left and down."""
    tail = replace(TAIL, end_mm=(-60.0, 0.0, 10.0), much=2.0)
    plan = solve(starter("lamplighter", tail))
    had = plan.loose[0]
    way = np.einsum("pji,pj->pi", plan.body_axes, had.end_mm - had.joint_mm) / tail.length_mm
    angle = np.degrees(np.arccos(np.clip(-way[:, 0], -1, 1)))
    np.testing.assert_allclose(np.hypot(had.swing_deg, had.side_deg), angle, atol=1e-6)
    away = np.hypot(way[:, 1], way[:, 2])
    far = away > 1e-3
    np.testing.assert_allclose((had.side_deg / angle)[far], (way[:, 1] / away)[far], atol=1e-6)
    np.testing.assert_allclose((had.swing_deg / angle)[far], (-way[:, 2] / away)[far], atol=1e-6)


def test_an_arm_can_carry_it_and_shapes_hang_on_it():
    shot = starter("lamplighter", Loose("bell", (0.0, 28.0, -10.0), (0.0, 28.0, -30.0), part="arm.left_arm.fore"))
    shape = Shape("ball", part="loose.bell", centre_mm=(0.0, 28.0, -30.0), radius_mm=3.0)
    plan = solve(replace(shot, puppet=replace(shot.puppet, shapes=(*shot.puppet.shapes, shape))))
    np.testing.assert_allclose(plan.on_part("loose.bell", np.array(shape.centre_mm)), plan.loose[0].end_mm, atol=1e-9)
    assert np.linalg.norm(plan.loose[0].joint_mm - plan.arms[0].hand_mm, axis=1).max() < 3
