"""Coverage of stroked segments: every segment is paired with the tiles that it touches, and one distance per pixel
gives both the line and its halo.

A pixel's coverage is the exact area of its unit square inside the stroke's edge, the edge taken as straight within one
pixel. For the flanks of a segment that is exact; round ends are corrected for their curvature. Parts of one line are
merged by the greater coverage, so that alpha does not add up where a line meets or crosses itself; the one pixel inside
a bend, part of which either side covers, comes out up to a quarter too light.
"""

from __future__ import annotations

import numpy as np

from .segments import Segments
from .tiles import AREA, SIDE, Flags, Floats, Grid, Singles, Whole, runs, spread

_CHUNK = 256  # pairs worked on at once: 64 KB an array, so that all work arrays stay in cache
_MIDDLE = (SIDE - 1) / 2
_STEPS = np.arange(SIDE, dtype=np.float32)
_ONE_SIDED = 0.7072  # from this half width on, no pixel sees both edges


class Strokes:
    """Cover of segments with round ends."""

    def __init__(self, segments: Segments, grid: Grid) -> None:
        self._segments = segments
        source, tile = _pairs(segments, grid)
        key = segments.item[source] * (grid.columns * grid.rows) + tile
        order = np.argsort(key, kind="stable")
        self._source, key = source[order], key[order]
        first, self._group, self._rank = runs(key)
        self._pair_tile = tile[order]
        self._columns = grid.columns
        self.item: Whole = segments.item[self._source[first]]
        self.tile: Whole = self._pair_tile[first]

    def paint(self, core: Singles, halo: Singles, place: Whole) -> None:
        seg, src = self._segments, self._source
        if not len(src):
            return
        where = np.column_stack((self._pair_tile % self._columns, self._pair_tile // self._columns)) * float(SIDE)
        offset = where - seg.start[src]
        along, length = seg.along[src], seg.length[src]
        middle = ((offset + _MIDDLE) * along).sum(axis=1)
        half_span = _MIDDLE * np.abs(along).sum(axis=1)
        straight = (middle - half_span >= 0) & (middle + half_span <= length)
        target = place[self._group]
        has_halo = seg.reach[src] > seg.half[src]
        lone = (seg.free[src, 0] & (middle - half_span < 0)) | (seg.free[src, 1] & (middle + half_span > length))
        # Pairs of one kind are measured together. A tile's first pair is written, further ones raise what is there;
        # within a rank no place comes twice.
        kind = np.where(straight, 2, lone.astype(np.int64)) * 2 + has_halo
        code = np.minimum(self._rank, 2) * 6 + kind
        order = np.argsort(code, kind="stable")
        bounds = np.concatenate(([0], np.cumsum(np.bincount(code, minlength=18))))
        for wave in range(18):
            shape, with_halo = wave % 6 // 2, wave % 2 == 1
            for begin in range(bounds[wave], bounds[wave + 1], _CHUNK):
                part = order[begin : min(begin + _CHUNK, bounds[wave + 1])]
                half, reach = seg.half[src[part]], seg.reach[src[part]]
                if shape == 2:
                    inner, outer = _strip(offset[part], along[part], half, reach, with_halo)
                else:
                    inner, outer = _capsule(offset[part], along[part], length[part], half, reach, with_halo, shape == 1)
                at = target[part]
                if wave < 6:
                    core[at] = inner
                    if outer is not None:
                        halo[at] = outer
                else:
                    _merge(self._rank[part], at, inner, outer, core, halo)


def _merge(rank: Whole, at: Whole, inner: Singles, outer: Singles | None, core: Singles, halo: Singles) -> None:
    """Raise core and halo to a chunk's coverage; pairs of one rank have different places: each rank is one
    operation."""
    for one in np.unique(rank):
        pick = rank == one
        to = at[pick]
        core[to] = np.maximum(core[to], inner[pick])
        if outer is not None:
            halo[to] = np.maximum(halo[to], outer[pick])


def _pairs(seg: Segments, grid: Grid) -> tuple[Whole, Whole]:
    """Every (segment, tile) pair in which the segment's reach may touch a pixel of the tile."""
    end = seg.start + seg.along * seg.length[:, None]
    low, high = np.minimum(seg.start, end), np.maximum(seg.start, end)
    grow = seg.reach + 0.5
    top = np.clip(np.floor((low[:, 1] - grow) / SIDE), 0, grid.rows).astype(np.int64)
    bottom = np.clip(np.floor((high[:, 1] + grow) / SIDE), -1, grid.rows - 1).astype(np.int64)
    owner, step = spread(np.maximum(bottom - top + 1, 0))
    row = top[owner] + step
    x, dx, dy = seg.start[owner, 0], seg.along[owner, 0], seg.along[owner, 1]
    upper, lower = row * SIDE - grow[owner], row * SIDE + (SIDE - 1) + grow[owner]
    with np.errstate(divide="ignore", invalid="ignore"):
        near = np.clip((upper - seg.start[owner, 1]) / dy, 0, seg.length[owner])
        far = np.clip((lower - seg.start[owner, 1]) / dy, 0, seg.length[owner])
    level = np.abs(dy) < 1e-6
    near, far = np.where(level, 0.0, near), np.where(level, seg.length[owner], far)
    left = np.floor((x + np.minimum(near * dx, far * dx) - grow[owner]) / SIDE)
    right = np.floor((x + np.maximum(near * dx, far * dx) + grow[owner]) / SIDE)
    left = np.clip(left, 0, grid.columns).astype(np.int64)
    right = np.clip(right, -1, grid.columns - 1).astype(np.int64)
    line, step = spread(np.maximum(right - left + 1, 0))
    column, row, owner = left[line] + step, row[line], owner[line]
    ox = column * SIDE + _MIDDLE - seg.start[owner, 0]
    oy = row * SIDE + _MIDDLE - seg.start[owner, 1]
    dx, dy = seg.along[owner, 0], seg.along[owner, 1]
    room = seg.reach[owner] + (SIDE / 2) * (np.abs(dx) + np.abs(dy))
    on = ox * dx + oy * dy
    kept = (np.abs(ox * dy - oy * dx) < room) & (on > -room) & (on < seg.length[owner] + room)
    # Beyond a joint the next segment is at least as near as this one's end; before one the segment that comes in is,
    # unless it has left the tile to this one by that very rule.
    bx, by = seg.before[owner, 0], seg.before[owner, 1]
    span, span_before = _MIDDLE * (np.abs(dx) + np.abs(dy)), _MIDDLE * (np.abs(bx) + np.abs(by))
    kept &= seg.free[owner, 1] | (on - span < seg.length[owner])
    kept &= seg.free[owner, 0] | (on + span > 0) | (ox * bx + oy * by - span_before >= 0)
    return owner[kept], row[kept] * grid.columns + column[kept]


def _strip(
    offset: Floats, along: Floats, half: Floats, reach: Floats, with_halo: bool
) -> tuple[Singles, Singles | None]:
    """Coverage (n, AREA) of core and halo far from the segments' ends: the exact area of a strip in each pixel."""
    normal = np.column_stack((-along[:, 1], along[:, 0]))
    steep = np.abs(normal).max(axis=1)
    # Distances in units in which the greater component of the normal is 1.
    scaled = normal / steep[:, None]
    base = (offset * scaled).sum(axis=1)
    slant = np.maximum(np.abs(scaled).min(axis=1), 1e-4).astype(np.float32)[:, None]
    across = (scaled[:, 0].astype(np.float32)[:, None] * _STEPS)[:, None, :] + (
        scaled[:, 1].astype(np.float32)[:, None] * _STEPS + base.astype(np.float32)[:, None]
    )[:, :, None]
    distance: Singles = across.reshape(-1, AREA).astype(np.float32, copy=False)
    np.abs(distance, out=distance)
    inner = _inside((half / steep).astype(np.float32)[:, None], distance, slant)
    thin = half < _ONE_SIDED
    if thin.any():
        _take_far_edge(inner, thin, half / steep, distance, slant)
    if not with_halo:
        return inner, None
    outer = _inside((reach / steep).astype(np.float32)[:, None], distance, slant)
    thin = reach < _ONE_SIDED
    if thin.any():
        _take_far_edge(outer, thin, reach / steep, distance, slant)
    return inner, outer


def _take_far_edge(cover: Singles, thin: Flags, half: Floats, distance: Singles, slant: Singles) -> None:
    cover[thin] += _inside(half[thin].astype(np.float32)[:, None], -distance[thin], slant[thin]) - np.float32(1)


def _inside(half: Singles, distance: Singles, slant: Singles) -> Singles:
    """Exact area of a unit square on the near side of an edge that runs parallel to a line, `half` off it; the line
    passes the square's centre at `distance`. Lengths in units in which the normal's greater component is 1 and its
    lesser one is slant (0..1). The area is the integral of the trapezoid that the square casts on the normal."""
    flat = (1 - slant) / 2
    whole = (1 + slant) / 2
    depth = half - distance
    np.maximum(depth, -whole, out=depth)
    np.minimum(depth, whole, out=depth)
    bend = np.maximum(depth, -flat)
    np.minimum(bend, flat, out=bend)
    np.subtract(depth, bend, out=bend)
    depth += np.float32(0.5)
    size = np.abs(bend)
    bend *= size
    bend *= 0.5 / slant
    depth -= bend
    return depth


def _capsule(
    offset: Floats, along: Floats, length: Floats, half: Floats, reach: Floats, with_halo: bool, lone: bool
) -> tuple[Singles, Singles | None]:
    """Coverage (n, AREA) of core and halo near the segments' round ends; lone: where a line itself ends."""
    dx, dy = along[:, :1].astype(np.float32), along[:, 1:].astype(np.float32)
    shape = (len(along), SIDE, SIDE)
    x, y = np.empty(shape, np.float32), np.empty(shape, np.float32)
    x[:] = (offset[:, :1].astype(np.float32) + _STEPS)[:, None, :]
    y[:] = (offset[:, 1:].astype(np.float32) + _STEPS)[:, :, None]
    x, y = x.reshape(-1, AREA), y.reshape(-1, AREA)
    on = x * dx
    on += y * dy
    nearest = np.maximum(on, np.float32(0))
    np.minimum(nearest, length.astype(np.float32)[:, None], out=nearest)
    capped = on != nearest if lone else None
    x -= np.multiply(nearest, dx, out=on)
    y -= np.multiply(nearest, dy, out=on)
    np.abs(x, out=x)
    np.abs(y, out=y)
    steep = np.maximum(x, y, out=on)
    np.maximum(steep, np.float32(1e-6), out=steep)
    slant = np.minimum(x, y, out=nearest)
    slant /= steep
    np.maximum(slant, np.float32(1e-4), out=slant)
    # With the normal's greater component as unit the distance is steep * (1 + slant^2), and one pixel is `scale` long.
    scale = slant * slant
    scale += np.float32(1)
    distance = np.multiply(steep, scale, out=x)
    np.sqrt(scale, out=scale)
    inner = _round(half, distance, scale, slant, capped)
    return inner, _round(reach, distance, scale, slant, capped) if with_halo else None


def _round(radius: Floats, distance: Singles, scale: Singles, slant: Singles, capped: Flags | None) -> Singles:
    """Coverage within radius of the segment; distance in units of 1 / scale pixels. In pixels that are capped the
    sliver between the edge and its tangent is taken off, chord^3 / (24 radius)."""
    r = radius.astype(np.float32)[:, None]
    cover = _inside(r * scale, distance, slant)
    thin = radius < _ONE_SIDED
    if thin.any():
        cover[thin] += _inside(r[thin] * scale[thin], -distance[thin], slant[thin]) - np.float32(1)
        np.maximum(cover, np.float32(0), out=cover)
    if capped is None:
        return cover
    row, pixel = np.nonzero(capped & (cover > 0) & (cover < 1))
    wide, lean = scale[row, pixel], slant[row, pixel]
    edge = np.abs(r[row, 0] * wide - distance[row, pixel])
    chord = wide * np.clip(((1 + lean) / 2 - edge) / lean, 0, 1)
    sliver = chord * chord * chord / np.maximum(24 * r[row, 0], np.float32(12))
    cover[row, pixel] = np.maximum(cover[row, pixel] - sliver, np.float32(0))
    return cover
