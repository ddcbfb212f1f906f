"""Feet on their footfalls, seen from above: the corners of their soles and the points where they are tied down."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.puppet import Leg
from .rotations import foot_axes

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]


def sole_corners_mm(legs: tuple[Leg, ...]) -> Floats:
    """(L, 4, 2) corners of each leg's flat sole from the ankle: ahead, left; anticlockwise from the back right one."""
    return np.array(
        [
            [(x, y) for x, y in ((-leg.heel_behind_mm, -half), (front, -half), (front, half),
                                 (-leg.heel_behind_mm, half))]
            for leg in legs
            for half, front in [(0.5 * leg.sole_width_mm, leg.ball_ahead_mm + leg.toe_mm)]
        ]
    )  # fmt: skip


def ties_mm(legs: tuple[Leg, ...]) -> Floats:
    """(L, 2) each leg's tie-down point on the flat sole from the ankle: ahead, left."""
    return np.array([leg.tie_mm for leg in legs], dtype=np.float64)


def from_above(points_mm: Floats, heading_rad: Floats, pitch_rad: Floats, roll_rad: Floats) -> Floats:
    """(F, 2) or (F, n, 2) points of soles, ahead and left of their ankles, as offsets along the stage's axes."""
    plane = foot_axes(heading_rad, pitch_rad, roll_rad)[:, :2, :2]
    if points_mm.ndim == 2:
        return np.einsum("fij,fj->fi", plane, points_mm)
    return np.einsum("fij,fnj->fni", plane, points_mm)
