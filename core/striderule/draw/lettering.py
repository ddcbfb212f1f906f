"""Coverage of labels: each character is stroked once and kept as a sprite, each text is put together from those, and
placing it is a copy.

Labels stand on whole pixels, so that a text looks the same wherever it is and its sprite serves every picture; the
characters of a text stand on quarters of a pixel.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from ..errors import GeometryError
from . import font
from .discs import Discs
from .drawing import Dot, Ink, Label, Line
from .segments import segments_of
from .strokes import Strokes
from .tiles import AREA, SIDE, Cover, Grid, Singles, Whole, runs

LARGEST_SIZE = 1000.0
_PHASES = 4
_GRAIN = 65536.0  # places within a pixel
_MOST_GLYPHS, _MOST_TEXTS = 4096, 512
_Text = tuple[str, float, float, float]  # text, size, stroke width, halo
_Glyph = tuple[str, int, float, float, float]  # character, phase, size, stroke width, halo

Key = TypeVar("Key")


@dataclass(frozen=True, eq=False)
class _Sprite:
    """cover (2, rows, columns): of core and halo; left, top: the place of its first pixel from the anchor."""

    cover: Singles
    left: int
    top: int


class _Shelf(Generic[Key]):
    """The sprites used last. Holds nothing that could not be made anew, so it never changes a picture."""

    def __init__(self, make: Callable[[Sequence[Key]], list[_Sprite]], most: int) -> None:
        self._make, self._most = make, most
        self._kept: OrderedDict[Key, _Sprite] = OrderedDict()

    def sprites(self, keys: Sequence[Key]) -> dict[Key, _Sprite]:
        """A sprite for every key; those not kept are made all at once."""
        kept = {key: self._kept.get(key) for key in keys}
        found = {key: sprite for key, sprite in kept.items() if sprite is not None}
        missing = [key for key in kept if key not in found]
        if missing:
            found.update(zip(missing, self._make(missing), strict=True))
        for key, sprite in found.items():
            self._kept.pop(key, None)  # so that it stands last
            self._kept[key] = sprite
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return found

    def clear(self) -> None:
        self._kept.clear()


def forget() -> None:
    """Drop all kept sprites; pictures stay the same, the next one takes longer."""
    _TEXTS.clear()
    _GLYPHS.clear()


def anchor(label: Label) -> tuple[int, int]:
    """The whole pixel on which the left end of the label's base line stands in every kind of picture. Raises
    GeometryError where its place is not finite."""
    if not math.isfinite(label.x) or not math.isfinite(label.y):
        raise GeometryError(f"A label needs a finite place, given {(label.x, label.y)}.")
    return math.floor(label.x + 0.5), math.floor(label.y + 0.5)


class Lettering:
    """Cover of labels."""

    def __init__(self, labels: Sequence[tuple[int, Label]], grid: Grid) -> None:
        keys: list[_Text] = []
        shown: list[tuple[int, Label]] = []
        for item, label in labels:
            numbers = (label.x, label.y, label.size, label.ink.width, label.ink.halo)
            if not all(math.isfinite(one) for one in numbers) or min(numbers[2:]) < 0 or label.size > LARGEST_SIZE:
                raise GeometryError(
                    "A label's place, size, stroke width and halo must be finite and not negative, its size at most "
                    f"{LARGEST_SIZE:g}, given {numbers}."
                )
            if label.text.strip() and label.size > 0 and _near(label, grid):
                shown.append((item, label))
                keys.append((label.text, label.size, label.ink.width, label.ink.halo))
        items, tiles = [np.zeros(0, np.int64)], [np.zeros(0, np.int64)]
        self._cells: list[Singles] = []
        sprites = _TEXTS.sprites(keys)
        for (item, label), key in zip(shown, keys, strict=True):
            sprite = sprites[key]
            x, y = anchor(label)
            column, inset_x = divmod(x + sprite.left, SIDE)
            row, inset_y = divmod(y + sprite.top, SIDE)
            high, wide = sprite.cover.shape[1:]
            rows, columns = -(-(inset_y + high) // SIDE), -(-(inset_x + wide) // SIDE)
            box = np.zeros((2, rows * SIDE, columns * SIDE), np.float32)
            box[:, inset_y : inset_y + high, inset_x : inset_x + wide] = sprite.cover
            top, bottom = max(-row, 0), min(grid.rows - row, rows)
            left, right = max(-column, 0), min(grid.columns - column, columns)
            if top >= bottom or left >= right:
                continue
            cells = box.reshape(2, rows, SIDE, columns, SIDE)[:, top:bottom, :, left:right].swapaxes(2, 3)
            self._cells.append(cells.reshape(2, -1, AREA))
            tile = np.arange(row + top, row + bottom)[:, None] * grid.columns + np.arange(column + left, column + right)
            tiles.append(tile.reshape(-1))
            items.append(np.full(tile.size, item, np.int64))
        self.item: Whole = np.concatenate(items)
        self.tile: Whole = np.concatenate(tiles)

    def paint(self, core: Singles, halo: Singles, place: Whole) -> None:
        done = 0
        for cells in self._cells:
            at = place[done : done + cells.shape[1]]
            core[at], halo[at] = cells
            done += len(at)


def _near(label: Label, grid: Grid) -> bool:
    """Whether the label can reach the frame, generously; far ones would cost memory for nothing."""
    room = 2 * label.size + label.ink.width + label.ink.halo
    return (
        -room - font.text_width(label.text, label.size) < label.x < grid.width + room
        and -room < label.y < grid.height + room
    )


def _composed(texts: Sequence[_Text]) -> list[_Sprite]:
    """Sprites of texts from those of their characters; where two touch, the greater coverage holds."""
    rows: list[list[tuple[int, _Glyph]]] = []
    for text, *ink in texts:
        size, width, halo = ink
        steps = [math.floor(x * _PHASES + 0.5) for x in font.places(text, size)]
        rows.append(
            [
                (step // _PHASES, (one, step % _PHASES, size, width, halo))
                for step, one in zip(steps, text, strict=True)
                if font.strokes(one, size)
            ]
        )
    glyphs = _GLYPHS.sprites([glyph for row in rows for _, glyph in row])
    out: list[_Sprite] = []
    for row in rows:
        parts = [(at + glyphs[glyph].left, glyphs[glyph]) for at, glyph in row]
        left, top = min(at for at, _ in parts), min(one.top for _, one in parts)
        wide = max(at + one.cover.shape[2] for at, one in parts) - left
        high = max(one.top + one.cover.shape[1] for _, one in parts) - top
        cover = np.zeros((2, high, wide), np.float32)
        for at, one in parts:
            down, across = one.top - top, at - left
            part = cover[:, down : down + one.cover.shape[1], across : across + one.cover.shape[2]]
            np.maximum(part, one.cover, out=part)
        out.append(_Sprite(cover, left, top))
    return out


def _stroked(keys: Sequence[_Glyph]) -> list[_Sprite]:
    """Sprites of characters: all of them one under the other in one picture, stroked together, then cut apart."""
    lines: list[tuple[int, Line]] = []
    marks: list[tuple[int, Dot]] = []
    boxes: list[tuple[int, int, int, int]] = []
    bottom, widest = 0, 1
    for number, (character, phase, size, width, halo) in enumerate(keys):
        margin = math.ceil(width * font.DOT_FACTOR / 2 + halo + 1)
        shapes = font.strokes(character, size)
        reach = np.concatenate([one.points for one in shapes]) + np.array((phase / _PHASES, 0.0))
        left, top = (int(one) - margin for one in np.floor(reach.min(axis=0)))
        right, low = (int(one) + margin for one in np.ceil(reach.max(axis=0)))
        for one in shapes:
            # On a grid that whole pixels do not disturb: a sprite must not depend on which others are made with it.
            at = np.round(one.points * _GRAIN) / _GRAIN + np.array((phase / _PHASES - left, bottom - top))
            ink = Ink((1, 1, 1), width * one.factor, halo=halo)
            if len(at) == 1:
                marks.append((number, Dot(at[0, 0], at[0, 1], ink.width / 2, ink)))
            else:
                lines.append((number, Line(at, ink)))
        boxes.append((bottom, low - top + 1, left, top))
        widest = max(widest, right - left + 1)
        bottom += -(-(low - top + 1) // SIDE) * SIDE
    grid = Grid(widest, bottom)
    core, halo = np.zeros((2, grid.rows, SIDE, grid.columns, SIDE), np.float32)
    segments, spots = segments_of(lines, grid)
    covers: tuple[Cover, ...] = (Strokes(segments, grid), Discs(marks, spots, grid))
    for cover in covers:
        inner, outer = np.zeros((2, len(cover.tile), AREA), np.float32)
        cover.paint(inner, outer, np.arange(len(cover.tile)))
        order = np.argsort(cover.tile, kind="stable")
        _, _, number = runs(cover.tile[order])
        # A dot and its neighbour may share a tile: the first of every tile, then the second ...
        for one in range(int(number.max(initial=-1)) + 1):
            pick = order[number == one]
            row, column = cover.tile[pick] // grid.columns, cover.tile[pick] % grid.columns
            for whole, part in ((core, inner), (halo, outer)):
                whole[row, :, column] = np.maximum(whole[row, :, column], part[pick].reshape(-1, SIDE, SIDE))
    whole = np.stack((core, halo)).reshape(2, grid.rows * SIDE, grid.columns * SIDE)
    out: list[_Sprite] = []
    for begin, high, left, top in boxes:
        cut = whole[:, begin : begin + high]
        wide = int(np.flatnonzero(cut.any(axis=(0, 1))).max(initial=0)) + 1
        out.append(_Sprite(cut[:, :, :wide].copy(), left, top))
    return out


_GLYPHS = _Shelf(_stroked, _MOST_GLYPHS)
_TEXTS = _Shelf(_composed, _MOST_TEXTS)
