"""The range test's sheet as a drawing to print: the same words as its text, with lines to write on."""

from __future__ import annotations

import numpy as np

from ..check.bench_words import BACK, BLANK, HOW_TO, SheetLeg, sheet_of, title_of
from ..model.puppet import Puppet
from .chart_paper import BLACK, GREY, PALE, TITLE_SIZE, sheet, words
from .drawing import Drawing, Ink, Item, Layer, Line
from .font import text_width

_EDGE, _SIZE, _LINE, _GAP = 60.0, 20.0, 40.0, 26.0
_NUMBERS = (1, 2, 4, 5)  # columns that are set to the right


def bench_drawing(puppet: Puppet) -> Drawing:
    """The sheet of a puppet in pixels: as wide and as high as its words need."""
    parts = sheet_of(puppet)
    widths = _widths(parts)
    y = _EDGE + 30.0
    items: list[Item] = [words(title_of(puppet), _EDGE, y, TITLE_SIZE)]
    y += 14.0
    for line in HOW_TO:
        y += 30.0
        items.append(words(line, _EDGE, y, _SIZE - 2))
    for part in parts:
        y = _part(items, part, widths, y + 1.6 * _LINE)
    y += 0.8 * _LINE
    for line in BACK:
        y += 30.0
        items.append(words(line, _EDGE, y, _SIZE - 2))
    texts = [*HOW_TO, *BACK, *(line for part in parts for line in part.said)]
    wide = max(sum(widths) + _GAP * (len(widths) - 1), *(text_width(line, _SIZE) for line in texts))
    width, height = int(wide + 2 * _EDGE), int(y + _EDGE)
    layers = (Layer("paper", (sheet(width, height),), still=True), Layer("sheet", tuple(items), still=True))
    return Drawing(width, height, layers)


def _widths(parts: tuple[SheetLeg, ...]) -> list[float]:
    columns = zip(*(row for part in parts for row in part.table), strict=True)
    return [max(text_width(cell, _SIZE) for cell in column) for column in columns]


def _part(items: list[Item], part: SheetLeg, widths: list[float], y: float) -> float:
    """Add one leg's part from the base line y on; returns its last base line."""
    right = _EDGE + sum(widths) + _GAP * (len(widths) - 1)
    items.append(words(part.title, _EDGE, y, _SIZE + 4))
    for what, length, read in part.lengths:
        y += _LINE
        items.append(words(f"{what}: {length}, measured", _EDGE, y, _SIZE))
        _cell(items, read, _EDGE + text_width(f"{what}: {length}, measured", _SIZE) + _GAP, y, 90.0, right=False)
    for k, row in enumerate(part.table):
        y += _LINE
        x = _EDGE
        for column, (cell, width) in enumerate(zip(row, widths, strict=True)):
            _cell(items, cell, x, y, width, right=column in _NUMBERS)
            x += width + _GAP
        rule = Ink(BLACK, 2.0) if k == 0 else Ink(PALE, 1.2)
        items.append(Line(np.array([[_EDGE, y + 12.0], [right, y + 12.0]]), rule))
    for line in part.said:
        y += _LINE
        items.append(words(line, _EDGE, y, _SIZE))
    return y


def _cell(items: list[Item], text: str, x: float, y: float, width: float, *, right: bool) -> None:
    if text == BLANK:
        items.append(Line(np.array([[x, y + 5.0], [x + width, y + 5.0]]), Ink(GREY, 1.6)))
    elif text:
        items.append(words(text, x + (width - text_width(text, _SIZE) if right else 0.0), y, _SIZE))
