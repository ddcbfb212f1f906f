"""Which of the puppet's parts lie before which others, as a camera sees them.

The puppet is cut into units: every leg, every arm, every loose part, and of body, chest and head what crosses the
midline and what lies on either side of it (a wing, something carried). What two upright planes along the midline part
can hide each other one way only, so the side that the camera is on gives the order, and it holds for every pose that is
seen from that side (Schumacker and others, Study for applying computer-generated images to visual simulation, 1969,
from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.sides import camera_sides
from ..camera.solids import Solid
from ..model.upper import TRUNK_PARTS
from ..model.view import View
from ..solve.plan import Plan

Floats = npt.NDArray[np.float64]

_LEVEL = -0.05
"""Cosine of the camera's direction and that from one part of the trunk to the next, from which on the next one lies
before it: a part that is level with the last one is drawn before it, a loose one behind what carries it."""


@dataclass(frozen=True)
class Unit:
    """What is drawn as one outline. leg: -1 for all that is no leg. part: leg, a part of the trunk, arm.NAME or
    loose.NAME. rank: the part of the trunk by whose order it goes."""

    name: str
    leg: int
    part: str
    side: int
    across_mm: float
    solids: tuple[int, ...]
    rank: str = ""

    @property
    def limb(self) -> bool:
        """True for what moves on its own: legs, arms, loose parts."""
        return self.part not in TRUNK_PARTS


class Stacking:
    """The units of a plan's puppet and, for every pose, their order in one view."""

    def __init__(self, plan: Plan, view: View, solids: Sequence[Solid]) -> None:
        self.units = _units(plan, solids)
        sides = camera_sides(plan, view)
        names, higher = _higher(plan, view, solids)
        seen, which = np.unique(np.column_stack([sides, higher]), axis=0, return_inverse=True)
        self._which: list[int] = which.reshape(-1).tolist()
        self._orders = [self._order(int(row[0]), dict(zip(names, row[1:].tolist(), strict=True))) for row in seen]

    def order(self, pose: int) -> tuple[Unit, ...]:
        """The units, the farthest first, as they are seen in a pose (index from 0). The same for all poses that the
        camera sees from the same side."""
        return self._orders[self._which[pose]]

    def _order(self, side: int, ranks: dict[str, float]) -> tuple[Unit, ...]:
        def nearness(unit: Unit) -> tuple[float, float, int]:
            across = unit.across_mm
            return side * across if side else -abs(across), ranks.get(unit.rank, 0.0), unit.leg

        return tuple(sorted(self.units, key=nearness))


def _units(plan: Plan, solids: Sequence[Solid]) -> tuple[Unit, ...]:
    puppet = plan.shot.puppet
    units: list[Unit] = []
    for leg, one in enumerate(puppet.legs):
        mine = tuple(k for k, solid in enumerate(solids) if solid.leg == leg)
        units.append(Unit(f"{one.name} leg", leg, "leg", one.outward_side, one.hip_mm[1], mine))
    for part in TRUNK_PARTS:
        for side, words in ((0, part), (1, f"{part}, left"), (-1, f"{part}, right")):
            mine = tuple(k for k, one in enumerate(solids) if one.leg < 0 and one.part == part and one.side == side)
            if mine:
                across = float(np.mean([solids[k].zero_mm[1] for k in mine])) if side else 0.0
                units.append(Unit(words, -1, part, side, across, mine, part))
    arms = {f"arm.{arm.name}": arm for arm in puppet.arms}
    for owner, arm in arms.items():
        mine = tuple(k for k, one in enumerate(solids) if one.part.startswith(f"{owner}."))
        units.append(Unit(arm.name, -1, owner, arm.outward_side, arm.shoulder_mm[1], mine, arm.part))
    for one in puppet.loose:
        owner = f"loose.{one.name}"
        mine = tuple(k for k, solid in enumerate(solids) if solid.part == owner)
        if not mine:
            continue
        side = int(np.sign(sum(solids[k].side for k in mine)))
        carrier = arms.get(one.part.rpartition(".")[0])
        across = carrier.shoulder_mm[1] if carrier else float(np.mean([solids[k].zero_mm[1] for k in mine])) * abs(side)
        units.append(Unit(one.name, -1, owner, side, across, mine, owner))
    return tuple(units)


def _higher(plan: Plan, view: View, solids: Sequence[Solid]) -> tuple[tuple[str, ...], Floats]:
    """Parts, and (poses, parts) ranks of body, chest, head and loose parts: the greater is before the smaller.

    Each is joined to the one before it, or to what carries it, so that the direction between their middles, against the
    camera's, says which of the two hides the other; parts that are not drawn stay in their place.
    """
    puppet = plan.shot.puppet
    middles: list[Floats] = []
    joints = [(0.0, 0.0, 0.0), puppet.body.waist_mm, puppet.body.neck_mm, *(one.joint_mm for one in puppet.loose)]
    names = (*TRUNK_PARTS, *(f"loose.{one.name}" for one in puppet.loose))
    for part, joint in zip(names, joints, strict=True):
        drawn = [one.zero_mm for one in solids if one.part == part and (one.side == 0 or part not in TRUNK_PARTS)]
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
    arms = {arm.name: arm.part for arm in puppet.arms}
    carriers = [-1, 0, 1]
    for one in puppet.loose:
        kind, _, rest = one.part.partition(".")
        carriers.append(TRUNK_PARTS.index(arms[rest.partition(".")[0]] if kind == "arm" else one.part))
    ranks = np.zeros((len(heading), len(names)))
    for k, weight in enumerate((0.0, 1.0, 0.5, *[0.2] * len(puppet.loose))):
        if k:
            way = middles[k] - middles[carriers[k]]
            level = _LEVEL if k < len(TRUNK_PARTS) else -_LEVEL
            before = turned @ way >= level * float(np.linalg.norm(way))
            ranks[:, k] = ranks[:, carriers[k]] + np.where(before, weight, -weight)
    return names, ranks
