"""How long it takes to tell what a puppet's joints carry, in processor time a pose of a walk of some 5,000 poses.

Run by name: `python tests/benchmarks/bench_weight.py` prints a table; `pytest tests/benchmarks/bench_weight.py` asserts
the goal for what every pose needs: centres of mass, area of support and its margin, and torques. Shares of several feet
and the rig's lift are small linear programs on top, for the poses that ask for them.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from striderule.check.weight.centres import parts_of
from striderule.check.weight.load import standing_of, weigh
from striderule.check.weight.sharing import moments_nmm
from striderule.check.weight.support import margin_mm, soles_of
from striderule.check.weight.ties import ties_of
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.weight import Holding
from striderule.solve import solve
from striderule.solve.plan import Plan

MOST_US_A_POSE = 10.0
HOLDS = Holding(220, 140, 160, 140, 60)


def plans(name: str, count: int) -> list[Plan]:
    """Equal plans of a long walk, each new, with axes of parts worked out: they are the solve's."""
    shot = load_shot(starter_paths()[name])
    legs = tuple(replace(leg, holding=HOLDS) for leg in shot.puppet.legs)
    shot = replace(shot, walk=replace(shot.walk, steps=800), puppet=replace(shot.puppet, legs=legs))
    made = [solve(shot) for _ in range(count)]
    for plan in made:
        _ = plan.foot_axes, plan.toe_axes, plan.thigh_axes, plan.tie_mm, plan.chest_axes, plan.head_axes
        _ = plan.arms, plan.loose
    return made


def torques(plan: Plan) -> None:
    """Everything but shares and lifts: one foot carries all."""
    parts = parts_of(plan)
    assert parts is not None
    standing = standing_of(plan, parts, ties_of(plan))
    push = np.zeros((plan.poses, len(plan.legs), 3))
    push[:, 0, 0] = parts.whole_n
    moments_nmm(standing, push)
    margin_mm(soles_of(plan), parts.centre_mm[:, :2])


def shares(plan: Plan) -> None:
    weigh(plan)


def lifts(plan: Plan) -> None:
    weight = weigh(plan)
    assert weight is not None
    _ = weight.lift


def us_a_pose(work: Callable[[Plan], None], name: str) -> float:
    """The quickest of five."""
    took: list[float] = []
    for plan in plans(name, 5):
        begin = time.process_time()
        work(plan)
        took.append((time.process_time() - begin) / plan.poses * 1e6)
    return min(took)


@pytest.mark.parametrize("name", ["heron", "lamplighter"])
def test_torques_centres_and_margins_take_at_most_ten_microseconds_a_pose(name: str) -> None:
    assert us_a_pose(torques, name) <= MOST_US_A_POSE


def main() -> None:
    print("microseconds of processor time a pose     torques   with shares   with the rig")
    for name in ("heron", "heron-burdened", "lamplighter", "tapir"):
        print(f"{name:38}" + "".join(f"{us_a_pose(work, name):13.1f}" for work in (torques, shares, lifts)))


if __name__ == "__main__":
    main()
