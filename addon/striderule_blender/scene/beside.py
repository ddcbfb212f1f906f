"""A shot's other walks beside the one on show: each in a lane of its own, on the same seconds, with its name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from striderule.camera.solids import solids_of
from striderule.model.variant import MAIN
from striderule.solve.plan import Plan

from .. import bridge
from . import look, marks
from .owned import OwnedSet
from .puppet import parts_of, write_part

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Beside:
    """name: the variant's, "" = the main walk; title: what is written beside it; shown: it is the one of the set, which
    stands where it is planned."""

    name: str
    title: str
    plan: Plan
    shown: bool

    @property
    def key(self) -> str:
        """What its data-blocks are called after."""
        return self.name or MAIN


def build(owned: OwnedSet, plan: Plan, walks: Sequence[Beside]) -> None:
    """Write every walk but the one on show, `plan`, from near to far to the puppet's left, and all their names."""
    if not walks:
        return
    lane, size = _lane_mm(walks), 20 * marks.size_mm(plan)
    others = 0
    for one in walks:
        aside = 0.0
        if not one.shown:
            others += 1
            aside = others * lane
            for part in parts_of(one.plan):
                write_part(owned, part, f"beside {one.key}", frames_at(one.plan, plan), f"{one.key} beside ", aside)
        _name(owned, one, aside, size)


def frames_at(plan: Plan, shown: Plan) -> Floats:
    """(P,) frames at which the poses of a walk begin in a scene that runs at the rate of another; they may lie between
    whole frames."""
    return 1.0 + (plan.first_frame - 1) * float(shown.shot.rate / plan.shot.rate)


def frames_of(walks: Sequence[Beside], shown: Plan) -> list[int]:
    """How many frames each walk lasts at the rate of the one on show."""
    return [math.ceil(one.plan.frames * shown.shot.rate / one.plan.shot.rate) for one in walks]


def reach_mm(walks: Sequence[Beside]) -> float:
    """How far to the left of the walk on show the last one stands; 0 for none."""
    return _lane_mm(walks) * (len(walks) - 1) if walks else 0.0


def _lane_mm(walks: Sequence[Beside]) -> float:
    """From one walk's track to the next: nearly twice the widest puppet, so that they can be told apart from ahead."""
    sides = []
    for one in walks:
        for solid in solids_of(one.plan):
            across = solid.centres_mm[..., 1] - one.plan.shot.stage.start_mm[1]
            sides.append(float((np.abs(across) + solid.radii_mm).max()))
    return 3.6 * max(sides)


def _name(owned: OwnedSet, one: Beside, aside: float, size: float) -> None:
    """A walk's title behind its start, upright, to be read from its right."""
    scale, role = bridge.units_per_mm(owned.scene), f"{one.key} beside name"
    words: Any = owned.get("curves", role, "FONT")
    words.body, words.size, words.align_x = one.title, size * scale, "RIGHT"
    thing = owned.thing(role, "names", words)
    x = float(one.plan.heel_mm[..., 0].min()) - size
    y = float(one.plan.shot.stage.start_mm[1]) + aside
    thing.location = (x * scale, y * scale, 0.3 * size * scale)
    thing.rotation_euler = (math.pi / 2, 0.0, 0.0)
    look.dress(thing, look.material(owned, "names", look.RULER))
