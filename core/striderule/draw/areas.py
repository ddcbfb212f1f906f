"""Exact coverage of filled polygons: signed areas of all edges, cut at pixel sides and summed from left to right, in
those tiles alone that an edge crosses; the tiles between them take one value a row (the sparse form of the
accumulation buffer that font rasterisers use)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..errors import GeometryError
from .drawing import Area
from .tiles import AREA, SIDE, Floats, Grid, Singles, Whole, spread

_CHUNK = 4096


class Areas:
    """Cover of areas: nonzero winding over all rings of one area. Points (n, 2) of a ring; the last joins the first."""

    def __init__(self, areas: Sequence[tuple[int, Area]], grid: Grid) -> None:
        start, end, item = _edges(areas)
        self.item, self.tile = np.zeros(0, np.int64), np.zeros(0, np.int64)
        self._cover = np.zeros((0, AREA), np.float32)
        self._level, self._left = np.zeros((0, SIDE), np.float32), self.item
        if not len(item):
            return
        x, y, weight, at_x, item = _pieces(start, end, item, grid)
        if not len(item):
            return
        # One more column of tiles right of the frame takes what lies there, so that every row of tiles sums to zero.
        wide = grid.columns + 1
        key = (item * grid.rows + y // SIDE) * wide + x // SIDE
        keys, place = np.unique(key, return_inverse=True)
        cell = place.reshape(-1) * AREA + (y % SIDE) * SIDE + x % SIDE
        right = weight * at_x
        sums = np.bincount(cell, weights=weight - right, minlength=len(keys) * AREA)
        inner = x % SIDE < SIDE - 1
        sums += np.bincount(cell[inner] + 1, weights=right[inner], minlength=len(keys) * AREA)
        sums = np.cumsum(sums.reshape(-1, SIDE, SIDE), axis=2)
        line_of_piece = place.reshape(-1) * SIDE + y % SIDE
        turn = np.bincount(line_of_piece, weights=weight, minlength=len(keys) * SIDE).reshape(-1, SIDE)
        after = np.cumsum(turn, axis=0)
        winding = sums + (after - turn)[:, :, None]
        column, line = keys % wide, keys // wide
        # Between two touched tiles of one row lie level edges at most: one winding holds for each row of pixels.
        level = np.minimum(np.abs(after), 1.0)
        level[level < 1e-6] = 0
        inside = level[:-1].max(axis=1) > 0
        gap = np.where(inside & (line[1:] == line[:-1]), column[1:] - column[:-1] - 1, 0)
        left, step = spread(gap)
        self._level, self._left = level.astype(np.float32), left
        cover = np.minimum(np.abs(winding), 1.0).astype(np.float32).reshape(-1, AREA)
        cover[cover < 1e-6] = 0
        seen = (column < grid.columns) & (cover.max(axis=1) > 0)
        self._cover = cover[seen]
        self.item = np.concatenate((line[seen], line[left])) // grid.rows
        self.tile = np.concatenate(
            (
                line[seen] % grid.rows * grid.columns + column[seen],
                line[left] % grid.rows * grid.columns + column[left] + 1 + step,
            )
        )

    def paint(self, core: Singles, halo: Singles, place: Whole) -> None:  # noqa: ARG002 - fills have no halo
        edge = len(self._cover)
        core[place[:edge]] = self._cover
        for begin in range(0, len(self._left), _CHUNK):
            left = self._left[begin : begin + _CHUNK]
            core[place[edge + begin : edge + begin + len(left)]] = np.repeat(self._level[left], SIDE, axis=1)


def _edges(areas: Sequence[tuple[int, Area]]) -> tuple[Floats, Floats, Whole]:
    """All edges in pixel sides' coordinates (pixel 0 covers 0..1), and the item that each belongs to."""
    start: list[Floats] = [np.zeros((0, 2))]
    end: list[Floats] = [np.zeros((0, 2))]
    counts: list[tuple[int, int]] = []
    for item, area in areas:
        for ring in area.rings:
            xy = np.asarray(ring, dtype=np.float64)
            if xy.size == 0:
                continue
            if xy.ndim != 2 or xy.shape[1] != 2:
                raise GeometryError(f"An area's ring needs points of shape (n, 2), given {xy.shape}.")
            start.append(xy)
            end.append(np.concatenate((xy[1:], xy[:1])))
            counts.append((item, len(xy)))
    first, last = np.concatenate(start) + 0.5, np.concatenate(end) + 0.5
    if not np.isfinite(first).all():
        raise GeometryError("An area has a point that is not a finite number.")
    table = np.array(counts, dtype=np.int64).reshape(-1, 2)
    return first, last, np.repeat(table[:, 0], table[:, 1])


def _pieces(start: Floats, end: Floats, item: Whole, grid: Grid) -> tuple[Whole, Whole, Floats, Floats, Whole]:
    """Edges cut at every pixel side: column and row of the pixel, height with its sign, mean x within it (0..1),
    item.

    What lies left of the frame stands at x = 0, what lies right of it in the first tile beyond; what lies above or
    below is dropped.
    """
    rise = end[:, 1] - start[:, 1]
    sign = np.sign(rise)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        lean = (end[:, 0] - start[:, 0]) / rise
    top = np.clip(np.minimum(start[:, 1], end[:, 1]), 0, grid.height)
    bottom = np.clip(np.maximum(start[:, 1], end[:, 1]), 0, grid.height)
    kept = (bottom > top) & np.isfinite(lean)
    start, end, sign, lean, top, bottom = (one[kept] for one in (start, end, sign, lean, top, bottom))
    item = item[kept]
    # Rows of pixels.
    first = np.floor(top).astype(np.int64)
    owner, step = spread(np.ceil(bottom).astype(np.int64) - first)
    row = first[owner] + step
    y0, y1 = np.maximum(top[owner], row), np.minimum(bottom[owner], row + 1)
    low, high = np.minimum(start[:, 0], end[:, 0])[owner], np.maximum(start[:, 0], end[:, 0])[owner]
    x0 = np.clip(start[owner, 0] + (y0 - start[owner, 1]) * lean[owner], low, high)
    x1 = np.clip(start[owner, 0] + (y1 - start[owner, 1]) * lean[owner], low, high)
    height = (y1 - y0) * sign[owner]
    # Columns within a row: first those at the frame's sides, then every pixel.
    left, right = np.minimum(x0, x1), np.maximum(x0, x1)
    span = right - left
    a, b = np.clip(left, 0, grid.width), np.clip(right, 0, grid.width)
    part = height / np.where(span > 0, span, 1.0)
    before = np.where(span > 0, (np.minimum(right, 0) - np.minimum(left, 0)) * part, 0.0)
    beyond = np.where(span > 0, (np.maximum(right, grid.width) - np.maximum(left, grid.width)) * part, 0.0)
    first = np.minimum(np.floor(a).astype(np.int64), grid.width)
    count = np.maximum(np.ceil(b).astype(np.int64) - first, 1)
    line, step = spread(count)
    column = first[line] + step
    u: Floats = np.maximum(a[line], column)
    v: Floats = np.minimum(b[line], column + 1)
    within = height - before - beyond
    size = (b - a)[line]
    weight = np.where(size > 0, (v - u) * within[line] / np.where(size > 0, size, 1.0), within[line])
    place: Floats = np.where(size > 0, (u + v) / 2, a[line])
    at_x = place - column
    columns = np.concatenate((column, np.zeros(len(row), np.int64), np.full(len(row), grid.columns * SIDE)))
    lines = np.concatenate((row[line], row, row))
    weights = np.concatenate((weight, before, beyond))
    within_x = np.concatenate((at_x, np.zeros(2 * len(row))))
    items = np.concatenate((item[owner][line], item[owner], item[owner]))
    used = weights != 0
    # A piece on the frame's right side belongs beyond it, even where the last tile is wider than the frame.
    columns = np.where(columns >= grid.width, grid.columns * SIDE, columns)
    return columns[used], lines[used], weights[used], within_x[used], items[used]
