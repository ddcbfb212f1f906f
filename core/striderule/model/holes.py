"""Where the holes of a stage's grid are, which is nearest to a place, and what a person calls them."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from .stage import HoleGrid

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

_FAR = 1 << 32
"""More holes than any stage has along a row."""


def hole_name(grid: HoleGrid, i: int, j: int) -> str:  # noqa: ARG001 (whoever asks need not know that all count alike)
    """What hole (i, j) is called on set, as it is counted there from the hole at the origin: so many holes along the
    rows, then so many to their left (L) or right (R): "12L1", "0R3", "-2L0" (2 holes behind it, on its own row).

    grid: whose hole it is; all are counted alike.
    """
    return f"{i}{'R' if j < 0 else 'L'}{abs(j)}"


def holes_mm(grid: HoleGrid, ij: Whole) -> Floats:
    """Places (..., 2) of holes (..., 2), mm from the datum."""
    return np.array(grid.origin_mm) + grid.pitch_mm * (ij @ _axes(grid))


def nearest_holes(grid: HoleGrid, places_mm: Floats) -> Whole:
    """(..., 2) the hole of the whole grid, missing ones included, that is nearest to each place (..., 2)."""
    return np.floor(_in_pitches(grid, places_mm) + 0.5).astype(np.int64)


def is_missing(grid: HoleGrid, ij: Whole) -> Flags:
    """(...,) True where a hole (..., 2) is not there or cannot be used."""
    return is_one_of(ij, np.array(grid.missing or np.zeros((0, 2))).astype(np.int64))


def is_one_of(ij: Whole, others: Whole) -> Flags:
    """(...,) True where a hole (..., 2) is one of the others (n, 2)."""
    if not len(others):
        return np.zeros(ij.shape[:-1], dtype=bool)
    return np.isin(ij[..., 0] * _FAR + ij[..., 1], others[:, 0] * _FAR + others[:, 1])


def off_holes(grid: HoleGrid, places_mm: Floats) -> tuple[Whole, Floats]:
    """The existing hole (n, 2) nearest to each place (n, 2), and how far away it is (n,) in mm."""
    reach = 1
    while True:
        ij = _around(nearest_holes(grid, places_mm), reach)
        away = np.linalg.norm(holes_mm(grid, ij) - places_mm[:, None], axis=2)
        away = np.where(is_missing(grid, ij), np.inf, away)
        best = away.argmin(axis=1)
        row = np.arange(len(places_mm))
        # nothing beyond the square that was looked at is nearer than this
        if (away[row, best] <= (reach + 0.5) * grid.pitch_mm).all() or reach > len(grid.missing) + 1:
            return ij[row, best], away[row, best]
        reach += 1


def holes_within(grid: HoleGrid, places_mm: Floats, radius_mm: float) -> tuple[Whole, Floats]:
    """Holes (n, m, 2) of the whole grid about each place (n, 2), and their distances (n, m): all within the radius, and
    some further ones."""
    ij = _around(nearest_holes(grid, places_mm), math.ceil(radius_mm / grid.pitch_mm))
    return ij, np.linalg.norm(holes_mm(grid, ij) - places_mm[:, None], axis=2)


def holes_about(grid: HoleGrid, places_mm: Floats, radius_mm: float) -> Whole:
    """The holes (n, 2) within the radius of any of the places (m, 2), missing ones included, each once, in order."""
    if not len(places_mm):
        return np.zeros((0, 2), dtype=np.int64)
    ij, away = holes_within(grid, places_mm, radius_mm)
    return np.unique(ij[away <= radius_mm], axis=0)


def _around(ij: Whole, reach: int) -> Whole:
    side = np.arange(-reach, reach + 1)
    square = np.stack(np.meshgrid(side, side, indexing="ij"), axis=-1).reshape(-1, 2)
    return ij[:, None] + square


def _axes(grid: HoleGrid) -> Floats:
    """(2, 2) rows: one pitch along the rows, one to their left."""
    angle = math.radians(grid.angle_deg)
    return np.array(((math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))))


def _in_pitches(grid: HoleGrid, places_mm: Floats) -> Floats:
    return (places_mm - np.array(grid.origin_mm)) @ _axes(grid).T / grid.pitch_mm
