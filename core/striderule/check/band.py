"""Hips outside the working band: the heights in which every joint of every touching leg stays inside its limits."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..solve.plan import Plan, Stop
from .finding import Finding
from .limits import HAND_MM, excesses, out_of_reach
from .runs import finding_of

Whole = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

NARROW_MM = 1.0
"""Narrower than this, a hand that sets the hips 0.5 mm off either way breaks a limit."""

STOP_WORDS = {
    Stop.NONE: ("", "nothing"),
    Stop.KNEE_LEAST: ("knee", "knee's least bend"),
    Stop.KNEE_MOST: ("knee", "knee's most bend"),
    Stop.HOCK_LEAST: ("hock", "hock's least bend"),
    Stop.HOCK_MOST: ("hock", "hock's most bend"),
    Stop.HIP_BACK: ("hip_swing", "hip's backward stop"),
    Stop.HIP_FORWARD: ("hip_swing", "hip's forward stop"),
    Stop.HIP_IN: ("hip_out", "hip's inward stop"),
    Stop.HIP_OUT: ("hip_out", "hip's outward stop"),
    Stop.ANKLE_DOWN: ("ankle", "ankle's toe-down stop"),
    Stop.ANKLE_UP: ("ankle", "ankle's toe-up stop"),
}
"""Stop -> (joint, words)."""


def band_findings(plan: Plan) -> tuple[Finding, ...]:
    """band-empty, hips-too-high, hips-too-low (one finding for each leg and stop that sets the edge), band-narrow."""
    band = plan.band
    width = band.highest_mm - band.lowest_mm
    seen = ~out_of_reach(plan).any(axis=1)
    empty = seen & (width < 0)
    return (
        *_empty(plan, empty, -width),
        *_beyond(plan, "hips-too-high", plan.hip_line_mm - band.highest_mm, seen & ~empty, band.highest_leg,
                 band.highest_stop),
        *_beyond(plan, "hips-too-low", band.lowest_mm - plan.hip_line_mm, seen & ~empty, band.lowest_leg,
                 band.lowest_stop),
        *finding_of("band-narrow", seen & (width >= 0) & (width < NARROW_MM), -width, "mm",
                    f"The hips have less than {NARROW_MM:g} mm of room in {{poses}}, {{number}} mm in pose {{worst}}.",
                    number=width),
    )  # fmt: skip


def _empty(plan: Plan, mask: Flags, missing: Floats) -> tuple[Finding, ...]:
    found: list[Finding] = []
    band = plan.band
    edges = np.stack((band.highest_leg, band.highest_stop, band.lowest_leg, band.lowest_stop), axis=1)
    for edge in _distinct(edges, mask):
        high_leg, high_stop, low_leg, low_stop = edge
        joint, high_words = STOP_WORDS[Stop(high_stop)]
        _, low_words = STOP_WORDS[Stop(low_stop)]
        text = (
            f"No hip height suits {{poses}}: the {plan.legs[high_leg]} {high_words} wants the hips lower, the "
            f"{plan.legs[low_leg]} {low_words} wants them higher; {{number}} mm are missing in pose {{worst}}."
        )
        here = mask & (edges == edge).all(axis=1)
        found += finding_of("band-empty", here, missing, "mm", text, leg=plan.legs[high_leg], joint=joint)
    return tuple(found)


def _beyond(plan: Plan, code: str, amount: Floats, seen: Flags, leg: Whole, stop: Whole) -> tuple[Finding, ...]:
    found: list[Finding] = []
    mask = seen & (amount > HAND_MM)
    edges = np.stack((leg, stop), axis=1)
    for edge in _distinct(edges, mask):
        index, one = edge
        joint, words = STOP_WORDS[Stop(one)]
        name = plan.legs[index]
        here = mask & (edges == edge).all(axis=1)
        worst = int(np.argmax(np.where(here, amount, -np.inf)))
        text = (
            f"Hips {{number}} mm too {code.removeprefix('hips-too-')} in {{poses}} (worst: pose {{worst}}): "
            f"the {name} {words} sets the limit{_degrees(plan, joint, index, one, worst)}."
        )
        found += finding_of(code, here, amount, "mm", text, leg=name, joint=joint)
    return tuple(found)


def _degrees(plan: Plan, joint: str, leg: int, stop: int, pose: int) -> str:
    """How far the joint itself is past that stop in the pose, as words; "" where it is inside (a free leg's fold)."""
    for excess in excesses(plan):
        if (excess.leg, excess.joint, int(excess.stop)) == (leg, joint, stop) and excess.amount_deg[pose] > 0.05:
            return f", {excess.amount_deg[pose]:.1f} degrees past its stop at {excess.bound_deg:g}"
    return ""


def _distinct(edges: Whole, mask: Flags) -> list[tuple[int, ...]]:
    """Rows of `edges` (poses, n) that occur where mask is True, in order of first appearance."""
    rows: list[list[int]] = edges[mask].tolist()
    return list(dict.fromkeys(tuple(row) for row in rows))
