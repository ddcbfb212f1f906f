"""Walks over time, one chart below the other on the same seconds: a row for each quantity, a line for each walk.

A walk is told from the others by its colour and by its dashes, so that a print without colour tells them too.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..compare.over_time import QUANTITIES, Curve, Quantity, curve_of
from ..compare.walks import Compared
from .chart_paper import BLACK, BLUE, GREEN, GREY, PURPLE, TEXT_SIZE, TITLE_SIZE, VERMILION, WHITE, Axes, sheet, words
from .drawing import Colour, Dot, Drawing, Ink, Item, Layer, Line
from .font import text_width
from .weight_chart import caution_items

Floats = npt.NDArray[np.float64]

WIDTH = 1600
_LEFT, _RIGHT = 120.0, 1560.0
_PANEL, _BETWEEN = 400.0, 96.0  # height of a chart, and what lies between two
_LINE = 34.0  # from one line of the legend to the next
_SAMPLE = 90.0  # length of a line in the legend
_COLOURS: tuple[Colour, ...] = (BLUE, VERMILION, GREEN, PURPLE, BLACK, GREY)
_DASHES: tuple[tuple[float, float] | None, ...] = (None, (16.0, 9.0), (3.0, 8.0), (26.0, 8.0))
_NEAR = 7.0  # pixels: dots nearer than this to each other say nothing


def compare_chart(walks: Sequence[Compared], title: str) -> Drawing:
    """The chart of a comparison: its height grows with QUANTITIES and with the legend."""
    legend, below = _legend(walks)
    end = max(one.seconds for one in walks)
    charts: list[Item] = []
    lines: list[Item] = []
    top = below + 56.0
    known = [(quantity, [curve_of(one.plan, quantity) for one in walks]) for quantity in QUANTITIES]
    known = [(quantity, curves) for quantity, curves in known if any(len(one.values) for one in curves)]
    for k, (quantity, curves) in enumerate(known):
        box = (_LEFT, top, _RIGHT, top + _PANEL)
        axes = Axes(box, (0.0, end), _span(curves))
        last = k == len(known) - 1
        charts += axes.items("seconds" if last else "", _title(quantity))
        for number, curve in enumerate(curves):
            lines += _curve(axes, curve, number)
        top += _PANEL + _BETWEEN
    if any(quantity.load for quantity, _ in known):
        legend += caution_items(_LEFT - 50, top + 10.0)
        top += 62.0
    layers = (
        Layer("paper", (sheet(WIDTH, round(top - 10.0)), words(title, _LEFT - 50, 62, TITLE_SIZE)), still=True),
        Layer("axes", tuple(charts), still=True),
        Layer("walks", tuple(lines), still=True),
        Layer("words", tuple(legend), still=True),
    )
    return Drawing(WIDTH, round(top - 10.0), layers)


def ink_of(number: int) -> Ink:
    """The line of the walk of that number, from 0: another colour each, other dashes from one to the next."""
    return Ink(_COLOURS[number % len(_COLOURS)], 3.2, dash=_DASHES[number % len(_DASHES)])


def _title(quantity: Quantity) -> str:
    return f"{quantity.title}, {quantity.unit}" if quantity.unit else quantity.title


def _span(curves: Sequence[Curve]) -> tuple[float, float]:
    values = np.concatenate([curve.values for curve in curves])
    if not len(values):
        return 0.0, 1.0
    least, most = float(values.min()), float(values.max())
    edge = max(0.12 * (most - least), 0.5)
    return least - edge, most + edge


def _curve(axes: Axes, curve: Curve, number: int) -> list[Item]:
    """A line through the poses, a dot a pose where they stand far enough apart, a large one at every contact."""
    if not len(curve.values):
        return []
    at = axes.at(curve.seconds, curve.values)
    ink = ink_of(number)
    apart = float(np.median(np.diff(at[:, 0]))) if len(at) > 1 else np.inf
    items: list[Item] = [Line(at, ink)]
    for (x, y), contact in zip(at.tolist(), curve.contact.tolist(), strict=True):
        if contact or apart >= _NEAR:
            # a halo around small dots would cut a whole line into dashes
            items.append(
                Dot(x, y, 6.5 if contact else 4.0, Ink(ink.colour, 0.0, 1.0, 1.5 if contact else 0.0, 1.0, WHITE))
            )
    return items


def _legend(walks: Sequence[Compared]) -> tuple[list[Item], float]:
    """A sample of every line with its walk's name, in as few lines as hold them; and where the last line ends."""
    items: list[Item] = []
    x, y = _LEFT - 50, 112.0
    for number, one in enumerate(walks):
        text = one.label if one.title in ("", one.label) else f"{one.label}: {one.title}"
        while text_width(text, TEXT_SIZE) > WIDTH - 3 * _SAMPLE and len(text) > 4:
            text = text[:-4] + "..."
        wide = _SAMPLE + 14 + text_width(text, TEXT_SIZE) + 50
        if x + wide > WIDTH and x > _LEFT:
            x, y = _LEFT - 50, y + _LINE
        ink = ink_of(number)
        items.append(Line(np.array([[x, y - 7], [x + _SAMPLE, y - 7]]), ink))
        items.append(Dot(x + _SAMPLE / 2, y - 7, 6.5, Ink(ink.colour, 0.0, 1.0, 1.5, 1.0, WHITE)))
        items.append(words(text, x + _SAMPLE + 14, y))
        x += wide
    y += _LINE
    items.append(words("a dot a pose, a large one at contact", _LEFT - 50, y, 18.0))
    return items, y
