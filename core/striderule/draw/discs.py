"""Exact coverage of discs and circles: the area of a disc within a pixel, from that of a disc within a quarter plane.

Circles too large for double precision areas are handed on as polylines whose sagitta is below what a byte can show.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import GeometryError
from .drawing import Dot, Ring
from .segments import Spots
from .tiles import AREA, SIDE, Floats, Grid, Singles, Whole, spread

LARGEST = 3000.0  # px: to here exact; a double holds r^2 to 1e-9 of a pixel
_SAGITTA = 0.003  # px
_MOST_CORNERS = 400_000
_CHUNK = 256
_EDGES = np.arange(SIDE + 1) - 0.5


def polygon(x: float, y: float, radius: float) -> Floats:
    """A circle as points (n, 2), not repeated at the end, that stray at most a few thousandths of a pixel from it."""
    corners = min(max(16, math.ceil(math.pi * math.sqrt(radius / (2 * _SAGITTA)))), _MOST_CORNERS)
    turn = np.arange(corners) * (2 * math.pi / corners)
    return np.column_stack((x + radius * np.cos(turn), y + radius * np.sin(turn)))


class Discs:
    """Cover of dots and rings up to radius LARGEST. Four radii each: hole of the core, core, hole of the halo, halo."""

    def __init__(self, marks: Sequence[tuple[int, Dot | Ring]], spots: Spots, grid: Grid) -> None:
        rows: list[tuple[float, ...]] = []
        for item, mark in marks:
            half = mark.ink.width / 2 if isinstance(mark, Ring) else 0.0
            hole = mark.radius - half if isinstance(mark, Ring) else 0.0
            numbers = (mark.x, mark.y, mark.radius, half, mark.ink.halo)
            if not all(math.isfinite(one) for one in numbers) or min(mark.radius, half, mark.ink.halo) < 0:
                raise GeometryError(
                    f"A circle's place, radius, width and halo must be finite and not negative, given {numbers}."
                )
            edge = mark.radius + half
            rows.append((mark.x, mark.y, hole, edge, hole - mark.ink.halo, edge + mark.ink.halo, item))
        table = np.array(rows).reshape(-1, 7)
        none = np.zeros(len(spots.item))
        table = np.concatenate(
            (table, np.column_stack((spots.centre, none, spots.radius, none, spots.reach, spots.item)))
        )
        self._centre, self._radii = table[:, :2], np.maximum(table[:, 2:6], 0.0)
        self._source, self.tile = self._pairs(grid)
        self.item: Whole = table[:, 6].astype(np.int64)[self._source]
        self._origin = np.column_stack((self.tile % grid.columns, self.tile // grid.columns)) * float(SIDE)

    def _pairs(self, grid: Grid) -> tuple[Whole, Whole]:
        reach, hole = self._radii[:, 3], np.minimum(self._radii[:, 0], self._radii[:, 2])
        low = np.floor((self._centre + 0.5 - reach[:, None]) / SIDE)
        high = np.floor((self._centre + 0.5 + reach[:, None]) / SIDE)
        limit = np.array((grid.columns, grid.rows))
        low, high = np.clip(low, 0, limit).astype(np.int64), np.clip(high, -1, limit - 1).astype(np.int64)
        size = np.maximum(high - low + 1, 0)
        source, number = spread(size[:, 0] * size[:, 1])
        cell = np.column_stack((number % size[source, 0], number // size[source, 0])) + low[source]
        away = np.abs(cell * SIDE + (SIDE - 1) / 2 - self._centre[source])
        near = np.maximum(away - SIDE / 2, 0)
        far = away + SIDE / 2
        kept = (np.hypot(near[:, 0], near[:, 1]) < reach[source]) & (np.hypot(far[:, 0], far[:, 1]) > hole[source])
        return source[kept], (cell[:, 1] * grid.columns + cell[:, 0])[kept]

    def paint(self, core: Singles, halo: Singles, place: Whole) -> None:
        for begin in range(0, len(self._source), _CHUNK):
            part = slice(begin, begin + _CHUNK)
            source = self._source[part]
            edges = self._origin[part, :, None] + _EDGES - self._centre[source, :, None]
            radii = self._radii[source]
            core[place[part]] = _between(edges, radii[:, 0], radii[:, 1])
            if (radii[:, 3] > radii[:, 1]).any():
                halo[place[part]] = _between(edges, radii[:, 2], radii[:, 3])


def _between(edges: Floats, hole: Floats, radius: Floats) -> Singles:
    """Area (n, AREA) of a ring within each pixel; edges (n, 2, SIDE + 1): the pixels' sides, seen from the centre."""
    area = _disc(edges, radius)
    holed = np.flatnonzero(hole > 0)
    if len(holed):
        area[holed] -= _disc(edges[holed], hole[holed])
    return np.clip(area, 0, 1).astype(np.float32).reshape(-1, AREA)


def _disc(edges: Floats, radius: Floats) -> Floats:
    """Area (n, SIDE, SIDE) of a disc around the origin within each pixel.

    With S(x) the integral of sqrt(r^2 - u^2) from 0 to x, the part of the disc left of x and above y is
    xy + S(x) + S(y) + pi r^2 / 4 where that corner lies inside, else what the one or two lines leave of it. Second
    differences give the pixels.
    """
    r = radius[:, None, None]
    at = np.clip(edges, -r, r)
    turn = np.arcsin(np.clip(at / np.maximum(r, 1e-12), -1, 1))
    sweep = 0.5 * (at * np.sqrt(np.maximum(r * r - at * at, 0)) + r * r * turn)
    quarter = np.pi / 4 * r * r
    beyond = at > 0
    cut = np.where(beyond, 2 * sweep, 2 * (sweep + quarter))
    x, y = at[:, 0, None, :], at[:, 1, :, None]
    outside = cut[:, 0, None, :] * beyond[:, 1, :, None] + beyond[:, 0, None, :] * cut[:, 1, :, None]
    # Left of x < 0 and above y > 0, and the like, are cut off by one line only.
    inside = x * y + sweep[:, 0, None, :] + (sweep[:, 1, :, None] + quarter)
    corner = np.where(x * x + y * y < r * r, inside, outside)
    strip = corner[:, 1:] - corner[:, :-1]
    return strip[:, :, 1:] - strip[:, :, :-1]
