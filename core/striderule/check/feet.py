"""Feet that are where a foot cannot be: inside another, under the floor, or none on it; and feet that nothing holds."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..model.puppet import Leg
from ..solve.plan import FootState, Plan
from ..solve.rotations import foot_axes
from .finding import Finding
from .runs import finding_of

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

GAP_MM = 1.5
"""Least gap between two soles, seen from above."""

FLOOR_MM = 0.05
"""A foot may lie this far under the floor before it counts: far below what a hand can set."""


def feet_findings(plan: Plan) -> tuple[Finding, ...]:
    """soles-overlap, soles-close, foot-under-floor, no-foot-down, nothing-tied."""
    return (*_soles(plan), *_floor(plan), *_support(plan))


def sole_outline(plan: Plan, leg: int, poses: Flags | slice = slice(None)) -> Floats:
    """(poses, 4, 2) corners of a sole seen from above, mm: back left, back right, front right, front left. poses:
    which of them, all by default.

    The toe lies as it is bent, so that the outline is that of the foot's shadow.
    """
    half = plan.shot.puppet.legs[leg].sole_width_mm / 2
    turn = [angle[poses, leg] for angle in (plan.foot_heading_deg, plan.foot_pitch_deg, plan.foot_roll_deg)]
    side = foot_axes(*np.radians(turn))[:, :2, 1] * half
    back, front = plan.heel_mm[poses, leg, :2], plan.toe_mm[poses, leg, :2]
    return np.stack((back + side, back - side, front - side, front + side), axis=1)


def outline_gap(one: Floats, other: Floats) -> Floats:
    """(poses,) mm between two convex outlines (poses, n, 2); negative = how deep they are in each other.

    By the separating axis theorem (Ericson, Real-Time Collision Detection, 2005, 5.2.1); apart, the distance is that
    of the nearest corner to the nearest edge.
    """
    gap = np.maximum(_separation(one, other), _separation(other, one))
    apart = gap > 0
    if apart.any():
        a, b = one[apart], other[apart]
        gap[apart] = np.minimum(_corner_distance(a, b), _corner_distance(b, a))
    return gap


def _separation(one: Floats, other: Floats) -> Floats:
    """(poses,) greatest gap along the normals of `one`'s edges."""
    edge = np.roll(one, -1, axis=1) - one
    length = np.maximum(np.linalg.norm(edge, axis=-1, keepdims=True), 1e-12)
    normal = np.stack((-edge[..., 1], edge[..., 0]), axis=-1) / length
    mine = np.einsum("pnd,pkd->pnk", normal, one)
    theirs = np.einsum("pnd,pkd->pnk", normal, other)
    gaps = np.maximum(theirs.min(axis=2) - mine.max(axis=2), mine.min(axis=2) - theirs.max(axis=2))
    return gaps.max(axis=1)


def _corner_distance(corners: Floats, outline: Floats) -> Floats:
    """(poses,) least distance of any corner to any edge of the outline."""
    start = outline[:, None]
    edge = np.roll(outline, -1, axis=1)[:, None] - start
    to = corners[:, :, None] - start
    along = (to * edge).sum(axis=-1) / np.maximum((edge * edge).sum(axis=-1), 1e-12)
    away = to - np.clip(along, 0.0, 1.0)[..., None] * edge
    return np.sqrt((away * away).sum(axis=-1)).min(axis=(1, 2))


def sole_gaps(plan: Plan) -> list[tuple[int, int, Floats]]:
    """(leg, other leg, (poses,) gap in mm) of every pair of soles; negative = how deep they overlap. Of soles further
    apart than GAP_MM it may be told too small, but not below that."""
    middle = 0.5 * (plan.heel_mm[..., :2] + plan.toe_mm[..., :2])
    reach = [
        0.5 * math.hypot(leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm, leg.sole_width_mm)
        for leg in plan.shot.puppet.legs
    ]
    found: list[tuple[int, int, Floats]] = []
    for one, other in combinations(range(len(plan.legs)), 2):
        away = middle[:, one] - middle[:, other]
        gap: Floats = np.sqrt((away * away).sum(axis=-1)) - (reach[one] + reach[other])
        near = gap <= GAP_MM
        if near.any():
            gap[near] = outline_gap(sole_outline(plan, one, near), sole_outline(plan, other, near))
        found.append((one, other, gap))
    return found


def _soles(plan: Plan) -> tuple[Finding, ...]:
    found: list[Finding] = []
    for one, other, gap in sole_gaps(plan):
        pair = f"{plan.legs[one]} and {plan.legs[other]} soles"
        if gap.min() < 0:
            found += finding_of("soles-overlap", gap < 0, -gap, "mm",
                                f"The {pair} overlap by {{number}} mm in {{poses}} (worst: pose {{worst}}).",
                                leg=plan.legs[one])  # fmt: skip
        else:
            found += finding_of("soles-close", gap < GAP_MM - 1e-6, GAP_MM - gap, "mm",
                                f"The {pair} come within {{number}} mm of each other in {{poses}} (nearest: pose "
                                f"{{worst}}); {GAP_MM:g} mm are wanted.", leg=plan.legs[one], number=gap)  # fmt: skip
    return tuple(found)


def _floor(plan: Plan) -> tuple[Finding, ...]:
    found: list[Finding] = []
    for index, leg in enumerate(plan.legs):
        points = plan.over_floor_mm[:, index]
        under = -points.min(axis=1)
        part = ("heel", "ball", "toe")[int(points.min(axis=0).argmin())]
        found += finding_of("foot-under-floor", under > FLOOR_MM, under, "mm",
                            f"The {leg} {part} is {{number}} mm under the floor in {{poses}} (worst: pose {{worst}}).",
                            leg=leg)  # fmt: skip
    return tuple(found)


def held(plan: Plan) -> Flags:
    """(poses, legs) True where a foot can be tied down: it lies flat, or rolls on its toe and is tied through that."""
    through_toe = np.array([tied_through_toe(leg) for leg in plan.shot.puppet.legs])
    return (plan.state == FootState.PLANTED) | ((plan.state == FootState.TOE) & through_toe)


def tied_through_toe(leg: Leg) -> bool:
    """True where the tie-down sits on the toe, ahead of the toe joint, so that it holds while the heel rises."""
    return leg.toe_mm > 0 and leg.tie_mm[0] > leg.ball_ahead_mm


def _support(plan: Plan) -> tuple[Finding, ...]:
    none_down = (plan.state == FootState.AIR).all(axis=1)
    nothing = ~held(plan).any(axis=1) & ~none_down
    ones = np.ones(plan.poses)
    return (
        *finding_of("no-foot-down", none_down, ones, "", "No foot is on the floor in {poses}."),
        *finding_of("nothing-tied", nothing, ones, "",
                    "Nothing can be tied down in {poses}: no foot lies flat there. Let the rig hold the puppet, or tie "
                    "the rolling foot through its toe."),
    )  # fmt: skip
