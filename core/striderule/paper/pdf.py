"""Pages -> the bytes of a PDF file, true to scale: one millimetre is 72 / 25.4 points.

The same pages give the same bytes: the file's date is the heading's day at noon, and nothing else of the run is in it.
Source: ISO 32000-1, 8.4 (graphics state), 8.5 (paths), 12.2 (viewer preferences: PrintScaling None).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from ..draw import font
from ..draw.drawing import Area, Colour, Dot, Ink, Line, Ring
from ..errors import GeometryError
from .heading import Heading
from .lettering import cut_to, in_print, width_mm
from .libraries import pdf_document
from .page import MARGIN_MM, POINTS_PER_MM, Clipped, Mark, Page, Words, corners

if TYPE_CHECKING:
    from fpdf import FPDF

Floats = npt.NDArray[np.float64]

_KAPPA = 0.5522847498  # of a quarter of a circle as one cubic curve; off by 0.03 % of its radius
_FOOT_SIZE = 6.5


def pdf_bytes(pages: Sequence[Page], heading: Heading, title: str) -> bytes:
    """The file. Raises GeometryError for a number that is not finite, MissingExtraError without fpdf2."""
    pdf = pdf_document()
    pdf.set_creation_date(datetime.combine(heading.day, time(12), UTC))
    pdf.set_title(f"{heading.shot}: {title}")
    pdf.set_creator(heading.maker)
    pdf.set_producer(heading.maker)
    pdf.set_auto_page_break(False)
    for number, page in enumerate(pages, 1):
        size = (page.width_mm, page.height_mm)
        pdf.add_page(orientation="P", format=size)
        writer = _PageWriter(pdf, page.height_mm)
        writer.write((*page.marks, *_foot(page, heading, title, f"{number} of {len(pages)}")))
    return bytes(pdf.output())


def _foot(page: Page, heading: Heading, title: str, number: str) -> tuple[Mark, ...]:
    """The line under every page: where it comes from, what it is, which page."""
    y = page.height_mm - MARGIN_MM + 1.0
    right = page.width_mm - MARGIN_MM
    count = width_mm(number, _FOOT_SIZE, bold=True)
    origin = width_mm(heading.origin, _FOOT_SIZE)
    whole = right - MARGIN_MM - count - 8.0
    said = cut_to(heading.origin, 0.62 * whole, _FOOT_SIZE) if origin > 0.62 * whole else heading.origin
    rest = whole - width_mm(said, _FOOT_SIZE)
    about = cut_to(f"{title}: {heading.shot}", rest, _FOOT_SIZE)
    return (
        Words(said, MARGIN_MM, y, _FOOT_SIZE),
        Words(about, right - count - 4.0, y, _FOOT_SIZE, side="right"),
        Words(number, right, y, _FOOT_SIZE, bold=True, side="right"),
    )


class _PageWriter:
    """Writes marks into the document's open page. Numbers have four places: fpdf2's own lines and texts are rounded to
    a hundredth of a point, which a ruler of 100 mm must not be."""

    def __init__(self, pdf: FPDF, height_mm: float) -> None:
        self._pdf, self._height = pdf, height_mm
        self._ink: tuple[object, ...] = ()
        self._fill: Colour | None = None
        self._font: tuple[bool, float] | None = None
        self._out: list[str] = []
        self._shift = (0.0, 0.0)

    def write(self, marks: Iterable[Mark]) -> None:
        self._out.append("1 J 1 j")
        self._marks(marks)
        self._flush()

    def _clipped(self, clipped: Clipped) -> None:
        left, top, width, height = clipped.window
        self._out += ["q", self._path(corners(left, top, width, height), True), "W n"]
        was, self._shift = self._shift, clipped.shift
        self._marks(clipped.marks)
        self._shift = was
        self._out.append("Q")
        # Q brings back what was chosen before q
        self._ink, self._fill, self._font = (), None, None

    def _marks(self, marks: Iterable[Mark]) -> None:
        for mark in marks:
            match mark:
                case Line():
                    self._line(mark)
                case Area():
                    self._filled(mark.colour)
                    self._out += ["".join(self._path(ring, True) for ring in mark.rings if len(ring)), "f"]
                case Ring():
                    self._stroked(mark.ink)
                    self._out += [self._circle(mark.x, mark.y, mark.radius), "S"]
                case Dot():
                    self._filled(mark.ink.colour)
                    self._out += [self._circle(mark.x, mark.y, mark.radius), "f"]
                case Words():
                    self._words(mark)
                case Clipped():
                    self._clipped(mark)

    def _flush(self) -> None:
        if self._out:
            self._pdf._out("\n".join(self._out))  # pyright: ignore[reportPrivateUsage]
            self._out = []

    def _line(self, line: Line) -> None:
        points = np.asarray(line.points, dtype=np.float64).reshape(-1, 2)
        if len(points):
            self._stroked(line.ink)
            self._out += [self._path(points, line.closed), "S"]

    def _path(self, points: Floats, closed: bool) -> str:
        at = (np.asarray(points, dtype=np.float64) + self._shift) * POINTS_PER_MM
        if not np.isfinite(at).all():
            raise GeometryError("A sheet has a number that is not finite.")
        top = self._height * POINTS_PER_MM
        steps = [f"{x:.4f} {top - y:.4f}" for x, y in at.tolist()]
        if len(steps) == 1:
            steps *= 2
        return f"{steps[0]} m " + "".join(f"{one} l " for one in steps[1:]) + ("h " if closed else "")

    def _circle(self, x: float, y: float, radius: float) -> str:
        c, k = POINTS_PER_MM, _KAPPA * radius
        mx, my = x + self._shift[0], self._height - y - self._shift[1]

        def at(*places: tuple[float, float]) -> str:
            return " ".join(f"{(mx + dx) * c:.4f} {(my + dy) * c:.4f}" for dx, dy in places)

        r = radius
        return (
            f"{at((r, 0))} m {at((r, k), (k, r), (0, r))} c {at((-k, r), (-r, k), (-r, 0))} c "
            f"{at((-r, -k), (-k, -r), (0, -r))} c {at((k, -r), (r, -k), (r, 0))} c h"
        )

    def _stroked(self, ink: Ink) -> None:
        look = (ink.colour, ink.width, ink.dash)
        if look != self._ink:
            on_off = " ".join(f"{one * POINTS_PER_MM:.4f}" for one in ink.dash or ())
            dash = f"[{on_off}] 0 d"
            self._out.append(f"{_tone(ink.colour)} RG {ink.width * POINTS_PER_MM:.4f} w {dash}")
            self._ink = look

    def _filled(self, colour: Colour) -> None:
        if colour != self._fill:
            self._out.append(f"{_tone(colour)} rg")
            self._fill = colour

    def _words(self, words: Words) -> None:
        if not words.text:
            return
        x = words.x
        if words.side != "left":
            x -= width_mm(words.text, words.size, words.bold) * (1.0 if words.side == "right" else 0.5)
        if not in_print(words.text):
            self._strokes(words, x)
            return
        chosen = (words.bold, words.size)
        if chosen != self._font:
            self._flush()
            self._pdf.set_font("helvetica", "B" if words.bold else "", words.size)
            self._pdf.text(0, 0, "")  # notes that the page needs this font, and chooses it
            self._font = chosen
        self._filled(words.colour)
        text = words.text.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
        right, down = x + self._shift[0], words.y + self._shift[1]
        at = f"{right * POINTS_PER_MM:.4f} {(self._height - down) * POINTS_PER_MM:.4f}"
        self._out.append(f"BT {at} Td ({text}) Tj ET")

    def _strokes(self, words: Words, x: float) -> None:
        size = words.size / POINTS_PER_MM
        width = size * (0.14 if words.bold else 0.1)
        for one in font.strokes(words.text, size):
            self._line(Line(one.points + np.array((x, words.y)), Ink(words.colour, width * one.factor)))


def _tone(colour: Colour) -> str:
    return " ".join(f"{part:.3f}".rstrip("0").rstrip(".") for part in colour)
