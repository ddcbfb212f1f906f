"""The points of a puppet whose ways through the poses are looked at: drawn as arcs, and checked for breaks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from ..solve.plan import Plan

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Traced:
    """One point through all poses. kind: one of model.shot.ARC_POINTS. words: how people call it. leg: index, or -1.
    side: +1 left of the midline, -1 right, 0 on it. places_mm: (P, 3)."""

    kind: str
    words: str
    leg: int
    side: int
    places_mm: Floats


def traced_points(plan: Plan, kinds: tuple[str, ...]) -> Iterator[Traced]:
    """Points of these kinds, in the puppet's order; what a puppet has not is left out."""
    puppet = plan.shot.puppet
    places = {"hip": plan.hip_mm, "knee": plan.knee_mm, "ankle": plan.ankle_mm, "toe": plan.toe_mm}
    for kind in (kind for kind in places if kind in kinds):
        for i, leg in enumerate(puppet.legs):
            if kind != "toe" or leg.toe_mm > 0:
                yield Traced(kind, f"{leg.name} {kind}", i, leg.outward_side, places[kind][:, i])
    if "hand" in kinds:
        for arm, had in zip(puppet.arms, plan.arms, strict=True):
            yield Traced("hand", f"{_words(arm.name)} hand", -1, arm.outward_side, had.hand_mm)
    if "head" in kinds and puppet.has_part("head"):
        yield Traced("head", "head", -1, 0, plan.on_part("head", np.array(head_middle_mm(puppet))))
    if "loose" in kinds:
        for one, where in zip(puppet.loose, plan.loose, strict=True):
            yield Traced("loose", f"{_words(one.name)} end", -1, int(np.sign(one.end_mm[1])), where.end_mm)


def head_middle_mm(puppet: Puppet) -> Floats:
    """(3,) the middle of what hangs on the head, from the body's centre in the zero pose; its neck where nothing
    does."""
    points: list[tuple[float, float, float]] = []
    for shape in puppet.shapes:
        if shape.part == "head":
            points += [end for end in (shape.centre_mm, shape.from_mm, shape.to_mm) if end is not None]
    if not points:
        return np.array(puppet.body.neck_mm)
    ends = np.array(points)
    return 0.5 * (ends.min(axis=0) + ends.max(axis=0))


def _words(name: str) -> str:
    return name.replace("_", " ")
