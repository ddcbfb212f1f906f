"""How things move from pose to pose: knees that pop or jump, landings, moves too small to set or too large to read."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from ..solve.plan import FootState, Plan
from .codes import CODES
from .finding import Cure, Finding
from .limits import HAND_MM
from .runs import finding_of

Floats = npt.NDArray[np.float64]

POP_DEG = 8.0
"""Least bend of a standing knee: nearer to straight, 1 mm of hip turns the knee by 10 degrees."""

JUMP_DEG = 12.0
"""Greatest change of the knee over a flat foot from pose to pose, where a step has JUMP_POSES poses or more."""

JUMP_POSES = 6


def spacing_findings(plan: Plan) -> tuple[Finding, ...]:
    """knee-pop, knee-jump, landing-slow, move-below-hand, reference-strobes."""
    return (*_knees(plan), *_landing(plan), *_reference(plan))


def _knees(plan: Plan) -> tuple[Finding, ...]:
    found: list[Finding] = []
    touching = (plan.state != FootState.AIR) & (plan.gap_mm <= 1e-6)
    flat = plan.state == FootState.PLANTED
    for index, leg in enumerate(plan.legs):
        bend = plan.knee_deg[:, index]
        # A knee past its own stop is told of as such.
        least = plan.shot.puppet.legs[index].knee_range_deg[0]
        straight = touching[:, index] & (bend < POP_DEG - 0.01) & (bend >= least - 0.01)
        found += finding_of("knee-pop", straight, -bend, "deg",
                            f"The {leg} knee is nearly straight while it stands in {{poses}}: {{number}} degrees in "
                            "pose {worst}, where 1 mm of hip shows as a pop.",
                            leg=leg, joint="knee", number=bend)  # fmt: skip
        if plan.shot.walk.poses_per_step < JUMP_POSES:
            continue
        change = np.abs(np.diff(bend, prepend=bend[:1]))
        jumps = np.zeros(plan.poses, dtype=bool)
        jumps[1:] = flat[1:, index] & flat[:-1, index] & (change[1:] > JUMP_DEG)
        found += finding_of("knee-jump", jumps, change, "deg",
                            f"The {leg} knee over its flat foot changes by {{number}} degrees into pose {{worst}} "
                            f"({{poses}}); {JUMP_DEG:g} read as smooth.", leg=leg, joint="knee")  # fmt: skip
    return tuple(found)


def _landing(plan: Plan) -> tuple[Finding, ...]:
    walk = plan.shot.settled_walk
    n, p, off = walk.poses_per_step, walk.passing_pose, walk.lift_off_poses
    assert p is not None
    assert off is not None
    if walk.landing != "heavy" or n - p <= p - off:
        return ()
    later = math.ceil((n + off) / 2)
    cures = ()
    if later <= n - 1:
        cures = (Cure("walk.passing_pose", later, f"passing at pose {later} of the step ({later - p} later)"),)
    text = (
        f"The landing is heavy, but the foot has {n - p} poses after passing and {p - off} before: it leaves fast "
        "and lands slowly."
    )
    return (
        Finding("landing-slow", CODES["landing-slow"].severity, text, number=float(n - p - (p - off)), unit="poses",
                cures=cures),
    )  # fmt: skip


def reference_moves(plan: Plan) -> Floats:
    """(poses,) how far the reference point moves over the floor into each pose, mm; 0 for the first."""
    moves = np.linalg.norm(np.diff(plan.reference_mm - plan.floor_shift_mm, axis=0), axis=1)
    return np.concatenate(([0.0], moves))


def _reference(plan: Plan) -> tuple[Finding, ...]:
    moves = reference_moves(plan)
    name = plan.shot.puppet.body.reference_name
    tiny = (moves > 1e-6) & (moves < HAND_MM)
    widths = [width for leg in plan.shot.puppet.legs for width in (leg.thigh_width_mm, leg.shank_width_mm) if width]
    limb = max(widths) if widths else math.inf
    n = plan.shot.walk.poses_per_step
    smallest = float(moves[tiny].min()) if tiny.any() else 0.0
    few = max(2, int(n * smallest / HAND_MM))
    fewer = (Cure("walk.poses_per_step", few, f"{few} poses a step"),) if few < n else ()
    along = float(moves.max())
    more = math.ceil(n * along / limb) if math.isfinite(limb) else n
    return (
        *finding_of("move-below-hand", tiny, -moves, "mm",
                    f"The {name} moves by only {{number}} mm into pose {{worst}} ({{poses}}): hands set "
                    f"{HAND_MM:g} mm.",
                    number=moves, cures=fewer),
        *finding_of("reference-strobes", moves > limb, moves, "mm",
                    f"The {name} moves by {{number}} mm into pose {{worst}} ({{poses}}), more than a limb is wide "
                    f"({limb:g} mm): it strobes.",
                    cures=(Cure("walk.poses_per_step", more, f"{more} poses a step"),)),
    )  # fmt: skip
