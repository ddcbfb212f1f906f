"""Which of the puppet's parts lie before which others, as a camera sees them.

The puppet is cut into units: every leg, and of body, chest and head what crosses the midline and what lies on either
side of it (an arm, a wing, something carried). What two upright planes along the midline part can hide each other one
way only, so the side that the camera is on gives the order, and it holds for every pose that is seen from that side
(Schumacker and others, Study for applying computer-generated images to visual simulation, 1969, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.sides import camera_sides
from ..camera.solids import Solid
from ..model.view import View
from ..solve.plan import Plan

Floats = npt.NDArray[np.float64]

_TRUNK = ("body", "chest", "head")
_LEVEL = -0.05
"""Cosine of the camera's direction and that from one part of the trunk to the next, from which on the next one lies
before it: a part that is level with the last one is drawn before it."""


@dataclass(frozen=True)
class Unit:
    """What is drawn as one outline. leg: -1 for the trunk. solids: indices of its solids."""

    name: str
    leg: int
    part: str
    side: int
    across_mm: float
    solids: tuple[int, ...]


class Stacking:
    """The units of a plan's puppet and, for every pose, their order in one view."""

    def __init__(self, plan: Plan, view: View, solids: Sequence[Solid]) -> None:
        self.units = _units(plan, solids)
        sides = camera_sides(plan, view)
        higher = _higher(plan, view, solids)
        seen, which = np.unique(np.column_stack([sides, higher]), axis=0, return_inverse=True)
        self._which: list[int] = which.reshape(-1).tolist()
        self._orders = [self._order(int(row[0]), dict(zip(_TRUNK, row[1:].tolist(), strict=True))) for row in seen]

    def order(self, pose: int) -> tuple[Unit, ...]:
        """The units, the farthest first, as they are seen in a pose (index from 0). The same for all poses that the
        camera sees from the same side."""
        return self._orders[self._which[pose]]

    def _order(self, side: int, ranks: dict[str, float]) -> tuple[Unit, ...]:
        def nearness(unit: Unit) -> tuple[float, float, int]:
            across = unit.across_mm
            return side * across if side else -abs(across), ranks.get(unit.part, 0.0), unit.leg

        return tuple(sorted(self.units, key=nearness))


def _units(plan: Plan, solids: Sequence[Solid]) -> tuple[Unit, ...]:
    legs = plan.shot.puppet.legs
    units: list[Unit] = []
    for leg, one in enumerate(legs):
        mine = tuple(k for k, solid in enumerate(solids) if solid.leg == leg)
        units.append(Unit(f"{one.name} leg", leg, "leg", one.outward_side, one.hip_mm[1], mine))
    for part in _TRUNK:
        for side, words in ((0, part), (1, f"{part}, left"), (-1, f"{part}, right")):
            mine = tuple(k for k, one in enumerate(solids) if one.leg < 0 and one.part == part and one.side == side)
            if mine:
                across = float(np.mean([solids[k].zero_mm[1] for k in mine])) if side else 0.0
                units.append(Unit(words, -1, part, side, across, mine))
    return tuple(units)


def _higher(plan: Plan, view: View, solids: Sequence[Solid]) -> Floats:
    """(poses, 3) ranks of body, chest and head: the greater is before the smaller.

    Each is joined to the one before it, so that the direction between their middles, against the camera's, says
    which of the two hides the other; parts that are not drawn stay in their place.
    """
    body = plan.shot.puppet.body
    middles: list[Floats] = []
    for part, joint in zip(_TRUNK, ((0.0, 0.0, 0.0), body.waist_mm, body.neck_mm), strict=True):
        drawn = [one.zero_mm for one in solids if one.part == part and one.side == 0]
        middles.append(np.array(drawn or [joint], np.float64).mean(axis=0))
    heading = np.radians(plan.heading_deg)
    to_camera = -view.rotation[2]
    turned = np.stack(
        [
            np.cos(heading) * to_camera[0] + np.sin(heading) * to_camera[1],
            -np.sin(heading) * to_camera[0] + np.cos(heading) * to_camera[1],
            np.full(len(heading), to_camera[2]),
        ],
        axis=1,
    )
    ranks = np.zeros((len(heading), 3))
    for k, weight in ((1, 1.0), (2, 0.5)):
        way = middles[k] - middles[k - 1]
        before = turned @ way >= _LEVEL * float(np.linalg.norm(way))
        ranks[:, k] = ranks[:, k - 1] + np.where(before, weight, -weight)
    return ranks
