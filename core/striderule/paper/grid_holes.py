"""The holes of a stage's grid on paper: where they are, what they are called, which one a tie-down sits over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..check.limits import HAND_MM
from ..model.holes import hole_name, holes_mm, is_missing, nearest_holes, off_holes
from ..model.stage import HoleGrid

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Hole:
    """A hole that can be used, mm from the datum."""

    name: str
    x: float
    y: float


def holes_in(grid: HoleGrid, low: Floats, high: Floats) -> list[Hole]:
    """All holes in the box from low (2,) to high (2,)."""
    corners = np.array([(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])])
    around = nearest_holes(grid, corners)
    first, last = around.min(axis=0) - 1, around.max(axis=0) + 1
    (low_i, low_j), (high_i, high_j) = first.tolist(), last.tolist()
    pairs = [(i, j) for i in range(low_i, high_i + 1) for j in range(low_j, high_j + 1)]
    ij = np.array(pairs, dtype=np.int64)
    places = holes_mm(grid, ij)
    shown = ((places >= low) & (places <= high)).all(axis=1) & ~is_missing(grid, ij)
    found = zip(ij[shown].tolist(), places[shown].tolist(), strict=True)
    return [Hole(hole_name(grid, i, j), x, y) for (i, j), (x, y) in found]


def names_at(grid: HoleGrid, places_mm: Floats) -> tuple[str, ...]:
    """The hole's name under each place (n, 2); "" where none is within HAND_MM, as the checks have it."""
    ij, away = off_holes(grid, places_mm)
    pairs = zip(ij.tolist(), away.tolist(), strict=True)
    return tuple(hole_name(grid, i, j) if off <= HAND_MM + 1e-6 else "" for (i, j), off in pairs)
