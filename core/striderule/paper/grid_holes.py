"""The holes of a stage's grid on paper: where they are, what they are called, which one a tie-down sits over."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.stage import HoleGrid

Floats = npt.NDArray[np.float64]

OVER_HOLE_MM = 1.5
"""A tie-down so near to a hole is over it (common practice, no source)."""


@dataclass(frozen=True)
class Hole:
    """A hole that can be used, mm from the datum."""

    name: str
    x: float
    y: float


def hole_name(i: int, j: int) -> str:
    """As holes are counted on set from the one at the origin: along the rows, then to their left or right: "12L1"."""
    return f"{i}{'R' if j < 0 else 'L'}{abs(j)}"


def holes_in(grid: HoleGrid, low: Floats, high: Floats) -> list[Hole]:
    """All holes in the box from low (2,) to high (2,)."""
    corners = np.array([(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])])
    counts = _in_pitches(grid, corners)
    first, last = np.floor(counts.min(axis=0)).astype(int), np.ceil(counts.max(axis=0)).astype(int)
    gone = {(int(i), int(j)) for i, j in grid.missing}
    found: list[Hole] = []
    for i in range(int(first[0]), int(last[0]) + 1):
        for j in range(int(first[1]), int(last[1]) + 1):
            x, y = _place(grid, i, j)
            if (i, j) not in gone and low[0] <= x <= high[0] and low[1] <= y <= high[1]:
                found.append(Hole(hole_name(i, j), x, y))
    return found


def names_at(grid: HoleGrid, places_mm: Floats) -> tuple[str, ...]:
    """The hole's name under each place (n, 2); "" where none is within OVER_HOLE_MM."""
    gone = {(int(i), int(j)) for i, j in grid.missing}
    names: list[str] = []
    for place, (a, b) in zip(places_mm.tolist(), np.floor(_in_pitches(grid, places_mm) + 0.5).tolist(), strict=True):
        i, j = int(a), int(b)
        x, y = _place(grid, i, j)
        near = math.hypot(place[0] - x, place[1] - y) <= OVER_HOLE_MM and (i, j) not in gone
        names.append(hole_name(i, j) if near else "")
    return tuple(names)


def _axes(grid: HoleGrid) -> Floats:
    turn = math.radians(grid.angle_deg)
    return np.array(((math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))))


def _in_pitches(grid: HoleGrid, places_mm: Floats) -> Floats:
    return (places_mm - np.array(grid.origin_mm)) @ _axes(grid).T / grid.pitch_mm


def _place(grid: HoleGrid, i: int, j: int) -> tuple[float, float]:
    x, y = (np.array(grid.origin_mm) + grid.pitch_mm * (np.array((i, j)) @ _axes(grid))).tolist()
    return x, y
