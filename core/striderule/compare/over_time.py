"""How walks go over time: each quantity as one number a pose, against seconds from the first frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..check.weight.load import weigh
from ..solve.plan import Plan
from .rows import moves_mm

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Quantity:
    """of: Plan -> (poses,) numbers, NaN where a pose has none. load: a caution stands beside it."""

    title: str
    unit: str
    of: Callable[[Plan], Floats]
    load: bool = False


@dataclass(frozen=True, eq=False)
class Curve:
    """One walk's quantity. seconds (n,) at which each pose begins, values (n,), contact (n,) whether it is one."""

    seconds: Floats
    values: Floats
    contact: npt.NDArray[np.bool_]


def _hip_height(plan: Plan) -> Floats:
    return plan.hip_line_mm


def _spacing(plan: Plan) -> Floats:
    return np.concatenate(([np.nan], moves_mm(plan)))


def _load(plan: Plan) -> Floats:
    weight = weigh(plan)
    return weight.worst if weight is not None and weight.measured else np.full(plan.poses, np.nan)


QUANTITIES: tuple[Quantity, ...] = (
    Quantity("hip line over the floor", "mm", _hip_height),
    Quantity("move of the reference point since the pose before", "mm", _spacing),
    Quantity("what the joint that is loaded most carries", "times what it holds", _load, load=True),
)
"""What a comparison shows over time, from top to bottom; one that no walk has is left out."""


def curve_of(plan: Plan, quantity: Quantity) -> Curve:
    """A quantity of a plan at those poses that have it; empty where none has."""
    values = quantity.of(plan)
    there = np.isfinite(values)
    seconds = (plan.first_frame - 1).astype(float) / float(plan.shot.rate)
    contact = np.array([key == "contact" for key in plan.keys])
    return Curve(seconds[there], values[there], contact[there])
