"""A stroke font: text as polylines, for pictures, SVG and measuring alike. No font file is read.

size is the height of a capital letter times 1.4, in pixels; the base line is y = 0 and y runs down, as in a picture.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .glyphs import CAPITAL, CAPITAL_RISE, DOTLESS, GAP, MARKS, PATHS, SAME, SPACE, UNKNOWN
from .tiles import Floats

DOT_FACTOR = 1.3  # dots as wide as the strokes look too light
_UNITS = CAPITAL * 1.4  # of the glyphs' grid in one size
_STEPS = 6
_TOKEN = re.compile(r"([MLhvD])(-?[0-9.]+) (-?[0-9.]+)")


@dataclass(frozen=True, eq=False)
class Stroke:
    """A polyline (n, 2) of a text in pixels from the left end of its base line.

    factor: its width as a share of the text's stroke width.
    """

    points: Floats
    factor: float = 1.0


@dataclass(frozen=True, eq=False)
class _Glyph:
    strokes: tuple[Stroke, ...]
    width: float


def covers(text: str) -> bool:
    """Whether every character has a shape of its own; others are drawn as an empty box."""
    return all(_parts(one) is not None for one in text)


def text_width(text: str, size: float) -> float:
    """From the left end of the base line to the middle of the last stroke, in pixels; half a stroke more stands out on
    both sides. 0 for an empty text."""
    advance = sum(_glyph(one).width + GAP for one in text)
    return max(advance - GAP, 0.0) * size / _UNITS


def ascent(size: float) -> float:
    """Height of a capital letter above the base line, pixels."""
    return size / 1.4


def descent(size: float) -> float:
    """How far letters such as g reach below the base line, pixels."""
    return 4.4 / _UNITS * size


def stroke_width(size: float) -> float:
    """The stroke width at which a text of this size reads best, pixels."""
    return max(size * 0.1, 1.3)


def places(text: str, size: float) -> list[float]:
    """Where the left end of each character's base line stands, pixels from that of the text."""
    at, out = 0.0, list[float]()
    for one in text:
        out.append(at * size / _UNITS)
        at += _glyph(one).width + GAP
    return out


def strokes(text: str, size: float) -> list[Stroke]:
    """The text as polylines; a dot is a polyline of one point. Unknown characters give an empty box."""
    scale = size / _UNITS
    flip = np.array((scale, -scale))
    return [
        Stroke(part.points * flip + np.array((at, 0.0)), part.factor)
        for one, at in zip(text, places(text, size), strict=True)
        for part in _glyph(one).strokes
    ]


def _parts(character: str) -> list[tuple[str, float, float]] | None:
    """A character's paths with shifts; None where there is none."""
    one = SAME.get(character, character)
    if one == " ":
        return []
    if one in PATHS:
        return [(PATHS[one], 0.0, 0.0)]
    base, *marks = unicodedata.normalize("NFD", one)
    if base not in PATHS or not marks or any(mark not in MARKS for mark in marks):
        return None
    path = DOTLESS.get(base, PATHS[base])
    middle = _extent(_parsed(path)) / 2
    rise = CAPITAL_RISE if base.isupper() else 0.0
    return [(path, 0.0, 0.0), *((MARKS[mark], middle, 0.0 if mark == "\u0327" else rise) for mark in marks)]


@lru_cache(maxsize=1024)
def _glyph(character: str) -> _Glyph:
    parts = _parts(character)
    if parts is None:
        parts = [(UNKNOWN, 0.0, 0.0)]
    if not parts:
        return _Glyph((), SPACE - GAP + 1.0)
    # A mark never widens its letter, so that accented and plain words keep the same rhythm.
    shapes = [Stroke(one.points + np.array((x, y)), one.factor) for path, x, y in parts for one in _parsed(path)]
    return _Glyph(tuple(shapes), _extent(_parsed(parts[0][0])))


def _extent(shapes: list[Stroke]) -> float:
    return max(float(one.points[:, 0].max()) for one in shapes)


def _parsed(path: str) -> list[Stroke]:
    """A path of glyphs.py as polylines, in its units, y up."""
    out: list[Stroke] = []
    run: list[tuple[float, float]] = []
    for kind, *numbers in _TOKEN.findall(path):
        x, y = (float(one) for one in numbers)
        if kind in "MD":
            if run:
                out.append(Stroke(np.array(run)))
            run = []
        if kind == "D":
            out.append(Stroke(np.array(((x, y),)), DOT_FACTOR))
        elif kind in "ML":
            run.append((x, y))
        else:
            x0, y0 = run[-1]
            for step in range(1, _STEPS + 1):
                turn = math.pi / 2 * step / _STEPS
                far, near = math.sin(turn), 1 - math.cos(turn)
                along, across = (far, near) if kind == "h" else (near, far)
                run.append((x0 + (x - x0) * along, y0 + (y - y0) * across))
    if run:
        out.append(Stroke(np.array(run)))
    return out
