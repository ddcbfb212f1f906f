"""The floor as a table: where every tie-down and toe mark is, with diagonals to check them by, for a ruler instead of
taped paper; and each foot's outline once at 1:1, to cut out and trace.

Two pins: A is the datum, B lies straight ahead of it. Along and across set a point; the diagonals from both pins and
from the print before find the mistakes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..camera.solids import sole_outline_mm
from ..draw.drawing import Line, Ring
from ..model.puppet import Puppet
from .cautions import DRILLING
from .floor_places import FloorPlaces, Print
from .instructions import leg_words
from .lettering import broken, cut_to
from .page import (
    BOLD,
    FINE,
    FOOT_MM,
    MARGIN_MM,
    PALE,
    PLAIN,
    THIN,
    Mark,
    Page,
    Paper,
    Words,
    filled,
    line,
)  # fmt: skip
from .row_words import number
from .tiling import control_rulers

_ROW = 4.6
_COLUMNS = (
    ("print", 30.0), ("poses", 18.0), ("tie along", 17.0), ("tie across", 18.0), ("height", 13.0), ("from A", 16.0),
    ("from B", 16.0), ("to the one before", 26.0), ("toe along", 0.0), ("toe across", 0.0),
)  # fmt: skip


def pin_b_mm(places: FloorPlaces) -> float:
    """How far ahead of the datum pin B is: whole 100 mm, past the middle of the walk, at least 200."""
    return max(200.0, 100.0 * math.ceil(0.6 * abs(float(places.high[0])) / 100.0))


def table_pages(places: FloorPlaces, paper: Paper, drill_mm: float) -> list[Page]:
    """Upright pages of all prints in the order of landing."""
    width, height = paper.size_mm
    bottom = height - MARGIN_MM - FOOT_MM
    pin = pin_b_mm(places)
    pages: list[Page] = []
    marks: list[Mark] = [Words("Footprints from the datum", MARGIN_MM, MARGIN_MM + 5, 12, bold=True)]
    y = MARGIN_MM + 6.0
    about = (
        f"All in mm; across: left +. Pin A is the datum, pin B is {pin:g} mm straight ahead of it. Along and across "
        f"set a tie-down; its distances from A, from B and from the tie-down of the print before are to check it "
        f"by. Drill {drill_mm:g} mm. {DRILLING}"
    )
    for words in broken(about, width - 2 * MARGIN_MM, 7.5):
        y += 3.6
        marks.append(Words(words, MARGIN_MM, y, 7.5))
    y = _head(marks, width, y + 2.0)
    for before, one in zip((None, *places.prints), places.prints, strict=False):
        if y + _ROW > bottom:
            pages.append(paper.upright(marks))
            marks = []
            y = _head(marks, width, MARGIN_MM + 2.0)
        for text, x in zip(_cells(one, before, pin), _edges(width), strict=True):
            marks.append(Words(cut_to(text, 29.0, 8), x, y + 3.3, 8, bold=x == MARGIN_MM))
        y += _ROW
        marks.append(line(MARGIN_MM, y, width - MARGIN_MM, y, FINE))
    pages.append(paper.upright(marks))
    return pages


def _edges(width: float) -> list[float]:
    edges: list[float] = []
    x = MARGIN_MM
    for _, wide in _COLUMNS:
        edges.append(x)
        x += wide or 0.5 * (width - 2 * MARGIN_MM - sum(one for _, one in _COLUMNS))
    return edges


def _head(marks: list[Mark], width: float, y: float) -> float:
    marks.append(filled(MARGIN_MM, y, width - 2 * MARGIN_MM, 5.4, PALE))
    for (text, _), x in zip(_COLUMNS, _edges(width), strict=True):
        marks.append(Words(text, x + 0.3, y + 3.7, 7, bold=True))
    marks.append(line(MARGIN_MM, y + 5.4, width - MARGIN_MM, y + 5.4, PLAIN))
    return y + 5.4


def _cells(one: Print, before: Print | None, pin_mm: float) -> list[str]:
    x, y = one.tie.tolist()
    back = "" if before is None else number(float(np.hypot(*(one.tie - before.tie))))
    return [
        one.name + (f" ({one.hole})" if one.hole else ""),
        f"{one.first}-{one.last}",
        number(x),
        number(y),
        number(one.height_mm),
        number(math.hypot(x, y)),
        number(math.hypot(x - pin_mm, y)),
        back,
        number(float(one.toe[0])),
        number(float(one.toe[1])),
    ]


def stencil_pages(puppet: Puppet, paper: Paper, drill_mm: float) -> list[Page]:
    """Every leg's sole once at 1:1 with its centre line and tie-down, to cut out; a sole that is larger than the page
    is left out, and said."""
    width, height = paper.size_mm
    right, bottom = width - MARGIN_MM, height - MARGIN_MM - FOOT_MM - 12.0
    pages: list[Page] = []
    marks = _stencil_head(bottom)
    x, y, tall = MARGIN_MM + 14.0, MARGIN_MM + 14.0, 0.0
    for leg in puppet.legs:
        outline = sole_outline_mm(leg, 49) * (1.0, -1.0)
        size = outline.max(axis=0) - outline.min(axis=0)
        wide, high = float(size[0]), float(size[1])
        name = f"{leg_words(leg.name)} foot"
        if wide > right - MARGIN_MM - 14.0 or high > bottom - MARGIN_MM - 20.0:
            marks.append(Words(f"{name}: larger than this paper, {wide:.0f} x {high:.0f} mm", x, y + 4.0, 8))
            y += 8.0
            continue
        if x + wide > right:
            x, y, tall = MARGIN_MM + 14.0, y + tall + 14.0, 0.0
        if y + high > bottom:
            pages.append(paper.upright(marks))
            marks = _stencil_head(bottom)
            x, y, tall = MARGIN_MM + 14.0, MARGIN_MM + 14.0, 0.0
        shift = np.array((x, y + 4.0)) - outline.min(axis=0)
        marks.append(Line(outline + shift, BOLD, closed=True))
        middle = float(shift[1])
        marks.append(line(x, middle, x + wide + 4.0, middle, THIN))
        tie_x, tie_y = (np.array((leg.tie_mm[0], -leg.tie_mm[1])) + shift).tolist()
        marks += [line(tie_x - 4, tie_y, tie_x + 4, tie_y, THIN), line(tie_x, tie_y - 4, tie_x, tie_y + 4, THIN)]
        marks.append(Ring(tie_x, tie_y, 0.5 * drill_mm, PLAIN))
        marks.append(Words(cut_to(name, max(wide, 30.0), 8, True), x, y + 2.0, 8, bold=True))
        x, tall = x + max(wide, 30.0) + 10.0, max(tall, high + 4.0)
    pages.append(paper.upright(marks))
    return pages


def _stencil_head(bottom: float) -> list[Mark]:
    said = "Soles at 1:1, to cut out: the line is the foot's own, ahead to the right; the cross hairs are its tie-down"
    marks: list[Mark] = [Words(said, MARGIN_MM, MARGIN_MM + 4.0, 8)]
    return marks + control_rulers(MARGIN_MM + 14.0, bottom + 5.0, MARGIN_MM + 4.0, MARGIN_MM + 14.0)


def floor_pages(
    template: Sequence[Page], places: FloorPlaces, puppet: Puppet, paper: Paper, drill_mm: float
) -> list[Page]:
    """The template, where the walk is short enough for one; the table; without a template the feet's stencils."""
    stencils = [] if template else stencil_pages(puppet, paper, drill_mm)
    return [*template, *table_pages(places, paper, drill_mm), *stencils]
