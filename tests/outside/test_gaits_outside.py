"""Four legs against the literature of gaits: Hildebrand's phases, and when a walk on four legs cannot fall."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, MultiPoint

from striderule.errors import ModelError
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import FootState, Plan, solve

POSES = 40
"""A step; 1 pose is an eightieth of a stride."""


def tapir(**values: object) -> Plan:
    shot = load_shot(starter_paths()["tapir"])
    fresh = {"steps": 8, "poses_per_step": POSES, "gait": None, **values}
    return solve(replace(shot, walk=replace(shot.walk, **fresh)))


def landings(plan: Plan, leg: str) -> np.ndarray:
    return plan.footing.first[plan.footing.leg == plan.legs.index(leg)]


@pytest.mark.parametrize(
    ("gait", "phase"), [("pace", 0.0), ("lateral-sequence", 0.25), ("trot", 0.5), ("diagonal-sequence", 0.75)]
)
def test_a_fore_foot_lands_its_gait_s_share_of_a_stride_after_the_hind_foot_of_its_side(gait: str, phase: float):
    """Hildebrand, Science 150 (1965) 701, from memory: phase = share of a stride by which the fore footfall follows the
    hind one of the same side; left and right of a pair are half a stride apart; duty above .5 is a walk."""
    plan = tapir(gait=gait, duty=0.7)
    stride = 2 * POSES
    for side, other in (("left", "right"), ("right", "left")):
        hind, fore = landings(plan, f"hind_{side}"), landings(plan, f"fore_{side}")
        assert (fore[0] - hind[0]) % stride / stride == phase
        assert (landings(plan, f"hind_{other}")[0] - hind[0]) % stride / stride == 0.5
        np.testing.assert_array_equal(np.diff(hind), stride)
        np.testing.assert_array_equal(np.diff(fore), stride)
    stance = plan.footing.last - plan.footing.first
    np.testing.assert_allclose(stance / stride, 0.7)


@pytest.mark.parametrize("poses", [4, 5, 6, 7, 8, 9, 12, 15])
@pytest.mark.parametrize("duty", [0.75, 0.8])
def test_at_three_quarters_three_feet_stand_in_every_pose_and_no_stance_is_rounded_shorter(poses: int, duty: float):
    """A creep lifts one foot at a time: duty of 3/4 or more (McGhee & Frank, Math. Biosci. 3 (1968) 331, from
    memory)."""
    if (poses, duty) == (4, 0.8):  # a foot would have no pose in the air
        with pytest.raises(ModelError, match=r"walk.duty: expected at most 0.75 in steps of 4 poses"):
            tapir(poses_per_step=poses, duty=duty)
        return
    plan = tapir(poses_per_step=poses, duty=duty, phase=0.25)
    assert (plan.footing.last - plan.footing.first >= duty * 2 * poses - 1e-9).all()
    if duty == 0.75:
        assert (plan.state != FootState.AIR).sum(axis=1).min() >= 3


def margin(plan: Plan) -> float:
    """Longitudinal stability margin as a share of a stride: how far the middle of the hips, wherever it is carried
    between the feet, stays inside the feet that stand, along the track; -1 where it falls to a side."""
    foot = plan.footing
    ahead, behind = [], []
    for pose in range(3 * POSES, 5 * POSES):
        standing = (foot.first <= pose) & (foot.last >= pose)
        hull = MultiPoint(foot.place_mm[standing, :2]).convex_hull
        along = np.array(hull.intersection(LineString([(-1e4, 0), (1e4, 0)])).coords)[:, :1]
        if not len(along):  # all that stand are on one side
            return -1.0
        body = plan.hip_mm[pose, :, 0].mean()
        ahead.append(along.max() - body)
        behind.append(body - along.min())
    return 0.5 * (min(ahead) + min(behind)) / (2 * (plan.shot.settled_walk.step_mm or 0))


@pytest.mark.parametrize("duty", [0.75, 0.775, 0.8, 0.85, 0.9])
def test_a_creep_is_as_stable_as_its_duty_is_above_three_quarters(duty: float):
    """The best phase is 1 - duty, its margin duty - 3/4 of a stride, zero at exactly 3/4 (McGhee & Frank 1968, from
    memory; hulls by shapely). A foot still touches in the last pose of its stance: one pose, an eightieth, more."""
    assert margin(tapir(duty=duty, phase=1.0 - duty)) == pytest.approx(duty - 0.75 + 0.5 / POSES, abs=1e-3)


@pytest.mark.parametrize("phase", [0.1, 0.18, 0.32, 0.4])
def test_no_other_phase_is_more_stable(phase: float):
    best = margin(tapir(duty=0.8, phase=0.2))
    assert margin(tapir(duty=0.8, phase=phase)) < best - 0.005
