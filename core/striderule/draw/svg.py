"""A drawing as SVG 1.1: the same strokes, halos, fills and lettering as in the pictures, for print and for
retouching.

User units are pixels; the view box puts (0, 0) at the centre of the top-left pixel, as in every drawing. Labels are
strokes of the same font, so that the file looks alike where no font is installed; their text stands in the group's
title.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike

from ..errors import GeometryError
from . import font
from .drawing import Area, Colour, Dot, Drawing, Ink, Item, Label, Line, Ring
from .lettering import anchor

_UNSPEAKABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # no characters of XML 1.0


def document(drawing: Drawing) -> str:
    """The drawing as an SVG file's text, one group a layer. Raises GeometryError where a number is not finite."""
    width, height = drawing.width, drawing.height
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}" height="{height}"',
        f'viewBox="-0.5 -0.5 {width} {height}" fill="none" stroke-linecap="round" stroke-linejoin="round">',
    ]
    for layer in drawing.layers:
        out.append(f'<g id="{_escaped(layer.name)}">')
        for item in layer.items:
            out += _elements(item)
        out.append("</g>")
    out.append("</svg>")
    return "\n".join(out) + "\n"


def _elements(item: Item) -> Iterable[str]:
    match item:
        case Area():
            path = "".join(_path(ring, closed=True) for ring in item.rings if len(ring))
            if path and item.alpha > 0:
                yield f'<path d="{path}" {_fill(item.colour, item.alpha)}/>'
        case Line():
            yield from _line(item)
        case Ring():
            shape = f'<circle cx="{_n(item.x)}" cy="{_n(item.y)}" r="{_n(item.radius)}"'
            yield from (f"{shape} {stroke}/>" for stroke in _strokes(item.ink))
        case Dot():
            yield from _discs(item.x, item.y, item.radius, item.ink)
        case Label():
            yield from _label(item)


def _line(line: Line) -> Iterable[str]:
    points = np.asarray(line.points, dtype=np.float64).reshape(-1, 2)
    if not len(points):
        return
    if (points == points[0]).all():
        yield from _discs(points[0, 0], points[0, 1], line.ink.width / 2, line.ink)
        return
    path = _path(points, line.closed)
    yield from (f'<path d="{path}" {stroke}/>' for stroke in _strokes(line.ink))


def _label(label: Label) -> Iterable[str]:
    """One path of all strokes and one circle a dot, in a group whose opacity holds for all of them together."""
    x, y = anchor(label)
    shapes = font.strokes(label.text, label.size)
    if not shapes:
        return
    path = "".join(_path(one.points + np.array((x, y)), closed=False) for one in shapes if len(one.points) > 1)
    ink = label.ink
    yield f"<g><title>{_escaped(label.text)}</title>"
    for colour, alpha, grow in ((ink.halo_colour, ink.halo_alpha, ink.halo), (ink.colour, ink.alpha, 0.0)):
        if alpha <= 0 or (colour is ink.halo_colour and ink.halo <= 0) or ink.width + grow <= 0:
            continue
        tone = _rgb(colour)
        yield f'<g opacity="{_n(min(alpha, 1.0))}">'
        if path:
            yield f'<path d="{path}" stroke="{tone}" stroke-width="{_n(ink.width + 2 * grow)}"/>'
        for one in shapes:
            if len(one.points) == 1:
                at = one.points[0] + np.array((x, y))
                yield (
                    f'<circle cx="{_n(at[0])}" cy="{_n(at[1])}" r="{_n(ink.width / 2 * one.factor + grow)}"'
                    f' fill="{tone}"/>'
                )
        yield "</g>"
    yield "</g>"


def _discs(x: float, y: float, radius: float, ink: Ink) -> Iterable[str]:
    place = f'<circle cx="{_n(x)}" cy="{_n(y)}"'
    if ink.halo > 0 and ink.halo_alpha > 0:
        yield f'{place} r="{_n(radius + ink.halo)}" {_fill(ink.halo_colour, ink.halo_alpha)}/>'
    if radius > 0 and ink.alpha > 0:
        yield f'{place} r="{_n(radius)}" {_fill(ink.colour, ink.alpha)}/>'


def _strokes(ink: Ink) -> Iterable[str]:
    """The attributes of the halo's stroke, then of the line's."""
    dash = f' stroke-dasharray="{_n(ink.dash[0])} {_n(ink.dash[1])}"' if ink.dash and ink.dash[1] > 0 else ""
    if ink.halo > 0 and ink.halo_alpha > 0:
        yield _stroke(ink.halo_colour, ink.halo_alpha, ink.width + 2 * ink.halo) + dash
    if ink.width > 0 and ink.alpha > 0:
        yield _stroke(ink.colour, ink.alpha, ink.width) + dash


def _stroke(colour: Colour, alpha: float, width: float) -> str:
    opacity = f' stroke-opacity="{_n(alpha)}"' if alpha < 1 else ""
    return f'stroke="{_rgb(colour)}" stroke-width="{_n(width)}"{opacity}'


def _fill(colour: Colour, alpha: float) -> str:
    opacity = f' fill-opacity="{_n(alpha)}"' if alpha < 1 else ""
    return f'fill="{_rgb(colour)}"{opacity}'


def _path(points: ArrayLike, closed: bool) -> str:
    xy = np.asarray(points, dtype=np.float64)
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in xy.tolist()) + ("Z" if closed else "")


def _rgb(colour: Colour) -> str:
    red, green, blue = (int(min(max(part, 0.0), 1.0) * 255 + 0.5) for part in colour)
    return f"#{red:02x}{green:02x}{blue:02x}"


def _n(value: float) -> str:
    """A number with up to 3 places: a thousandth of a pixel is finer than any picture shows."""
    if not np.isfinite(value):
        raise GeometryError("A drawing has a number that is not finite.")
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _escaped(text: str) -> str:
    for sign, name in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        text = text.replace(sign, name)
    return _UNSPEAKABLE.sub("\ufffd", text)
