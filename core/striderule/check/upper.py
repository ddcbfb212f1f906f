"""Chest, head and arms: what a walk asks of their joints and cannot have."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from ..model.fields import Pair
from ..solve.plan import Plan
from .finding import Finding
from .limits import ROUNDING_DEG
from .runs import finding_of

Floats = npt.NDArray[np.float64]

_TRUNK = (("turned too far to its right", "turned too far to its left"), ("leaning too far back",
          "leaning too far forward"), ("tilted too far to its left", "tilted too far to its right"))  # fmt: skip
_ARM = (("swung too far back", "swung too far forward"), ("too far in", "too far out"),
        ("too straight at the elbow", "too bent at the elbow"))  # fmt: skip


def upper_findings(plan: Plan) -> tuple[Finding, ...]:
    """waist-past-stop, neck-past-stop, arm-past-stop: one finding for each stop. The plan itself stays inside them; the
    finding says how much of what was asked is missing."""
    return (*_trunk(plan), *_arms(plan))


def _trunk(plan: Plan) -> Iterator[Finding]:
    body = plan.shot.puppet.body
    for joint, carried in (("waist", "chest"), ("neck", "head")):
        limits = body.limits_deg(joint)
        if not any(limits):
            continue
        asked: Floats = getattr(plan.upper, f"{joint}_asked_deg")
        for i, words in enumerate(_TRUNK):
            limit = limits[i]
            if limit is not None:
                what = f"The {carried} cannot stay as the walk asks: its {joint} would be {{words}} in {{{{poses}}}}"
                yield from _stops(f"{joint}-past-stop", asked[:, i], limit, words, what, joint)


def _arms(plan: Plan) -> Iterator[Finding]:
    if plan.arm_angles is None:
        return
    for a, arm in enumerate(plan.shot.puppet.arms):
        limits = (arm.limits.swing_deg, arm.limits.out_deg, arm.limits.elbow_deg)
        for i, words in enumerate(_ARM):
            what = f"{arm.name.replace('_', ' ').capitalize()} would be {{words}} in {{{{poses}}}}"
            yield from _stops("arm-past-stop", plan.arm_angles.asked_deg[:, a, i], limits[i], words, what, arm.name)


def _stops(code: str, asked: Floats, limits: Pair, words: tuple[str, str], what: str, joint: str) -> Iterator[Finding]:
    for low, stop, word in ((True, limits[0], words[0]), (False, limits[1], words[1])):
        beyond = stop - asked if low else asked - stop
        text = what.format(words=word) + (
            f", {{number}} degrees past its stop at {stop:g} in pose {{worst}}; it goes as far as it can."
        )
        yield from finding_of(code, beyond > ROUNDING_DEG, np.maximum(beyond, 0.0), "deg", text, joint=joint)
