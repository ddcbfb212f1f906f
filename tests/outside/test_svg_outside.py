"""A drawing as SVG, painted by resvg, looks like the same drawing painted by our own raster."""

from __future__ import annotations

import io

import numpy as np
import resvg_py
from PIL import Image

from striderule.draw import raster, svg
from striderule.draw.drawing import Area, Dot, Drawing, Ink, Item, Label, Layer, Line, Ring

INK = Ink((0.34, 0.71, 0.91), 3.2, 0.9, 2.0, 0.7)
FINE = Ink((1.0, 1.0, 1.0), 2.0, 1.0, 1.5, 0.6)
TURN = np.linspace(0, 5.5, 70)
BENT = np.array(((20.0, 20.0), (200.0, 110.0), (230.0, 30.0)))


def premultiplied(picture: np.ndarray) -> np.ndarray:
    out = picture.astype(float)
    out[..., :3] *= out[..., 3:] / 255
    return out


def difference(*items: Item) -> np.ndarray:
    """Difference of both pictures in 255ths, the greatest of the four channels, (200, 320)."""
    drawing = Drawing(320, 200, (Layer("only", items),))
    file = bytes(resvg_py.svg_to_bytes(svg_string=svg.document(drawing)))
    with Image.open(io.BytesIO(file)) as picture:
        theirs = premultiplied(np.asarray(picture.convert("RGBA")))
    ours = premultiplied(raster.render(drawing.layers, 320, 200).rgba8())
    assert ours[..., 3].any()
    return np.abs(theirs - ours).max(axis=2)


def check(error: np.ndarray, mean: float, far: int) -> None:
    """mean over the whole picture; far: how many pixels may differ by more than a quarter."""
    assert error.mean() < mean
    assert (error > 64).sum() <= far


def test_lines_with_halos_look_alike() -> None:
    curve = np.column_stack((160 + 90 * np.cos(TURN), 100 + 60 * np.sin(TURN)))
    check(difference(Line(BENT, INK), Line(curve, INK), Line(BENT + 40, FINE, closed=True)), 0.5, 6)


def test_dashes_fall_in_the_same_places() -> None:
    dashed = Ink((1.0, 1.0, 0.0), 2.4, 1.0, 1.0, 0.5, dash=(9.0, 6.0))
    check(difference(Line(BENT, dashed), Line(BENT + np.array((30, 40)), dashed, closed=True)), 0.5, 6)


def test_fills_with_holes_rings_and_dots_look_alike() -> None:
    outer = np.array(((50.0, 50.0), (300.0, 60.5), (210.0, 190.0)))
    hole = np.array(((120.0, 80.0), (200.0, 140.0), (220.0, 80.0)))
    items = (Area((outer, hole), (1.0, 0.6, 0.0), 0.5), Ring(60.0, 140.0, 30.0, INK), Dot(280.0, 150.0, 9.0, INK))
    check(difference(*items), 0.5, 0)


def test_labels_stand_in_the_same_place_with_the_same_shapes() -> None:
    labels = (
        Label("Pose 13: hip \u22128.5\u00b0", 12.3, 60.8, 28.0, Ink((1, 1, 1), 2.8, 1, 2, 0.7)),
        Label("l\u00e4uft, 0O1Il; \u2026", 12.0, 120.0, 20.0, Ink((1, 1, 1), 2.0, 0.8, 2, 0.7)),
    )
    check(difference(*labels), 1.0, 40)
