"""The puppet's centre over the feet that are down: where it is, and how far inside or outside them, seen from above.

A walk whose centre stays inside never leans on its ties or its rig; whether those hold is for check/weight to say.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..solve.plan import Plan
from .finding import Finding
from .runs import finding_of
from .weight.centres import parts_of
from .weight.support import margin_mm, soles_of

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Support:
    """Per pose: the puppet's centre (P, 3) on the stage, and how far it is inside the hull of the soles that are down,
    mm (P,): outside negative, minus infinity with no foot down. weighed: the centre is that of the parts' masses; else
    not all of them are known, and the middle of the hip pivots stands for it."""

    centre_mm: Floats
    margin_mm: Floats
    weighed: bool


def support_of(plan: Plan) -> Support:
    """The centre of every pose and its margin."""
    parts = parts_of(plan)
    centre = plan.hip_mm.mean(axis=1) if parts is None else parts.centre_mm
    return Support(centre, margin_mm(soles_of(plan), centre[:, :2]), parts is not None)


def centre_findings(plan: Plan) -> tuple[Finding, ...]:
    """centre-outside, for more than two legs: two feet are never far enough apart to stand over without a tie."""
    if len(plan.legs) < 3:
        return ()
    support = support_of(plan)
    outside = np.where(np.isfinite(support.margin_mm), -support.margin_mm, 0.0)
    what = "centre of mass" if support.weighed else "centre (the middle of its hips: not all parts were weighed)"
    text = (
        f"The puppet's {what} is outside the feet that are down in {{poses}}, by {{number}} mm in pose {{worst}}: ties "
        "or a rig must hold it. With a longer duty more feet are down."
    )
    return finding_of("centre-outside", outside > 1e-6, outside, "mm", text)
