"""A drawing: what one picture shows, as plain data in picture pixels. Raster, SVG and the viewport all consume the
same drawing, so they cannot disagree. x right, y down, (0, 0) = centre of the top-left pixel; colours are sRGB 0..1.

Items of a layer are painted in order. Every stroke has a constant width and may have a halo (a wider, dark edge under
it).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Colour = tuple[float, float, float]


@dataclass(frozen=True)
class Ink:
    """How a line looks: width and halo in pixels (halo = how far it reaches beyond each edge of the line)."""

    colour: Colour
    width: float
    alpha: float = 1.0
    halo: float = 0.0
    halo_alpha: float = 0.0
    halo_colour: Colour = (0.0, 0.0, 0.0)
    dash: tuple[float, float] | None = None  # on, off in pixels


@dataclass(frozen=True, eq=False)
class Line:
    """A polyline with round ends and joins. points (n, 2); one point, or equal points, give a dot of the line's
    width.

    One line is painted once: where it crosses itself its alpha does not add up.
    """

    points: Floats
    ink: Ink
    closed: bool = False


@dataclass(frozen=True, eq=False)
class Area:
    """Filled polygons, nonzero winding over all rings together, so that a hole runs the other way round. rings:
    tuple of (n, 2)."""

    rings: tuple[Floats, ...]
    colour: Colour
    alpha: float


@dataclass(frozen=True)
class Ring:
    """A circle's outline."""

    x: float
    y: float
    radius: float
    ink: Ink


@dataclass(frozen=True)
class Dot:
    """A filled disc with a halo. ink.width is not used."""

    x: float
    y: float
    radius: float
    ink: Ink


@dataclass(frozen=True)
class Label:
    """One line of text. (x, y) = left end of its base line; size = height of a capital letter times 1.4, in pixels."""

    text: str
    x: float
    y: float
    size: float
    ink: Ink


Item = Line | Area | Ring | Dot | Label


@dataclass(frozen=True, eq=False)
class Layer:
    """Items painted together. still: the same in every picture of the shot."""

    name: str
    items: tuple[Item, ...]
    still: bool = False


@dataclass(frozen=True, eq=False)
class Drawing:
    """One picture: layers from lowest to highest."""

    width: int
    height: int
    layers: tuple[Layer, ...]

    def layer(self, name: str) -> Layer:
        """The layer of that name; an empty one where there is none."""
        return next((one for one in self.layers if one.name == name), Layer(name, ()))
