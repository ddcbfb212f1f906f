"""A chart on white paper: axes with round ticks, words that keep clear of each other, dark inks.

Source of the colours: Okabe & Ito, Color Universal Design, 2008; of the eight those that stay dark enough on white.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .drawing import Area, Colour, Ink, Item, Label, Line
from .font import ascent, descent, stroke_width, text_width

Floats = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)
BLUE: Colour = (0x00 / 255, 0x72 / 255, 0xB2 / 255)
VERMILION: Colour = (0xD5 / 255, 0x5E / 255, 0x00 / 255)
GREEN: Colour = (0x00 / 255, 0x9E / 255, 0x73 / 255)
PURPLE: Colour = (0xCC / 255, 0x79 / 255, 0xA7 / 255)
GREY: Colour = (0.45, 0.45, 0.45)
PALE: Colour = (0.86, 0.86, 0.86)

TITLE_SIZE, TEXT_SIZE, SMALL_SIZE = 30.0, 21.0, 19.0


def words(text: str, x: float, y: float, size: float = TEXT_SIZE, colour: Colour = BLACK) -> Label:
    """A line of text on paper: a white halo keeps lines out of its letters."""
    return Label(text, x, y, size, Ink(colour, stroke_width(size), 1.0, 3.0, 1.0, WHITE))


def sheet(width: int, height: int) -> Area:
    """The paper itself, so that a picture and an SVG look alike on any background."""
    w, h = width - 0.5, height - 0.5
    return Area((np.array([[-0.5, -0.5], [w, -0.5], [w, h], [-0.5, h]]),), WHITE, 1.0)


def segment_pixels(start: Floats, end: Floats, count: int) -> Floats:
    """(count, 2) pixels from one to another, both included, evenly apart."""
    return start + (end - start) * np.linspace(0.0, 1.0, count)[:, None]


def round_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 5 times a power of ten that divides `span` into at most `most` parts; 1 for no span."""
    if not span > 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(span / most))
    steps = [float(power * k) for k in (1, 2, 5, 10)]
    return next(one for one in steps if span / one <= most)


@dataclass(frozen=True)
class Axes:
    """A rectangle of pixels (left, top, right, bottom) and the values that it spans, x to the right and y up."""

    box: Box
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: npt.ArrayLike, y: npt.ArrayLike) -> Floats:
        """(n, 2) pixels of values (n,)."""
        left, top, right, bottom = self.box
        across = left + (np.asarray(x, dtype=float) - self.x[0]) / (self.x[1] - self.x[0]) * (right - left)
        down = bottom - (np.asarray(y, dtype=float) - self.y[0]) / (self.y[1] - self.y[0]) * (bottom - top)
        return np.stack(np.broadcast_arrays(across, down), axis=-1)

    def items(self, x_title: str, y_title: str) -> list[Item]:
        """Grid, frame, numbers and titles: x's below its numbers, y's above the frame."""
        left, top, right, bottom = self.box
        items: list[Item] = []
        grid = Ink(PALE, 1.2)
        for value in _ticks(*self.x, 12):
            (x, _), text = self.at(value, self.y[0]), f"{value:g}"
            items.append(Line(np.array([[x, top], [x, bottom]]), grid))
            items.append(words(text, x - text_width(text, SMALL_SIZE) / 2, bottom + 30, SMALL_SIZE))
        for value in _ticks(*self.y, 10):
            (_, y), text = self.at(self.x[0], value), f"{value:g}"
            items.append(Line(np.array([[left, y], [right, y]]), grid))
            items.append(words(text, left - 14 - text_width(text, SMALL_SIZE), y + ascent(SMALL_SIZE) / 2, SMALL_SIZE))
        frame = np.array([[left, top], [left, bottom], [right, bottom]])
        items.append(Line(frame, Ink(BLACK, 2.0)))
        items.append(words(x_title, (left + right - text_width(x_title, SMALL_SIZE)) / 2, bottom + 66, SMALL_SIZE))
        items.append(words(y_title, left - 50, top - 18, SMALL_SIZE))
        return items


def _ticks(least: float, most: float, count: int) -> list[float]:
    step = round_step(most - least, count)
    return [k * step for k in range(math.ceil(least / step - 1e-9), math.floor(most / step + 1e-9) + 1)]


class Room:
    """Finds room for words beside what they name, clear of lines, of other words and of the frame."""

    def __init__(self, box: Box) -> None:
        self._box = box
        self._taken: list[Box] = []
        self._points: Floats = np.empty((0, 2))

    def keep_clear(self, points: Floats) -> None:
        """Let no words lie on these pixels (n, 2), which stand near enough to each other for a line."""
        self._points = np.concatenate((self._points, points))

    def take(self, box: Box) -> None:
        """Let no words lie in this rectangle."""
        self._taken.append(box)

    def words(self, text: str, at: Floats, ways_deg: Sequence[float], colour: Colour = BLACK) -> list[Item]:
        """A text near the pixel `at`, with a thin line to it where it stands off. ways_deg: directions to try, the best
        first; 0 = right, 90 = up. Without room it is not said."""
        width, rise, fall = text_width(text, TEXT_SIZE), ascent(TEXT_SIZE), descent(TEXT_SIZE)
        for far in (18.0, 34.0, 60.0, 95.0, 140.0, 200.0):
            for turn in np.radians(ways_deg):
                way = np.array([np.cos(turn), -np.sin(turn)])
                corner = at + way * far
                x = corner[0] - width * (1.0 - way[0]) / 2
                y = corner[1] + rise / 2 + way[1] * rise / 2
                box = (x - 6, y - rise - 6, x + width + 6, y + fall + 6)
                if not self._free(box):
                    continue
                self.take(box)
                items: list[Item] = [words(text, float(x), float(y), TEXT_SIZE, colour)]
                if far > 20:
                    ends = np.stack([at + way * 8, at + way * (far - 7)])
                    items.insert(0, Line(ends, Ink(colour, 1.4, 0.8)))
                    self.keep_clear(segment_pixels(ends[0], ends[1], 8))
                return items
        return []

    def _free(self, box: Box) -> bool:
        left, top, right, bottom = box
        frame = self._box
        if left < frame[0] or top < frame[1] or right > frame[2] or bottom > frame[3]:
            return False
        if any(left < b[2] and right > b[0] and top < b[3] and bottom > b[1] for b in self._taken):
            return False
        x, y = self._points.T
        return not bool(((x > left) & (x < right) & (y > top) & (y < bottom)).any())
