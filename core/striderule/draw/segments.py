"""Lines of a drawing as straight segments that can reach the frame, dashes cut out of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import GeometryError
from .drawing import Line
from .tiles import Flags, Floats, Grid, Whole, spread

_TINY = 1e-9
_SHORTEST_DASH = 0.1  # px; shorter patterns are painted solid: their round ends would touch in any case


@dataclass(frozen=True, eq=False)
class Segments:
    """Straight pieces with round ends: start (n, 2), unit direction (n, 2), length, half width, reach, item (n,).

    reach: half width + halo. free (n, 2): whether nothing of the same line joins on at the start, at the end. before
    (n, 2): where something does, the direction of the segment that comes in at the start.
    """

    start: Floats
    along: Floats
    length: Floats
    free: Flags
    before: Floats
    half: Floats
    reach: Floats
    item: Whole


@dataclass(frozen=True, eq=False)
class Spots:
    """Discs: centre x, y (n, 2), radius, reach (radius + halo), item (n,)."""

    centre: Floats
    radius: Floats
    reach: Floats
    item: Whole


def segments_of(lines: Sequence[tuple[int, Line]], grid: Grid) -> tuple[Segments, Spots]:
    """(item number, line) pairs as segments; lines whose points are all equal as spots. Lines without points vanish.

    Raises GeometryError where a point, width, halo or dash is not a finite number, or one of the latter is negative.
    """
    points: list[Floats] = [np.zeros((0, 2))]
    table: list[tuple[float, ...]] = []
    for item, line in lines:
        xy = np.asarray(line.points, dtype=np.float64)
        if xy.size == 0:
            continue
        if xy.ndim != 2 or xy.shape[1] != 2:
            raise GeometryError(f"A line needs points of shape (n, 2), given {xy.shape}.")
        if line.closed or len(xy) == 1:
            xy = np.concatenate((xy, xy[:1]))
        on, off = line.ink.dash or (0.0, 0.0)
        points.append(xy)
        table.append((line.ink.width / 2, line.ink.halo, on, off, item, len(xy)))
    rows = np.array(table, dtype=np.float64).reshape(-1, 6)
    joined = np.concatenate(points)
    if not np.isfinite(joined).all():
        raise GeometryError("A line has a point that is not a finite number.")
    if not np.isfinite(rows).all() or (rows < 0).any():
        raise GeometryError("A line's width, halo and dash must be finite and not negative.")
    counts = rows[:, 5].astype(np.int64)
    first = np.cumsum(counts) - counts
    line_of = np.repeat(np.arange(len(counts)), counts)
    inner = line_of[1:] == line_of[:-1]
    start, step, owner = joined[:-1][inner], np.diff(joined, axis=0)[inner], line_of[1:][inner]
    length = np.hypot(step[:, 0], step[:, 1])
    real = length > _TINY
    start, step, owner, length = start[real], step[real], owner[real], length[real]
    spot = np.bincount(owner, minlength=len(counts)) == 0
    reach = rows[:, 0] + rows[:, 1]
    item = rows[:, 4].astype(np.int64)
    spots = Spots(joined[first][spot], rows[:, 0][spot], reach[spot], item[spot])
    dashed = _is_dashed(rows[:, 2:4])
    run = np.cumsum(length) - length
    run -= run[np.searchsorted(owner, owner)] if len(owner) else 0.0
    # A solid line's pieces must not depend, not even in their last digit, on what else is painted with it.
    run[~dashed[owner]] = 0.0
    along = step / length[:, None]
    enter, leave = _clipped(start, along, length, reach[owner] + 2.0, grid)
    seen = enter < leave
    change = np.concatenate(((True,), owner[1:] != owner[:-1], (True,)))
    # A line that ends where it began is joined there, whether it says so or not.
    shut = (joined[first] == joined[first + counts - 1]).all(axis=1)
    free = np.column_stack((change[:-1], change[1:])) & ~shut[owner, None] | dashed[owner, None]
    before = along[np.where(change[:-1], _last_of(owner), np.arange(len(owner)) - 1)]
    enter, leave, source = _dashed(enter + run, leave + run, rows[owner, 2:4], seen)
    begin = start[source] + along[source] * (enter - run[source])[:, None]
    of = owner[source]
    size = rows[of, 0], reach[of], item[of]
    return Segments(begin, along[source], leave - enter, free[source], before[source], *size), spots


def _last_of(owner: Whole) -> Whole:
    """For segments sorted by owner: the last one of the same owner."""
    return np.searchsorted(owner, owner, side="right") - 1


def _clipped(start: Floats, along: Floats, length: Floats, margin: Floats, grid: Grid) -> tuple[Floats, Floats]:
    """Distances along each segment between which it lies in the frame grown by margin (Liang and Barsky 1984).

    Where the first is not less than the second it never does.
    """
    enter, leave = np.zeros(len(start)), length.copy()
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for axis, size in ((0, grid.width), (1, grid.height)):
            at, speed = start[:, axis], along[:, axis]
            low, high = (-margin - at) / speed, (size + margin - at) / speed
            flat = speed == 0
            outside = flat & ((at < -margin) | (at > size + margin))
            enter = np.where(flat, enter, np.maximum(enter, np.minimum(low, high)))
            leave = np.where(flat, np.where(outside, -1.0, leave), np.minimum(leave, np.maximum(low, high)))
    return enter, leave


def _dashed(enter: Floats, leave: Floats, dash: Floats, seen: Flags) -> tuple[Floats, Floats, Whole]:
    """Spans of arc length cut into dashes, and which segment each span belongs to. The on-length is that of the centre
    line: the round ends reach beyond it, as in SVG."""
    period = dash.sum(axis=1)
    solid = ~_is_dashed(dash)
    whole = np.flatnonzero(seen & solid)
    cut = np.flatnonzero(seen & ~solid)
    if not len(cut):
        return enter[whole], leave[whole], whole
    first = np.floor(enter[cut] / period[cut])
    owner, number = spread((np.floor(leave[cut] / period[cut]) - first).astype(np.int64) + 1)
    source = cut[owner]
    begin = (first[owner] + number) * period[source]
    low, high = np.maximum(begin, enter[source]), np.minimum(begin + dash[source, 0], leave[source])
    good = (low < high) | ((low == high) & (dash[source, 0] == 0) & (low < leave[source]))
    source = np.concatenate((whole, source[good]))
    order = np.argsort(source, kind="stable")
    begin, end = np.concatenate((enter[whole], low[good])), np.concatenate((leave[whole], high[good]))
    return begin[order], end[order], source[order]


def _is_dashed(dash: Floats) -> Flags:
    return (dash[:, 1] > 0) & (dash.sum(axis=1) >= _SHORTEST_DASH)
