"""The edge strip at 1:1: lies along the stage's edge, out of the picture, parallel to the start heading. Every mark is
projected square from the track, so that a set square finds a pose again when the template is gone."""

from __future__ import annotations

import math

from .floor_places import FloorPlaces
from .page import (
    BOLD,
    DASHED,
    FINE,
    FOOT_MM,
    MARGIN_MM,
    PLAIN,
    THIN,
    Clipped,
    Mark,
    Page,
    Paper,
    Words,
    box,
    box_of,
    line,
)
from .room import Room
from .tiling import control_rulers

_TALL_MM = 44.0
_OVERLAP_MM = 10.0
_SIDE_MM = 12.0


def strip_pages(places: FloorPlaces, paper: Paper) -> list[Page]:
    """Lying pages of pieces that overlap by 10 mm, in order."""
    marks, low, high = _strip(places)
    boxes = [box_of(mark) for mark in marks]
    height, width = paper.size_mm
    left, top = MARGIN_MM + _SIDE_MM, MARGIN_MM + 16.0
    window = width - MARGIN_MM - left
    step = window - _OVERLAP_MM
    count = max(1, math.ceil((high - low - _OVERLAP_MM) / step))
    each = max(1, int((height - top - MARGIN_MM - FOOT_MM) // (_TALL_MM + 8.0)))
    pages: list[Page] = []
    for first in range(0, count, each):
        own: list[Mark] = [
            Words("Edge strip: lay it along the stage's edge, parallel to the start heading, 0 square to the datum",
                  MARGIN_MM, MARGIN_MM + 4.0, 9, bold=True),
            Words("Up: poses, under the reference point. Down: F footprints at their tie-downs. Pieces overlap by "
                  "10 mm: cut at the dashed line, same millimetres on each other. A pose whose number has no room has "
                  "its mark alone.", MARGIN_MM, MARGIN_MM + 8.0, 7),
        ]  # fmt: skip
        own += control_rulers(left, MARGIN_MM + 12.0, MARGIN_MM + 4.0, top)
        for k in range(first, min(first + each, count)):
            y = top + 4.0 + (k - first) * (_TALL_MM + 8.0)
            start = low + k * step
            shown = tuple(
                mark for mark, one in zip(marks, boxes, strict=True) if one[0] < start + window and one[2] > start
            )
            own.append(Clipped(shown, (left, y, window, _TALL_MM), (left - start, y + 0.62 * _TALL_MM)))
            own.append(box(left, y, window, _TALL_MM, FINE))
            if k + 1 < count:
                cut = left + window - 0.5 * _OVERLAP_MM
                own.append(line(cut, y, cut, y + _TALL_MM, DASHED))
            own.append(Words(f"piece {k + 1} of {count}", left + 1.0, y - 0.8, 6.5, bold=True))
        pages.append(paper.lying(own))
    return pages


def _strip(places: FloorPlaces) -> tuple[list[Mark], float, float]:
    """Marks with x = along from the datum and the scale's line at y = 0; where the strip begins and ends."""
    low, high = float(places.low[0]) - 8.0, float(places.high[0]) + 8.0
    marks: list[Mark] = [line(low, 0, high, 0, BOLD)]
    for mm in range(math.ceil(low), math.floor(high) + 1):
        long = 3.0 if mm % 10 == 0 else 2.0 if mm % 5 == 0 else 1.2
        marks.append(line(mm, 0, mm, long, FINE))
        if mm % 10 == 0:
            marks.append(Words(str(mm), mm, 5.3, 5, side="middle"))
    above, below = Room(), Room()
    above.take((-0.6, -25.0, 0.6, -9.5))
    above.take((0.6, -25.0, 11.0, -19.5))
    below.take((-0.6, 7.0, 0.6, 16.0))
    at = places.reference[:, 0].tolist()
    for k in sorted(range(len(at)), key=lambda k: (k % 5 != 0 or k == 0) and k + 1 != len(at)):
        marks.append(line(at[k], -4.0, at[k], 0, PLAIN))
        words = above.words(str(k + 1), [(at[k], -6.0 - 3.1 * row) for row in range(6)], 7.5, bold=True)
        if words:
            marks += [line(at[k], words.y + 0.5, at[k], 0, THIN), words]
    for one in places.prints:
        x = float(one.tie[0])
        words = below.words(f"F{one.number}", [(x, 8.2 + 3.0 * row) for row in range(3)], 7.5, bold=True)
        if words:
            marks += [line(x, 0, x, words.y - 2.5, PLAIN), words]
    marks += [line(0, -24.0, 0, -9.5, BOLD), line(0, 7.0, 0, 15.0, BOLD), Words("DATUM", 0.8, -22.0, 6.5, bold=True)]
    return marks, low, high
