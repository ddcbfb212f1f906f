"""Layers of a drawing as a picture: who covers what (strokes, discs, areas, lettering), then all of it composited."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from ..errors import GeometryError
from .areas import Areas
from .canvas import Canvas, Paint, composite, over_backdrop
from .discs import LARGEST, Discs, polygon
from .drawing import Area, Dot, Item, Label, Layer, Line, Ring
from .lettering import Lettering
from .segments import segments_of
from .strokes import Strokes
from .tiles import Floats, Grid

__all__ = ["Canvas", "over_backdrop", "render"]


def render(layers: Sequence[Layer], width: int, height: int, start: Canvas | None = None) -> Canvas:
    """Paint layers, lowest first, on a picture of width x height pixels, or on top of `start`, which stays as it is.

    Each item's halo is painted first, then the item. What lies outside the frame costs next to nothing. Where an
    item's parts overlap, their alpha does not add up. The same layers give the same canvas. Raises GeometryError
    where a coordinate is not a finite number, a size is negative or not finite, the frame is empty, or start has
    another size.
    """
    if width < 1 or height < 1:
        raise GeometryError(f"A picture needs at least 1 x 1 pixels, given {width} x {height}.")
    if start is None:
        start = Canvas.blank(width, height)
    elif (start.width, start.height) != (width, height):
        raise GeometryError(f"The start is {start.width} x {start.height} pixels, the picture {width} x {height}.")
    items = list(_seen(item for layer in layers for item in layer.items))
    grid = Grid(width, height)
    lines = [(k, item) for k, item in enumerate(items) if isinstance(item, Line)]
    marks = [(k, item) for k, item in enumerate(items) if isinstance(item, Ring | Dot)]
    segments, spots = segments_of(lines, grid)
    covers = (
        Areas([(k, item) for k, item in enumerate(items) if isinstance(item, Area)], grid),
        Strokes(segments, grid),
        Discs(marks, spots, grid),
        Lettering([(k, item) for k, item in enumerate(items) if isinstance(item, Label)], grid),
    )
    return composite(covers, _paint(items), start)


def _seen(items: Iterable[Item]) -> Iterable[Item]:
    """Items as they are painted: circles too large for exact areas, and dashed ones, as polylines and polygons."""
    for item in items:
        match item:
            case Ring() if item.ink.dash is not None or item.radius > LARGEST:
                yield Line(_circle(item, item.radius), item.ink, closed=True)
            case Dot() if item.radius + item.ink.halo > LARGEST:
                ink = item.ink
                if ink.halo > 0:
                    yield Area((_circle(item, item.radius + ink.halo),), ink.halo_colour, ink.halo_alpha)
                yield Area((_circle(item, item.radius),), ink.colour, ink.alpha)
            case _:
                yield item


def _circle(mark: Ring | Dot, radius: float) -> Floats:
    if not np.isfinite((mark.x, mark.y, radius)).all() or radius < 0:
        raise GeometryError(f"A circle needs a finite place and radius, given {(mark.x, mark.y, radius)}.")
    return polygon(mark.x, mark.y, radius)


def _paint(items: Sequence[Item]) -> Paint:
    rows = np.zeros((len(items), 8))
    for row, item in zip(rows, items, strict=True):
        if isinstance(item, Area):
            row[:4] = (*item.colour, item.alpha)
        else:
            ink = item.ink
            row[:] = (*ink.colour, ink.alpha, *ink.halo_colour, ink.halo_alpha if ink.halo > 0 else 0.0)
    if not np.isfinite(rows).all():
        raise GeometryError("A colour or an alpha is not a finite number.")
    table = np.clip(rows, 0, 1).astype(np.float32)
    return Paint(table[:, :3], table[:, 3], table[:, 4:7], table[:, 7])
