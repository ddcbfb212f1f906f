"""A drawing that is larger than the paper, cut into pages at 1:1 that are laid over each other.

Neighbouring pages overlap; crosses in the overlap are printed on both and are laid one on the other. Each page has a
control ruler in both directions and a map of all pages.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..draw.drawing import Line
from .lettering import broken
from .page import (
    BOLD,
    DASHED,
    FINE,
    FOOT_MM,
    MARGIN_MM,
    MIDDLE,
    PLAIN,
    THIN,
    Clipped,
    Mark,
    Page,
    Paper,
    Words,
    box,
    box_of,
    filled,
    line,
)  # fmt: skip

Floats = npt.NDArray[np.float64]

RULER_MM = 100.0
OVERLAP_MM = 14.0
_SIDE_MM = 12.0  # room for the upright ruler
_BELOW_MM = 15.0  # room for the lying ruler, the map and a note


@dataclass(frozen=True)
class Tile:
    """A page's part of the drawing: column and row from 0; left, top: the drawing's place of its window's corner."""

    column: int
    row: int
    left: float
    top: float


@dataclass(frozen=True)
class Tiling:
    """How a drawing is cut. window: width and height of what a page shows; tiles in the order of the pages."""

    paper: Paper
    lying: bool
    window: tuple[float, float]
    tiles: tuple[Tile, ...]

    @property
    def page_size(self) -> tuple[float, float]:
        width, height = self.paper.size_mm
        return (height, width) if self.lying else (width, height)

    def corner(self) -> tuple[float, float]:
        """The window's upper left corner on every page."""
        return MARGIN_MM + _SIDE_MM, MARGIN_MM


def tiling_of(marks: Sequence[Mark], paper: Paper, edge_mm: float = 4.0) -> Tiling:
    """The way, upright or lying, that needs fewer pages; pages without marks are left out."""
    touched, boxes = _touching(marks)
    found: list[Tiling] = []
    for lying in (True, False):
        width, height = paper.size_mm[::-1] if lying else paper.size_mm
        window = width - 2 * MARGIN_MM - _SIDE_MM, height - 2 * MARGIN_MM - FOOT_MM - _BELOW_MM
        step = window[0] - OVERLAP_MM, window[1] - OVERLAP_MM
        low, high = boxes[:, :2].min(axis=0) - edge_mm, boxes[:, 2:].max(axis=0) + edge_mm
        counts = [max(1, math.ceil((high[k] - low[k] - OVERLAP_MM) / step[k])) for k in (0, 1)]
        spare = [counts[k] * step[k] + OVERLAP_MM - (high[k] - low[k]) for k in (0, 1)]
        start = [float(low[k]) - 0.5 * spare[k] for k in (0, 1)]
        tiles: list[Tile] = []
        for row in range(counts[1]):
            for column in range(counts[0]):
                left, top = start[0] + column * step[0], start[1] + row * step[1]
                if touched(left, top, *window).any():
                    tiles.append(Tile(column, row, left, top))
        found.append(Tiling(paper, lying, window, tuple(tiles)))
    return min(found, key=lambda one: len(one.tiles))


def _touching(marks: Sequence[Mark]) -> tuple[Callable[[float, float, float, float], npt.NDArray[np.bool_]], Floats]:
    """A function of a window (left, top, width, height) that says of which marks (n,) it shows something; and the boxes
    (n, 4) of their pieces. A long line is looked at piece by piece: the box around it holds much that it misses."""
    owner: list[int] = []
    pieces: list[tuple[float, float, float, float]] = []
    for k, mark in enumerate(marks):
        if isinstance(mark, Line) and len(mark.points) > 2 and not mark.closed:
            ends = np.hstack((mark.points[:-1], mark.points[1:]))
            parts = np.stack((ends[:, [0, 2]].min(1), ends[:, [1, 3]].min(1), ends[:, [0, 2]].max(1),
                              ends[:, [1, 3]].max(1)), axis=1)  # fmt: skip
            pieces += [(a, b, c, d) for a, b, c, d in parts.tolist()]
            owner += [k] * len(parts)
        else:
            pieces.append(box_of(mark))
            owner.append(k)
    boxes, owners = np.array(pieces), np.array(owner)

    def touched(left: float, top: float, width: float, height: float) -> npt.NDArray[np.bool_]:
        inside = ((boxes[:, 0] < left + width) & (boxes[:, 2] > left)
                  & (boxes[:, 1] < top + height) & (boxes[:, 3] > top))  # fmt: skip
        return np.bincount(owners, weights=inside, minlength=len(marks)) > 0

    return touched, boxes


def tiled_pages(marks: Sequence[Mark], tiling: Tiling, note: str) -> list[Page]:
    """A page a tile. note: one line under the drawing."""
    touched, _ = _touching(marks)
    numbers = {(tile.column, tile.row): number for number, tile in enumerate(tiling.tiles, 1)}
    pages: list[Page] = []
    x, y = tiling.corner()
    width, height = tiling.window
    for tile in tiling.tiles:
        inside = touched(tile.left, tile.top, width, height)
        shown = tuple(mark for mark, shows in zip(marks, inside.tolist(), strict=True) if shows)
        clipped = Clipped(shown, (x, y, width, height), (x - tile.left, y - tile.top))
        own: list[Mark] = [clipped, box(x, y, width, height, FINE), *_seams(tiling, tile, numbers)]
        own += control_rulers(x, y + height + 4.5, MARGIN_MM + 4.0, y)
        own += _map(tiling, tile, numbers, note)
        pages.append(Page(*tiling.page_size, tuple(own)))
    return pages


def control_rulers(x: float, below: float, beside: float, top: float) -> list[Mark]:
    """100 mm to the right from (x, below) and 100 mm down from (beside, top), a tick every 10 mm."""
    marks: list[Mark] = [line(x, below, x + RULER_MM, below, PLAIN), line(beside, top, beside, top + RULER_MM, PLAIN)]
    for k in range(11):
        long = 2.4 if k % 5 == 0 else 1.4
        marks.append(line(x + 10.0 * k, below, x + 10.0 * k, below + long, THIN))
        marks.append(line(beside, top + 10.0 * k, beside - long, top + 10.0 * k, THIN))
        if k % 5 == 0:
            marks.append(Words(f"{10 * k}", x + 10.0 * k + 0.6, below + 3.6, 6))
            marks.append(Words(f"{10 * k}", beside + 0.8, top + 10.0 * k + (2.0 if k == 0 else 0.8), 6))
    marks.append(Words("must measure 100 mm, both rulers; if not, print again at 100 %", x + 4.0, below - 1.0, 6))
    return marks


def _seams(tiling: Tiling, tile: Tile, numbers: dict[tuple[int, int], int]) -> list[Mark]:
    """Crosses in the overlaps and a dashed line through their middle along which the upper page is cut."""
    x, y = tiling.corner()
    width, height = tiling.window
    marks: list[Mark] = []
    here = numbers[tile.column, tile.row]
    for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = numbers.get((tile.column + dx, tile.row + dy))
        if other is None:
            continue
        pair = f"{min(here, other)}/{max(here, other)}"
        if dx:
            middle = x + (0.5 * OVERLAP_MM if dx < 0 else width - 0.5 * OVERLAP_MM)
            marks.append(line(middle, y, middle, y + height, DASHED))
            places = [(middle, y + share * height) for share in (0.15, 0.85)]
        else:
            middle = y + (0.5 * OVERLAP_MM if dy < 0 else height - 0.5 * OVERLAP_MM)
            marks.append(line(x, middle, x + width, middle, DASHED))
            places = [(x + share * width, middle) for share in (0.15, 0.85)]
        for cx, cy in places:
            marks += [line(cx - 4, cy, cx + 4, cy, BOLD), line(cx, cy - 4, cx, cy + 4, BOLD)]
            marks.append(Words(pair, cx + 1.0, cy - 1.2, 6, bold=True))
    return marks


def _map(tiling: Tiling, tile: Tile, numbers: dict[tuple[int, int], int], note: str) -> list[Mark]:
    """All pages as small boxes, this one grey, beside the ruler; below the ruler the note."""
    width, _ = tiling.page_size
    columns, rows = (1 + max(key[k] for key in numbers) for k in (0, 1))
    right, top = width - MARGIN_MM, tiling.corner()[1] + tiling.window[1] + 1.5
    room = right - (tiling.corner()[0] + RULER_MM + 10.0)
    cell_width, cell_height = min(9.0, room / columns), min(5.0, (_BELOW_MM - 2.0) / rows)
    left = right - columns * cell_width
    marks: list[Mark] = []
    for (column, row), number in numbers.items():
        at = left + column * cell_width, top + row * cell_height
        if number == numbers[tile.column, tile.row]:
            marks.append(filled(*at, cell_width, cell_height, MIDDLE))
        marks.append(box(*at, cell_width, cell_height, THIN))
        size = min(7.0, 2.2 * cell_height)
        marks.append(Words(str(number), at[0] + 0.5 * cell_width, at[1] + 0.5 * cell_height + 0.13 * size, size,
                           side="middle"))  # fmt: skip
    y = tiling.corner()[1] + tiling.window[1] + 11.0
    joined = "Lay the pages so that crosses of the same numbers meet; cut the upper page along the dashed line. "
    room = left - tiling.corner()[0] - 4.0
    for words in broken((joined if len(numbers) > 1 else "") + note, room, 6):
        marks.append(Words(words, tiling.corner()[0], y, 6))
        y += 2.6
    return marks
