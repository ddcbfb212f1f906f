"""What forbids a walk that nothing fits: the joints past their stops, and what the puppet would need."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..check import findings_of
from ..check.limits import LEAST_GAP_MM, ROUNDING_DEG, excesses
from ..solve.plan import Plan

JOINTS = {
    "hip_swing": "hip swing",
    "hip_out": "hip sideways",
    "knee": "knee",
    "hock": "hock",
    "ankle": "ankle",
    "toe": "toe joint",
}


@dataclass(frozen=True)
class Need:
    """leg, joint: what forbids the walk; joint "" where it is no joint. has, needs: its stop or length now and as the
    walk would need it. pose: the worst, from 1. text: a sentence for a person."""

    leg: str
    joint: str
    has: float
    needs: float
    unit: str
    pose: int
    text: str


def needs_of(plan: Plan) -> tuple[Need, ...]:
    """Every joint that is past a stop in the plan, and every leg that is too short, in the puppet's order; what else is
    impossible follows, as the checks say it."""
    found: list[Need] = []
    for index, leg in enumerate(plan.shot.puppet.legs):
        gap = plan.gap_mm[:, index]
        if gap.max() > LEAST_GAP_MM:
            pose = int(np.argmax(np.round(gap, 6))) + 1
            has = leg.bones_mm
            needs = np.ceil((has + float(gap.max())) * 10) / 10
            found.append(Need(leg.name, "knee", has, float(needs), "mm", pose, (
                f"{leg.name.capitalize()} leg is too short in pose {pose}: straight, hip to ankle, it is {has:.1f} mm "
                f"and would need {needs:.1f} mm.")))  # fmt: skip
    for one in excesses(plan):
        reached = plan.gap_mm[:, one.leg] <= LEAST_GAP_MM
        amount = np.where(reached, one.amount_deg, 0.0)
        most = float(amount.max())
        if most <= ROUNDING_DEG:
            continue
        pose = int(np.argmax(np.round(amount, 6))) + 1
        name = plan.legs[one.leg]
        angle = float(getattr(plan, f"{one.joint}_deg")[pose - 1, one.leg])
        needs = float(np.floor(angle * 10) / 10 if angle < one.bound_deg else np.ceil(angle * 10) / 10)
        found.append(Need(name, one.joint, one.bound_deg, needs, "deg", pose, (
            f"{name.capitalize()} {JOINTS[one.joint]} forbids it in pose {pose} ({one.words}): its stop is at "
            f"{one.bound_deg:g} degrees and would need to be at {needs:g}.")))  # fmt: skip
    if not found:
        found = [
            Need(one.leg, one.joint, 0.0, one.number, one.unit, one.first, one.text)
            for one in findings_of(plan, with_cures=False)
            if one.severity == "impossible"
        ]
    return tuple(found)
