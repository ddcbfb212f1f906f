"""Joints beyond their stops, and feet beyond their legs' reach."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..solve.plan import FootState, Plan, Stop
from .finding import Finding
from .runs import finding_of

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

HAND_DEG = 1.0
"""Smallest turn that a hand can set, degrees (common practice, no source)."""

HAND_MM = 0.5
"""Smallest move that a hand can set, mm (common practice, no source)."""

ROUNDING_DEG = 0.01
"""Below this an excess is arithmetic, not a trouble."""

LEAST_GAP_MM = 0.05
"""Up to this a foot out of reach is told as 0.0 mm, and no hand could tell: the leg is straight, that is all."""


@dataclass(frozen=True, eq=False)
class Excess:
    """How far one joint of one leg is beyond one of its stops.

    leg: index. joint: field of the plan without _deg. bound_deg: the stop. amount_deg: (poses,), 0 inside.
    arm_mm: length of what the joint moves, to turn degrees into mm at its end. words: what is wrong with it.
    stop: the Stop that the working band knows it by (NONE for the toe).
    """

    leg: int
    joint: str
    bound_deg: float
    amount_deg: Floats
    arm_mm: float
    words: str
    stop: Stop


def excesses(plan: Plan) -> Iterator[Excess]:
    """Every stop of every joint of every leg, in the puppet's order."""
    for index, leg in enumerate(plan.shot.puppet.legs):
        limits = leg.limits
        foot = leg.ball_ahead_mm + leg.toe_mm
        whole = leg.bones_mm
        joints = (
            ("hip_swing", limits.hip_swing_deg, whole, ("thigh too far back", Stop.HIP_BACK),
             ("thigh too far forward", Stop.HIP_FORWARD)),
            ("hip_out", limits.hip_out_deg, whole, ("leg too far in", Stop.HIP_IN), ("leg too far out", Stop.HIP_OUT)),
            ("knee", leg.own_knee_deg, leg.shank_mm, ("knee too straight", Stop.KNEE_LEAST),
             ("knee bent too far", Stop.KNEE_MOST)),
            ("ankle", limits.ankle_deg, foot, ("toe too far down at the ankle", Stop.ANKLE_DOWN),
             ("toe too far up at the ankle", Stop.ANKLE_UP)),
            ("toe", limits.toe_deg, leg.toe_mm, ("toe joint too far down", Stop.NONE),
             ("toe joint too far up", Stop.NONE)),
        )  # fmt: skip
        if leg.cannon_mm is not None:
            hock = ("hock", limits.hock_deg, leg.cannon_mm, ("hock too straight", Stop.HOCK_LEAST),
                    ("hock bent too far", Stop.HOCK_MOST))  # fmt: skip
            joints = (*joints[:3], hock, *joints[3:])
        for joint, (least, most), arm, low, high in joints:
            angle: Floats = getattr(plan, f"{joint}_deg")[:, index]
            yield Excess(index, joint, least, np.maximum(least - angle, 0.0), arm, *low)
            yield Excess(index, joint, most, np.maximum(angle - most, 0.0), arm, *high)


_ONE_BEND = {
    stop: pair
    for pair in ((Stop.KNEE_LEAST, Stop.HOCK_LEAST), (Stop.KNEE_MOST, Stop.HOCK_MOST))
    for stop in pair
}  # fmt: skip
"""Stops of joints that bend together: the one that ends the band speaks for both."""


def out_of_reach(plan: Plan) -> Flags:
    """(poses, legs) True where the leg cannot reach its foot at all."""
    return plan.gap_mm > LEAST_GAP_MM


def unexplained(plan: Plan, excess: Excess) -> Flags:
    """(poses,) True where a joint is past its stop and neither reach nor hip height tells of it already."""
    mask = (excess.amount_deg > ROUNDING_DEG) & ~out_of_reach(plan)[:, excess.leg]
    return mask & ~hips_set_it(plan, excess)


def hips_set_it(plan: Plan, excess: Excess) -> Flags:
    """(poses,) True where the hips are out of their band by more than a hand can feel and this very stop sets its edge,
    or where it is one of two stops that leave no band at all."""
    band = plan.band
    if excess.stop == Stop.NONE:
        return np.zeros(plan.poses, dtype=bool)
    same = _ONE_BEND.get(excess.stop, (excess.stop,))
    sets_high = (band.highest_leg == excess.leg) & np.isin(band.highest_stop, same)
    sets_low = (band.lowest_leg == excess.leg) & np.isin(band.lowest_stop, same)
    empty = band.lowest_mm > band.highest_mm
    too_high = plan.hip_line_mm - band.highest_mm > HAND_MM
    too_low = band.lowest_mm - plan.hip_line_mm > HAND_MM
    return (sets_high & too_high) | (sets_low & too_low) | (empty & (sets_high | sets_low))


def limit_findings(plan: Plan) -> tuple[Finding, ...]:
    """joint-past-stop and joint-at-stop: one finding for each stop of each joint of each leg."""
    found: list[Finding] = []
    for excess in excesses(plan):
        if excess.amount_deg.max() <= ROUNDING_DEG:
            continue
        mask = unexplained(plan, excess)
        if not mask.any():
            continue
        leg = plan.legs[excess.leg]
        most = float(excess.amount_deg[mask].max())
        code = "joint-past-stop" if most > HAND_DEG else "joint-at-stop"
        mm = np.radians(most) * excess.arm_mm
        text = (
            f"{leg.capitalize()} {excess.words} in {{poses}}: {{number}} degrees past its stop at {excess.bound_deg:g} "
            f"in pose {{worst}} ({mm:.1f} mm at its end)."
        )
        found += finding_of(code, mask, excess.amount_deg, "deg", text, leg=leg, joint=excess.joint)
    return tuple(found)


def reach_findings(plan: Plan) -> tuple[Finding, ...]:
    """foot-out-of-reach, one finding a leg."""
    found: list[Finding] = []
    for index, leg in enumerate(plan.legs):
        touching = plan.state[:, index] != FootState.AIR
        mask = out_of_reach(plan)[:, index]
        where = "standing place" if bool((mask & touching).any()) else "place in the air"
        text = (
            f"{leg.capitalize()} leg does not reach its foot's {where} in {{poses}}: "
            "{number} mm are missing in pose {worst}."
        )
        found += finding_of("foot-out-of-reach", mask, plan.gap_mm[:, index], "mm", text, leg=leg)
    return tuple(found)
