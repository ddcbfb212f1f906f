"""Arcs that break, and poses in which nothing moves as far as hands can set."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..solve.plan import FootState, Plan
from .finding import Finding
from .limits import HAND_MM
from .runs import finding_of
from .traced import Traced, traced_points

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

LEAST_POSES = 4
"""In steps of fewer poses every point turns about in every pose: there is no arc to break."""

BREAK_MM = 3.0 * HAND_MM
"""Least distance of a pose from the arc of its neighbours that an eye sees as a break (common practice, no source)."""

BREAK_SHARE = 0.15
"""And the least share of the moves around it: a point that goes far may be further from its arc."""

_AGAINST = -0.3
"""Cosine of the angle between two bends of which one goes against the other."""

_CHECKED = ("hip", "knee", "ankle", "toe", "hand", "head")
STANDS_MM = 1e-3
"""Below this a move is arithmetic: the pose is held on purpose."""


def arc_findings(plan: Plan) -> tuple[Finding, ...]:
    """arc-breaks, one finding a point, and moves-below-hand."""
    return (*_breaks(plan), *_too_small(plan))


def _breaks(plan: Plan) -> tuple[Finding, ...]:
    if plan.poses < 5 or min(one.poses_per_step for one in plan.shot.laid_out.kinds) < LEAST_POSES:
        return ()
    found: list[Finding] = []
    points = tuple(traced_points(plan, _CHECKED))
    every, broken = off_the_arc(np.stack([point.places_mm for point in points], axis=1))
    for k in np.flatnonzero(broken.any(axis=0)).tolist():
        point, away = points[k], every[:, k]
        mask = broken[:, k] & ~_at_contact(plan, point)
        text = (
            f"The arc of the {point.words} breaks in {{poses}}: it is {{number}} mm off the arc through its "
            "neighbours in pose {worst}."
        )
        leg = plan.legs[point.leg] if point.leg >= 0 else ""
        found += finding_of("arc-breaks", mask, away, "mm", text, leg=leg, joint=point.kind)
    return tuple(found)


def off_the_arc(places_mm: Floats) -> tuple[Floats, Flags]:
    """How far each of the places (P, ..., 3) is off the arc through its two neighbours on either side, mm, and where it
    breaks that arc, (P, ...), (P, ...).

    A bend is what a place lies off the middle of its neighbours. On an arc bends turn little from pose to pose; a pose
    that sticks out bends one way and both its neighbours the other. A third of what its bend differs from the mean of
    theirs is how far it sticks out.
    """
    away, mask = np.zeros(places_mm.shape[:-1]), np.zeros(places_mm.shape[:-1], dtype=bool)
    if len(places_mm) < 5:
        return away, mask
    moved = places_mm[1:] - places_mm[:-1]
    bend = moved[:-1] - moved[1:]
    before, here, after = bend[:-2], bend[1:-1], bend[2:]
    away[2:-2] = _length(here - 0.5 * (before + after)) / 3.0
    size, moves = _length(bend), _length(moved)
    along = np.einsum("...i,...i->...", bend[1:], bend[:-1])
    turned = along < _AGAINST * size[1:] * size[:-1]
    around = 0.5 * (moves[1:-2] + moves[2:-1])
    mask[2:-2] = turned[:-1] & turned[1:] & (away[2:-2] > np.maximum(BREAK_MM, BREAK_SHARE * around))
    return away, mask


def _length(vectors: Floats) -> Floats:
    """Lengths (...,) of vectors (..., 3); several times faster than numpy's norm."""
    return np.sqrt(np.einsum("...i,...i->...", vectors, vectors))


def _at_contact(plan: Plan, point: Traced) -> Flags:
    """(P,) True where a foot lands, leaves the floor or begins to turn on it: knee, ankle and toe have corners there by
    their nature. Not for points that no foot stops."""
    near = np.zeros(plan.poses, dtype=bool)
    if point.kind not in ("knee", "ankle", "toe"):
        return near
    state = plan.state[:, point.leg]
    changes = np.flatnonzero(state[1:] != state[:-1])
    air = state == int(FootState.AIR)
    lands = np.flatnonzero(air[1:] != air[:-1])
    for poses, reach in ((changes, (0, 1)), (lands, (-1, 0, 1, 2))):
        for k in reach:
            near[np.clip(poses + k, 0, plan.poses - 1)] = True
    return near


def largest_moves(plan: Plan) -> Floats:
    """(P,) the largest move into each pose of any point of the puppet, mm; 0 for the first."""
    count = plan.poses
    points = [plan.reference_mm[:, None], plan.hip_mm, plan.knee_mm, plan.ankle_mm, plan.heel_mm, plan.ball_mm,
              plan.toe_mm]  # fmt: skip
    if plan.shot.puppet.has_part("chest"):
        points.append(plan.neck_mm[:, None])
    points += [places[:, None] for arm in plan.arms for places in (arm.shoulder_mm, arm.elbow_mm, arm.hand_mm)]
    points += [point.places_mm[:, None] for point in traced_points(plan, ("head", "loose"))]
    moves = np.zeros(count)
    moves[1:] = _length(np.diff(np.concatenate(points, axis=1), axis=0)).max(axis=1)
    return moves


def _too_small(plan: Plan) -> tuple[Finding, ...]:
    moves = largest_moves(plan)
    small = (moves > STANDS_MM) & (moves < HAND_MM)
    text = (
        f"Nothing moves as far as hands can set ({HAND_MM:g} mm) in {{poses}}, {{number}} mm at most in pose "
        "{worst}: hold, or drop a pose."
    )
    return finding_of("moves-below-hand", small, -moves, "mm", text, number=moves)
