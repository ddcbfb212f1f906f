"""A page as data: lines, areas, rings and dots in millimetres (x right, y down from the page's top left corner), and
words. What reads it makes the PDF.

Ink widths are millimetres. Nothing is told by colour alone: inks are black and greys.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from ..draw.drawing import Area, Colour, Dot, Ink, Line, Ring
from ..errors import ModelError

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a3": (297.0, 420.0)}
"""Width and height, upright. Source of A4 and A3: ISO 216; letter: ANSI/ASME Y14.1, 8.5 x 11 inches."""

SHEET_NAMES = ("exposure", "floor", "gauge", "screen", "chart", "edge", "underside", "cards")
"""What can be asked for by name, in order."""

POINTS_PER_MM = 72.0 / 25.4
BLACK: Colour = (0.0, 0.0, 0.0)
DARK: Colour = (0.35, 0.35, 0.35)
MIDDLE: Colour = (0.6, 0.6, 0.6)
PALE: Colour = (0.85, 0.85, 0.85)
WHITE: Colour = (1.0, 1.0, 1.0)

THIN = Ink(BLACK, 0.13)
FINE = Ink(DARK, 0.1)
PLAIN = Ink(BLACK, 0.25)
BOLD = Ink(BLACK, 0.5)
DASHED = Ink(BLACK, 0.2, dash=(2.0, 1.5))

MARGIN_MM = 10.0
FOOT_MM = 6.0
"""Room over the lower margin for the line that names file, identity, date and page."""


@dataclass(frozen=True)
class Words:
    """One line of text. (x, y): left end of its base line, its middle or its right end, as `side` says. size in
    points."""

    text: str
    x: float
    y: float
    size: float = 8.0
    bold: bool = False
    side: str = "left"
    colour: Colour = BLACK


@dataclass(frozen=True, eq=False)
class Clipped:
    """Marks of another drawing in a window of the page. window: left, top, width, height; shift: added to the marks'
    places."""

    marks: tuple[Mark, ...]
    window: tuple[float, float, float, float]
    shift: tuple[float, float] = (0.0, 0.0)


Mark = Line | Area | Ring | Dot | Words | Clipped


@dataclass(frozen=True, eq=False)
class Page:
    """One page; its foot line is added where it is written."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Paper:
    """The paper that sheets are made for. name: of PAPERS_MM."""

    name: str = "a4"
    size_mm: tuple[float, float] = field(init=False)

    def __post_init__(self) -> None:
        if self.name not in PAPERS_MM:
            raise ModelError("paper", "one of " + ", ".join(PAPERS_MM), repr(self.name))
        object.__setattr__(self, "size_mm", PAPERS_MM[self.name])

    def upright(self, marks: list[Mark]) -> Page:
        return Page(*self.size_mm, tuple(marks))

    def lying(self, marks: list[Mark]) -> Page:
        return Page(self.size_mm[1], self.size_mm[0], tuple(marks))


def line(x1: float, y1: float, x2: float, y2: float, ink: Ink = THIN) -> Line:
    return Line(np.array([[x1, y1], [x2, y2]]), ink)


def box(x: float, y: float, width: float, height: float, ink: Ink = THIN) -> Line:
    """The outline of a rectangle."""
    return Line(corners(x, y, width, height), ink, closed=True)


def filled(x: float, y: float, width: float, height: float, colour: Colour) -> Area:
    return Area((corners(x, y, width, height),), colour, 1.0)


def corners(x: float, y: float, width: float, height: float) -> npt.NDArray[np.float64]:
    """(4, 2)."""
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]], dtype=np.float64)


def box_of(mark: Mark) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a mark; of words roughly, on their generous side."""
    match mark:
        case Line():
            points, more = mark.points, 0.5 * mark.ink.width
        case Area():
            points, more = np.concatenate(mark.rings), 0.0
        case Ring():
            points, more = np.array([[mark.x, mark.y]]), mark.radius + 0.5 * mark.ink.width
        case Dot():
            points, more = np.array([[mark.x, mark.y]]), mark.radius
        case Clipped():
            left, top, width, height = mark.window
            points, more = corners(left, top, width, height), 0.0
        case Words():
            tall, wide = mark.size / POINTS_PER_MM, 0.7 * len(mark.text) * mark.size / POINTS_PER_MM
            left = mark.x - wide * {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.side]
            points, more = np.array([[left, mark.y - tall], [left + wide, mark.y + 0.3 * tall]]), 0.0
    low, high = points.min(axis=0) - more, points.max(axis=0) + more
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
