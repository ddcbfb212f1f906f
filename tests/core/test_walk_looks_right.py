"""The ten facts that make a walk look right, on the starters' default walks. Windows are common practice of drawn and
puppet walks (no source) unless a test names one; "data" = the adult of tests/outside/test_gait_data.py.

One stride of the leg that lands at pose n is looked at: s = 0 at its landing, n at the other foot's contact, 2 n at
its next.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Walk
from striderule.solve import FootState, solve
from striderule.solve.plan import Plan


@dataclass(frozen=True)
class Stride:
    """One stride of a plan: `own` the leg that lands first, poses from its landing to its next one."""

    plan: Plan
    n: int
    lift_off: int
    own: int
    poses: np.ndarray
    body_move: float

    def of(self, name: str, leg: int | None = None) -> np.ndarray:
        return getattr(self.plan, name)[self.poses, self.own if leg is None else leg]


def stride_of(shot: Shot) -> Stride:
    plan = solve(shot)
    n = shot.walk.poses_per_step
    own = int(plan.swing_leg[0])
    state = plan.state[n : 3 * n + 1, own]
    lift_off = int(np.argmax(state == FootState.AIR)) - 1 - n
    return Stride(
        plan, n, lift_off, own, np.arange(n, 3 * n + 1), float(plan.reference_mm[1, 0] - plan.reference_mm[0, 0])
    )


def starter(name: str) -> Shot:
    return load_shot(starter_paths()[name])


@pytest.fixture(scope="module", params=["lamplighter", "heron"])
def stride(request: pytest.FixtureRequest) -> Stride:
    return stride_of(starter(request.param))


@pytest.fixture(scope="module")
def person() -> Stride:
    return stride_of(starter("lamplighter"))


@pytest.fixture(scope="module")
def heron() -> Stride:
    return stride_of(starter("heron"))


def test_fact_1_a_foot_stands_for_58_to_66_percent_of_a_stride(stride: Stride) -> None:
    """Data 64 %; Perry & Burnfield 2010 (from memory) 60 %."""
    assert 0.58 <= (stride.n + stride.lift_off) / (2 * stride.n) <= 0.66
    assert (stride.plan.state != FootState.AIR).any(axis=1).all()


def test_fact_2_contact_shows_the_legs_furthest_apart(stride: Stride) -> None:
    plan, n = stride.plan, stride.n
    step = stride.body_move * n
    apart = np.abs(plan.ankle_mm[:, 0, 0] - plan.ankle_mm[:, 1, 0])
    for contact in range(0, plan.poses, n):
        assert 0.85 * step <= apart[contact] <= 1.0 * step + 1e-9
        middle = plan.ankle_mm[contact, :, 0].mean()
        assert abs(plan.hip_mm[contact, :, 0].mean() - middle) <= 0.05 * step
    around = np.arange(n, plan.poses - n, n)
    assert (apart[around] > apart[around - 1]).all()
    assert (apart[around] > apart[around + 1]).all()


def test_fact_2_a_person_lands_on_the_heel_with_a_nearly_straight_knee(person: Stride) -> None:
    assert 10 <= person.of("foot_pitch_deg")[0] <= 20
    assert person.of("foot_pitch_deg")[person.n] <= -5
    assert 5 <= person.of("knee_deg")[0] <= 15


def test_fact_3_the_hips_have_one_top_and_one_bottom_a_step_and_no_corner(stride: Stride) -> None:
    height = stride.plan.hip_line_mm[stride.poses[:-1]]
    for half in (height[: stride.n], height[stride.n :]):
        turns = np.sign(np.roll(half, -1) - half)
        assert (turns != np.roll(turns, 1)).sum() == 2
    np.testing.assert_allclose(height[: stride.n], height[stride.n :], atol=1e-9)
    bend = np.roll(height, -1) - 2 * height + np.roll(height, 1)
    assert np.abs(bend).max() <= 2.5 * np.sqrt((bend**2).mean())


def test_fact_3_a_person_rises_by_half_to_three_quarters_of_the_pendulum(person: Stride) -> None:
    """Inverted pendulum, an upper bound: step^2 / (8 L); data .70."""
    leg = person.plan.shot.puppet.legs[0]
    pendulum = (person.body_move * person.n) ** 2 / (8 * (leg.thigh_mm + leg.shank_mm))
    assert 0.5 <= np.ptp(person.plan.hip_line_mm) / pendulum <= 0.75


def test_fact_3_a_bent_leg_walker_rises_1_to_4_percent_of_its_hip_height(heron: Stride) -> None:
    assert 0.01 <= np.ptp(heron.plan.hip_line_mm) / heron.plan.hip_line_mm.mean() <= 0.04


def test_fact_4_the_hips_sway_once_a_stride_toward_the_standing_foot(stride: Stride) -> None:
    plan, n = stride.plan, stride.n
    across = plan.hip_mm[:, :, 1].mean(axis=1)
    for step in range(1, plan.shot.walk.steps - 1):
        inside = across[step * n : (step + 1) * n + 1]
        passing = step * n + plan.keys[step * n : (step + 1) * n].index("passing")
        assert abs(int(np.argmax(np.abs(inside))) + step * n - passing) <= 0.15 * n
        assert abs(inside[0]) < 1e-9
        standing = plan.ankle_mm[passing, 1 - plan.swing_leg[passing], 1]
        assert 0.2 <= across[passing] / standing <= 0.5


def test_fact_5_a_person_s_foot_goes_heel_flat_toe_and_level_again(person: Stride) -> None:
    pitch, n, off = person.of("foot_pitch_deg"), person.n, person.n + person.lift_off
    assert 10 <= pitch[0] <= 20
    assert pitch[round(0.15 * n + 0.49)] == 0
    assert pitch[n] < 0
    assert_rolls_off(person, pitch, off)


def test_fact_5_a_bird_s_foot_lands_flat_and_rolls_off_its_toe(heron: Stride) -> None:
    pitch, off = heron.of("foot_pitch_deg"), heron.n + heron.lift_off
    assert pitch[0] == 0
    assert pitch[heron.n] < 0
    assert_rolls_off(heron, pitch, off)


def assert_rolls_off(stride: Stride, pitch: np.ndarray, off: int) -> None:
    assert -45 <= pitch[off] <= -25
    lowest = int(np.argmin(pitch))
    assert off <= lowest <= off + 0.15 * stride.n
    swing = 2 * stride.n - off
    level = (
        np.interp(0.0, pitch[off:], (np.arange(off, 2 * stride.n + 1) - off) / swing)
        if pitch[-1] > 0
        else (int(np.argmax(pitch[off:] > -0.5))) / swing
    )
    assert 0.75 <= level <= 0.9


def test_fact_6_the_ankle_has_one_early_top_and_falls_through_passing(stride: Stride) -> None:
    up = stride.of("ankle_mm")[:, 2]
    off, end, n = stride.n + stride.lift_off, 2 * stride.n, stride.n
    air = up[off : end + 1]
    top = int(np.argmax(air))
    assert 0.15 <= top / (end - off) <= 0.40
    assert (np.diff(air[: top + 1]) > 0).all()
    assert (np.diff(air[top:]) < 0).all()
    passing = n + stride.plan.keys[n : 2 * n].index("passing")
    assert up[passing] < up[passing - 1]


def test_fact_6_a_person_s_toe_is_lowest_near_passing_and_clears_the_floor(person: Stride) -> None:
    toe, off, n = person.of("toe_mm")[:, 2], person.n + person.lift_off, person.n
    air = np.arange(off + 1, 2 * n)
    passing = n + person.plan.keys[n : 2 * n].index("passing")
    assert abs(air[int(np.argmin(toe[air]))] - passing) <= 1
    assert toe[air].min() >= 3


def test_fact_6_the_heron_keeps_the_clearance_it_asks_for(heron: Stride) -> None:
    air = np.arange(heron.n + heron.lift_off + 1, 2 * heron.n)
    for point in ("heel_mm", "ball_mm", "toe_mm"):
        assert heron.of(point)[air, 2].min() >= heron.plan.shot.walk.clearance_mm - 1e-9


def test_fact_7_the_swing_has_one_late_peak_and_lands_softly(stride: Stride) -> None:
    moves = np.diff(stride.of("ankle_mm")[:, 0]) / stride.body_move
    off = stride.n + stride.lift_off
    air = moves[off:]
    peak = int(np.argmax(air))
    assert 0.5 <= (peak + 0.5) / len(air) <= 0.75
    assert 2.6 <= air[peak] <= 3.4
    assert (np.diff(air[: peak + 1]) > 0).all()
    assert (np.diff(air[peak:]) < 0).all()
    assert moves.min() >= -0.05
    assert air[-1] <= 0.4 * air[peak]
    assert moves.sum() == pytest.approx(2 * stride.n, abs=1e-9)


@pytest.mark.parametrize("poses", range(4, 17))
@pytest.mark.parametrize("name", ["lamplighter", "heron"])
def test_fact_7_holds_for_default_steps_of_4_to_16_poses(name: str, poses: int) -> None:
    """The peak is at most 3.4 body moves, and more only where the timing leaves no other: few poses in the air (4, 5),
    or a foot that stands for more than .61 of a stride (8, 13), has to go as far in less."""
    stride = stride_of(replace(starter(name), walk=Walk(steps=4, poses_per_step=poses)))
    moves = np.diff(stride.of("ankle_mm")[:, 0]) / stride.body_move
    air = moves[stride.n + stride.lift_off :]
    assert 2.6 <= air.max() <= {4: 3.55, 5: 3.65, 8: 3.75, 13: 3.55}.get(poses, 3.46)
    assert air[-1] <= 0.4 * air.max()
    assert moves.min() >= -0.05
    peak = int(np.argmax(air))
    assert (np.diff(air[: peak + 1]) > 0).all()
    assert (np.diff(air[peak:]) < 0).all()
    if poses not in (4, 9):
        assert 0.5 <= (peak + 0.5) / len(air) <= 0.75


def fine(shot: Shot, times: int) -> Shot:
    """The same walk with every pose divided into `times`: the curves that the poses are taken from."""
    walk = shot.walk
    n = walk.poses_per_step
    settled = stride_of(shot)
    roll = int((settled.of("state") == FootState.TOE).sum())
    flat = int((settled.of("state") == FootState.HEEL).sum())
    return replace(
        shot,
        walk=replace(
            walk,
            steps=3,
            poses_per_step=n * times,
            passing_pose=(walk.passing_pose or n // 2) * times,
            lift_off_poses=settled.lift_off * times,
            toe_roll_poses=roll * times,
            flat_after_poses=flat * times,
        ),
    )


@pytest.mark.parametrize("name", ["lamplighter", "heron"])
def test_fact_7_the_toe_starts_from_rest_and_the_ankle_carries_on(name: str) -> None:
    """Between the poses, at a fortieth of a pose: no jump in the ankle's speed beyond 15 % of the largest move."""
    times = 40
    stride = stride_of(fine(starter(name), times))
    ankle, toe = stride.of("ankle_mm"), stride.of("toe_mm")
    off = stride.n + stride.lift_off
    moves = np.diff(ankle[:, 0])
    assert np.abs(moves[off] - moves[off - 1]) <= 0.15 * moves.max()
    assert np.linalg.norm(ankle[off + 1] - 2 * ankle[off] + ankle[off - 1]) <= 0.15 * moves.max()
    one, two = toe[off + 1] - toe[off], toe[off + 2] - toe[off]
    speed = 0.5 * (4 * one - two)  # at the very start: what is left of the first two moves without their acceleration
    assert np.linalg.norm(speed) <= 0.05 * moves.max()


def test_fact_7_a_heavy_landing_arrives_at_speed() -> None:
    shot = starter("heron-burdened")
    stride = stride_of(shot)
    moves = np.diff(stride.of("ankle_mm")[:, 0])[stride.n + stride.lift_off :]
    assert moves[-1] >= 0.8 * moves.max()


def test_fact_8_a_person_s_knee_yields_opens_breaks_folds_and_opens(person: Stride) -> None:
    knee, n, off = person.of("knee_deg"), person.n, person.n + person.lift_off
    early = knee[: round(0.35 * n) + 1]
    assert 8 <= early.max() - knee[0] <= 12
    assert 0.15 * n <= int(np.argmax(early)) <= 0.35 * n
    at_80 = np.interp(0.8 * n, np.arange(2 * n + 1), knee)
    assert 15 <= at_80 <= 20
    assert knee[n] > knee[:n][-1]
    assert knee[off] > knee[n]
    passing = n + person.plan.keys[n : 2 * n].index("passing")
    most = int(np.argmax(knee))
    assert off < most < passing
    assert 55 <= knee[most] <= 65
    assert 5 <= knee[-2:].min() <= 15
    assert knee[-1] <= 15
    flat = (person.of("state")[:-1] == FootState.PLANTED) & (person.of("state")[1:] == FootState.PLANTED)
    assert np.abs(np.diff(knee))[flat].max() <= 12
    standing = person.of("state") != FootState.AIR
    assert knee[standing].min() >= 8


def test_fact_8_the_heron_s_knee_bends_back_in_the_same_order(heron: Stride) -> None:
    knee, n, off = heron.of("knee_deg"), heron.n, heron.n + heron.lift_off
    early = knee[: round(0.35 * n) + 1]
    assert early.max() > knee[0]
    assert knee[n - 2] < early.max()
    assert knee[off] > knee[n] > knee[n - 1]
    passing = n + heron.plan.keys[n : 2 * n].index("passing")
    assert off < int(np.argmax(knee)) < passing
    assert knee.min() >= 40
    hip, joint, ankle = (heron.of(name)[passing] for name in ("hip_mm", "knee_mm", "ankle_mm"))
    share = (hip[2] - joint[2]) / (hip[2] - ankle[2])
    assert hip[0] + share * (ankle[0] - hip[0]) - joint[0] >= 40


def test_fact_9_the_pelvis_turns_and_drops_and_the_chest_turns_against_it(stride: Stride) -> None:
    plan, n = stride.plan, stride.n
    yaw, roll = plan.body_deg[:, 0], plan.body_deg[:, 2]
    side = np.array([leg.outward_side for leg in plan.shot.puppet.legs])
    contacts = np.arange(0, plan.poses, n)
    assert ((np.abs(yaw[contacts]) >= 4) & (np.abs(yaw[contacts]) <= 8)).all()
    assert np.abs(yaw).max() == pytest.approx(np.abs(yaw[contacts]).max())
    forward = np.argmax(plan.ankle_mm[contacts, :, 0], axis=1)
    hips = plan.hip_mm[contacts, :, 0]
    assert (hips[np.arange(len(contacts)), forward] > hips[np.arange(len(contacts)), 1 - forward]).all()
    for step in range(plan.shot.walk.steps):
        free = plan.swing_leg[step * n]
        dropped = -roll[step * n : (step + 1) * n] * side[free]
        assert 3 <= dropped.max() <= 6
        assert 0.1 * n <= int(np.argmax(dropped)) <= 0.3 * n
    counter = -plan.chest_deg[contacts, 0] / yaw[contacts]
    assert ((counter >= 0.5) & (counter <= 1.0)).all()
    assert np.abs(plan.head_deg[:, 0]).max() < 2
    lean = plan.body_deg[:, 1]
    assert ((lean >= 1) & (lean <= 5)).all()


def test_fact_9_a_person_s_arms_swing_against_the_legs_and_a_little_late(person: Stride) -> None:
    """Common practice, no source: +-15-25 degrees, 0-.1 of a step late. Of arms that take all of the swing."""
    plan, n = person.plan, person.n
    puppet = plan.shot.puppet
    arms = tuple(replace(arm, swings=1.0) for arm in puppet.arms)
    walk = fine(plan.shot, 20)
    swinging = solve(replace(walk, puppet=replace(puppet, arms=arms)))
    step = 20 * n
    for k, arm in enumerate(arms):
        swing = swinging.arm_angles.deg[:, k, 0] - arm.rest_swing_deg
        assert 15 <= np.abs(swing).max() <= 25
        inside = swing[step // 2 : step // 2 + 2 * step]  # a whole stride around two contacts
        late = np.abs(np.array([np.argmax(inside), np.argmin(inside)]) % step - step // 2) / step
        assert (late <= 0.1).all()
        contact = swinging.ankle_mm[2 * step, :, 0]
        own = next(i for i, leg in enumerate(puppet.legs) if leg.outward_side == arm.outward_side)
        assert (swing[2 * step] > 0) == (contact[own] < contact[1 - own])


def test_fact_9_a_top_that_is_kept_level_is_planned_with_what_the_waist_does(stride: Stride) -> None:
    walk = replace(stride.plan.shot.walk, top="level")
    plan = solve(replace(stride.plan.shot, walk=walk))
    np.testing.assert_allclose(plan.chest_deg, 0.0, atol=1e-9)
    assert np.abs(plan.upper.waist_deg).max(axis=0).min() >= 1
    np.testing.assert_array_equal(plan.knee_deg, stride.plan.knee_deg)


def test_fact_10_what_is_loose_arrives_one_to_three_poses_later(stride: Stride) -> None:
    assert all(1 <= one.late_poses <= 3 for one in stride.plan.shot.puppet.loose)
    assert stride.plan.loose


def test_fact_10_a_heavy_landing_falls_half_as_far_again() -> None:
    plain, heavy = (
        solve(Shot("x", puppet=starter("heron").puppet, walk=Walk(landing=landing))).hip_line_mm
        for landing in ("soft", "heavy")
    )
    assert heavy[0] - heavy[:6].min() >= 1.5 * (plain[0] - plain[:6].min()) - 1e-9
