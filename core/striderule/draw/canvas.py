"""A painted picture: premultiplied float tiles where something was painted, nothing elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from .drawing import Colour
from .tiles import AREA, SIDE, Cover, Flags, Grid, Singles, Whole, runs

Bytes = npt.NDArray[np.uint8]

_CHUNK = 256  # tiles composited at once: 256 KB, which stay in cache through all their paints


@dataclass(frozen=True, eq=False)
class Paint:
    """What each item is painted with: colour, halo_colour (n, 3); alpha, halo_alpha (n,)."""

    colour: Singles
    alpha: Singles
    halo_colour: Singles
    halo_alpha: Singles


@dataclass(frozen=True, eq=False)
class Canvas:
    """A picture of width x height pixels.

    tile (n,): numbers of painted tiles; light (n, 4, AREA): premultiplied sRGB and the share of the backdrop that shows
    through. under: an older canvas that shows where this one has no tile of its own.
    """

    width: int
    height: int
    tile: Whole
    light: Singles
    under: Canvas | None = None
    _bytes: list[Bytes] = field(default_factory=list[Bytes], repr=False)

    @property
    def grid(self) -> Grid:
        return Grid(self.width, self.height)

    @classmethod
    def blank(cls, width: int, height: int) -> Canvas:
        """A canvas with nothing on it."""
        return cls(width, height, np.zeros(0, np.int64), np.zeros((0, 4, AREA), np.float32))

    def flat(self) -> Canvas:
        """The same picture with no canvas under it."""
        if self.under is None:
            return self
        under = self.under.flat()
        rest = ~np.isin(under.tile, self.tile)
        tile, light = np.concatenate((under.tile[rest], self.tile)), np.concatenate((under.light[rest], self.light))
        return Canvas(self.width, self.height, tile, light)

    def rgba8(self) -> Bytes:
        """The picture as (height, width, 4) bytes, straight alpha, colour 0 where alpha is 0."""
        grid = self.grid
        frame = np.zeros((grid.rows * SIDE, grid.columns * SIDE, 4), np.uint8)
        cells = frame.reshape(grid.rows, SIDE, grid.columns, SIDE, 4)
        for canvas in self._stack():
            row, column = canvas.tile // grid.columns, canvas.tile % grid.columns
            cells[row, :, column] = canvas._straight()
        return frame[: self.height, : self.width]

    def inked_rows(self) -> Flags:
        """(height,) flags: False where a row of pixels is certainly blank."""
        grid = self.grid
        rows = np.zeros(grid.rows, np.bool_)
        for canvas in self._stack():
            rows[canvas.tile // grid.columns] = True
        return np.repeat(rows, SIDE)[: self.height]

    def _stack(self) -> list[Canvas]:
        return ([] if self.under is None else self.under._stack()) + [self]

    def _straight(self) -> Bytes:
        """Own tiles as bytes (n, SIDE, SIDE, 4), kept for the next picture that stands on this canvas."""
        if not self._bytes:
            self._bytes.append(_straight(self.light))
        return self._bytes[0]


def _straight(light: Singles) -> Bytes:
    """Tiles (n, 4, AREA) as straight bytes (n, SIDE, SIDE, 4)."""
    out = np.empty((len(light), AREA), "<u4")
    for begin in range(0, len(light), _CHUNK):
        part = light[begin : begin + _CHUNK]
        alpha = 1 - part[:, 3]
        scale = np.float32(255) / np.maximum(alpha, np.float32(1e-6))
        alpha *= np.float32(255)
        alpha += np.float32(0.5)
        level = alpha.astype(np.int32)
        scale[level == 0] = 0
        mixed = part[:, :3] * scale[:, None]
        mixed += np.float32(0.5)
        # Whole pixels are put together in registers: four times quicker than writing every fourth byte.
        whole = mixed.astype(np.int32)
        level <<= 24
        level |= whole[:, 0]
        level |= np.left_shift(whole[:, 1], 8)
        level |= np.left_shift(whole[:, 2], 16)
        out[begin : begin + _CHUNK] = level.view(np.uint32)
    return out.view(np.uint8).reshape(-1, SIDE, SIDE, 4)


def over_backdrop(canvas: Canvas, rgb: Colour) -> Bytes:
    """The picture (height, width, 3) before an opaque backdrop of one sRGB colour 0..1."""
    grid = canvas.grid
    back = np.clip(np.array(rgb, np.float32), 0, 1)
    frame = np.empty((grid.rows * SIDE, grid.columns * SIDE, 3), np.uint8)
    frame[:] = (back * 255 + 0.5).astype(np.uint8)
    cells = frame.reshape(grid.rows, SIDE, grid.columns, SIDE, 3)
    for one in canvas._stack():  # pyright: ignore[reportPrivateUsage]
        mixed = one.light[:, :3] + one.light[:, 3:] * back[:, None]
        mixed = np.minimum(mixed * np.float32(255) + np.float32(0.5), np.float32(255)).astype(np.uint8)
        whole = mixed.transpose(0, 2, 1).reshape(-1, SIDE, SIDE, 3)
        cells[one.tile // grid.columns, :, one.tile % grid.columns] = whole
    return frame[: canvas.height, : canvas.width]


def composite(covers: Sequence[Cover], paint: Paint, start: Canvas) -> Canvas:
    """Paint all covers on top of start in the order of their items.

    Tiles stand in the order of how many items touch them, most first; then the k-th item of all tiles that have one
    lies in one run of rows, and painting it is one operation on a run of tiles.
    """
    item = np.concatenate([one.item for one in covers])
    tile = np.concatenate([one.tile for one in covers])
    if not len(item):
        return start
    # Pairs by tile, then by item; then tiles by how many items they have.
    order = np.argsort(tile * (int(item.max()) + 1) + item, kind="stable")
    first, group, rank = runs(tile[order])
    depth = np.bincount(group)
    deepest_first = np.argsort(-depth, kind="stable")
    tiles = tile[order][first][deepest_first]
    slot = np.empty_like(deepest_first)
    slot[deepest_first] = np.arange(len(tiles))
    width = np.bincount(rank)
    row_of_rank = np.cumsum(width) - width
    place = np.empty(len(order), np.int64)
    place[order] = row_of_rank[rank] + slot[group]
    core = np.zeros((len(order), AREA), np.float32)
    halo = np.zeros((len(order), AREA), np.float32)
    done = 0
    for one in covers:
        one.paint(core, halo, place[done : done + len(one.item)])
        done += len(one.item)
    item_at = np.empty(len(order), np.int64)
    item_at[place] = item
    light = np.zeros((len(tiles), 4, AREA), np.float32)
    light[:, 3] = 1
    base = start.flat()
    if len(base.tile):
        at = np.full(base.grid.columns * base.grid.rows, -1)
        at[base.tile] = np.arange(len(base.tile))
        old = np.flatnonzero(at[tiles] >= 0)
        light[old] = base.light[at[tiles[old]]]
    for begin in range(0, len(tiles), _CHUNK):
        for row, count in zip(row_of_rank, width, strict=True):
            size = min(count - begin, _CHUNK)
            if size <= 0:
                break
            rows = slice(row + begin, row + begin + size)
            _blend(light[begin : begin + size], core[rows], halo[rows], item_at[rows], paint)
    return Canvas(start.width, start.height, tiles, light, base if len(base.tile) else None)


def _blend(light: Singles, core: Singles, halo: Singles, item: Whole, paint: Paint) -> None:
    """One item's halo, then its core, over each tile. core and halo (n, AREA) are used up."""
    core *= paint.alpha[item][:, None]
    kept = 1 - core
    halo_alpha = paint.halo_alpha[item]
    if halo_alpha.any():
        halo *= halo_alpha[:, None]
        tint = paint.halo_colour[item]
        glow = halo * kept if tint.any() else None
        kept *= 1 - halo
        light *= kept[:, None]
        if glow is not None:
            light[:, :3] += glow[:, None] * tint[:, :, None]
    else:
        light *= kept[:, None]
    light[:, :3] += core[:, None] * paint.colour[item][:, :, None]
