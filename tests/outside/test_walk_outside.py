"""Our walks against what is published about walking. Each test names its source."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips, Walk
from striderule.solve import solve
from striderule.solve.plan import FootState, Plan

G = 9.80665
PERSON_HIP_M = 0.9


def starter(name: str) -> Shot:
    return load_shot(starter_paths()[name])


@pytest.fixture(params=["lamplighter", "heron"])
def plan(request) -> Plan:
    return solve(starter(request.param))


def pendulum_rise_mm(step_mm: float, leg_mm: float) -> float:
    """How far a straight leg lifts the hips over its foot, from half a step before it to above it."""
    return leg_mm - math.sqrt(leg_mm**2 - step_mm**2 / 4)


def test_the_pendulums_rise_is_the_square_of_the_step_over_eight_legs():
    """The inverted pendulum's arc, which walks are measured by: the short form is within 5 % up to .8 of a leg."""
    for step in (30.0, 60.0, 90.0):
        assert pendulum_rise_mm(step, 113.0) == pytest.approx(step**2 / (8 * 113.0), rel=0.05)


@pytest.mark.parametrize("share", [0.3, 0.4, 0.5, 0.6])
def test_a_straight_leg_walkers_hips_rise_by_half_to_three_quarters_of_the_inverted_pendulum(share):
    """Inverted pendulum with legs that yield (Kuo 2007, from memory; the data of test_gait_data.py: .66)."""
    shot = starter("lamplighter")
    leg = shot.puppet.legs[0]
    length = leg.thigh_mm + leg.shank_mm
    plan = solve(replace(shot, walk=Walk(step_mm=share * length)))
    ours = np.ptp(plan.hip_line_mm) / pendulum_rise_mm(share * length, length)
    assert 0.5 < ours < 0.75


def test_hips_of_a_starter_stay_on_the_pendulums_side_of_a_straight_leg(plan):
    """No leg is asked to be longer than it is: every ankle that touches is nearer to its hip than thigh and shank."""
    for i, leg in enumerate(plan.shot.puppet.legs):
        reach = np.linalg.norm(plan.ankle_mm[:, i] - plan.hip_mm[:, i], axis=1)
        assert reach.max() < leg.thigh_mm + leg.shank_mm
    np.testing.assert_array_equal(plan.gap_mm, 0)


def person_speed(plan: Plan) -> tuple[float, float]:
    """(speed in m/s, stride in m) of the lamplighter's walk, grown to a person with hips at PERSON_HIP_M."""
    shot = plan.shot
    grown = PERSON_HIP_M / float(np.mean(plan.hip_line_mm))
    held = shot.walk.poses_per_step * shot.frames_per_pose
    moved = plan.reference_mm[shot.walk.poses_per_step, 0] - plan.reference_mm[0, 0]
    return moved * grown / (held / float(shot.rate)), 2 * moved * grown


def test_the_lamplighters_poses_a_step_are_those_of_a_pendulum_of_a_persons_height():
    """T = .5 s sqrt(h / .9 m), a leg that swings as a pendulum: six poses at 12 fps (common practice, no source)."""
    shot = starter("lamplighter")
    seconds = 0.5 * math.sqrt(PERSON_HIP_M / 0.9)
    assert shot.walk.poses_per_step == round(seconds * float(shot.rate) / shot.frames_per_pose)


def test_the_lamplighter_walks_and_does_not_run():
    """Froude number v^2 / (g h): people walk up to about .25 and run above .5 (Alexander, from memory)."""
    speed, _ = person_speed(solve(starter("lamplighter")))
    froude = speed**2 / (G * PERSON_HIP_M)
    assert 0.05 < froude < 0.5


def test_alexanders_speed_for_the_lamplighters_stride_is_within_20_percent_of_its_own():
    """v = .25 g^.5 stride^1.67 h^-1.17: Alexander, Nature 261 (1976) 129, for strides of 1.0 to 1.75 hip heights."""
    speed, stride = person_speed(solve(starter("lamplighter")))
    assert 1.0 <= stride / PERSON_HIP_M <= 1.75
    alexander = 0.25 * G**0.5 * stride**1.67 * PERSON_HIP_M**-1.17
    assert alexander == pytest.approx(speed, rel=0.2)


def test_a_foot_stands_for_58_to_66_percent_of_a_stride(plan):
    """Counted from what lies still in a move: heel, ball or toe. 60 %: Perry & Burnfield 2010, from memory."""
    points = np.stack((plan.heel_mm, plan.ball_mm, plan.toe_mm))
    still = np.any(np.all(np.abs(np.diff(points, axis=1)) < 1e-9, axis=-1), axis=0)
    stride = 2 * plan.shot.walk.poses_per_step
    whole = still[: len(still) // stride * stride]
    np.testing.assert_array_less(0.58, whole.mean(axis=0))
    np.testing.assert_array_less(whole.mean(axis=0), 0.66)
    assert np.all(still.any(axis=1))


def test_left_and_right_land_half_a_stride_apart(plan):
    """The footfalls of one pair: Hildebrand, Science 150 (1965) 701, from memory."""
    stride = 2 * plan.shot.walk.poses_per_step
    first = [plan.footing.first[plan.footing.leg == leg] for leg in (0, 1)]
    for landings in first:
        np.testing.assert_array_equal(np.diff(landings), stride)
    assert (first[0][0] - first[1][0]) % stride / stride == 0.5


def test_both_feet_stand_twice_a_stride_and_never_does_none(plan):
    """A walk is a gait with a duty factor above .5 (Hildebrand 1965): support by one foot and by two alternate."""
    touching = (plan.state != FootState.AIR).sum(axis=1)
    assert touching.min() == 1
    spells = np.flatnonzero(np.diff((touching == 2).astype(int)) == 1)
    steps = plan.shot.walk.steps
    assert len(spells) == steps


def test_the_lamplighter_has_a_persons_proportions_to_a_tenth_of_a_millimetre():
    """Drillis & Contini 1966, shares of the height; the distance of the hip pivots is common practice, no source."""
    puppet = starter("lamplighter").puppet
    crown = max(
        shape.centre_mm[2] + shape.radius_mm for shape in puppet.shapes if (shape.part, shape.form) == ("head", "ball")
    )
    height = 230.0
    assert puppet.legs[0].straight_mm + crown == pytest.approx(height, abs=0.11)
    for leg in puppet.legs:
        shares = {
            leg.thigh_mm: 0.245,
            leg.shank_mm: 0.246,
            leg.ankle_up_mm: 0.039,
            leg.shank_mm + leg.ankle_up_mm: 0.285,
            leg.straight_mm + leg.hip_mm[2]: 0.530,
            leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm: 0.152,
            leg.sole_width_mm: 0.055,
            2 * abs(leg.hip_mm[1]): 0.100,
        }
        for length, share in shares.items():
            assert length == pytest.approx(share * height, abs=0.11)


@pytest.mark.parametrize("name", ["lamplighter", "heron"])
def test_walks_of_other_steps_keep_stance_share_and_smooth_hips(name):
    """Whatever step is asked for: a duty factor of .57 to .66, and hips whose path has no corner, that is a largest
    second difference of at most 2.5 times its root mean square (common practice, no source)."""
    puppet = starter(name).puppet
    for poses, share in ((4, 0.3), (6, 0.5), (8, 0.5), (12, 0.4)):
        plan = solve(Shot("made", puppet=puppet, walk=Walk(6, share * puppet.legs[0].straight_mm, poses, hips=Hips())))
        duty = (plan.footing.last - plan.footing.first) / (2 * poses)
        assert np.all((duty > 0.57) & (duty < 0.66))
        bend = np.diff(plan.hip_line_mm, 2)
        assert np.abs(bend).max() < 2.5 * np.sqrt(np.mean(bend**2))
