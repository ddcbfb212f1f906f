"""How far the overlay may be off, as a picture: the still with the stage's volume in it, and what to expect there.

Every ellipse is the 2 sigma of the expected error at a place, MAGNIFIED so that it can be seen: blue up to 1 px, yellow
up to 2 px, orange beyond. Crosses are the points used with their misses as lines, magnified too; rings check points.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from ..camera.lens import bent_path, pixels_from_stage, plane_from_stage
from ..camera.match.accuracy import MOST_PX, Accuracy, Volume, spread_px, two_sigma
from ..camera.match.solving import Match
from ..camera.matched_view import cropped
from ..model.view import View
from .drawing import Area, Colour, Dot, Ink, Item, Label, Layer, Line, Ring
from .font import text_width
from .palette import DARK, FULL_HEIGHT, ORANGE, SKY_BLUE, WHITE, YELLOW, Palette
from .raster import render

Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]

MAGNIFIED = 20.0
"""How many times larger than they are errors and misses are drawn."""

WIDEST = 1920
"""Pictures of larger stills are scaled down to this width."""

_GROUND = 0.45  # how bright the still is left
_STEPS = (4, 2, 3)
_CORNERS = ((0, 1), (1, 3), (3, 2), (2, 0))


def error_picture(match: Match, accuracy: Accuracy, still: Bytes | None = None) -> Bytes:
    """The picture (height, width, 3). still: (height, width, 3) of the match's size; None: a plain grey ground."""
    step = max(1, math.ceil(match.size[0] / WIDEST))
    width, height = match.size[0] // step, match.size[1] // step
    view = cropped(match.view(), (0, 0, width * step, height * step), (width, height))
    ground = np.full((height, width, 3), 70.0)
    if still is not None:
        part = still[: height * step, : width * step].astype(float)
        ground = _GROUND * part.reshape(height, step, width, step, 3).mean(axis=(1, 3))
    palette = Palette(min(height, width) / FULL_HEIGHT)
    items = [*_box(view, accuracy.volume, palette), *_points(match, step, palette)]
    items += [*_ellipses(view, match, accuracy, step, palette), *_key(accuracy, height, palette)]
    painted = render([Layer("error", tuple(items))], width, height).rgba8().astype(float)
    cover = painted[..., 3:] / 255
    return np.round(painted[..., :3] * cover + ground * (1 - cover)).astype(np.uint8)


def _box(view: View, volume: Volume, palette: Palette) -> list[Item]:
    """The volume's edges; those that reach behind the camera are left out."""
    corners = volume.places((2, 2, 2))
    plane, depth = plane_from_stage(view, corners)
    floor, top = (0, 2, 4, 6), (1, 3, 5, 7)
    pairs = [(ring[a], ring[b]) for ring in (floor, top) for a, b in _CORNERS] + list(zip(floor, top, strict=True))
    ink = palette.floor_line
    return [Line(bent_path(view, plane[[a, b]]), ink) for a, b in pairs if min(depth[a], depth[b]) > 1.0]


def _points(match: Match, step: int, palette: Palette) -> list[Item]:
    clicked = (match.points.pixels + 0.5) / step - 0.5
    misses = match.misses_px / step * MAGNIFIED
    arm = 7.0 * palette.scale
    items: list[Item] = []
    small = len(clicked) > 30  # a board's corners
    for (x, y), miss, check in zip(clicked.tolist(), misses, match.points.check.tolist(), strict=True):
        if check:
            items.append(Ring(x, y, 1.4 * arm, palette.ring))
        elif small:
            items.append(Dot(x, y, 2.0 * palette.scale, palette.ring_tick))
        else:
            for dx, dy in ((arm, arm), (arm, -arm)):
                items.append(Line(np.array([[x - dx, y - dy], [x + dx, y + dy]]), palette.ring_tick))
        items.append(Line(np.array([[x, y], [x + miss[0], y + miss[1]]]), palette.ring_tick))
    return items


def _ellipses(view: View, match: Match, accuracy: Accuracy, step: int, palette: Palette) -> list[Item]:
    places = accuracy.volume.places(_STEPS)
    pixels, depth = pixels_from_stage(view, places)
    inside = (depth > 1.0) & ((pixels > 0) & (pixels < (view.width, view.height))).all(axis=1)
    spread = spread_px(match, places)
    around = np.linspace(0, 2 * math.pi, 48, endpoint=False)
    circle: Floats = np.stack([np.cos(around), np.sin(around)], axis=1)
    items: list[Item] = []
    size = 17.0 * palette.scale
    for k in np.flatnonzero(inside).tolist():
        values, axes = np.linalg.eigh(spread[k])
        radii = 2 * np.sqrt(np.maximum(values, 0.0)) / step * MAGNIFIED
        ring: Floats = pixels[k] + (circle * np.maximum(radii, 1.0)) @ axes.T
        error = float(two_sigma(spread[k : k + 1])[0])
        ink = Ink(_colour(error), 2.2 * palette.scale, 1.0, 1.4 * palette.scale, 0.7, DARK)
        items += [Line(ring, ink, closed=True), Dot(float(pixels[k, 0]), float(pixels[k, 1]), 2.0 * palette.scale, ink)]
        told = f"{error:.1f}"
        x = float(pixels[k, 0]) - text_width(told, size) / 2
        y = float(ring[:, 1].min()) - 5.0 * palette.scale
        if y < size:  # over the picture's edge: below it then
            y = float(ring[:, 1].max()) + 1.1 * size
        items.append(Label(told, x, y, size, palette.text(size)))
    return items


def _colour(error_px: float) -> Colour:
    return SKY_BLUE if error_px <= MOST_PX / 2 else YELLOW if error_px <= MOST_PX else ORANGE


def _key(accuracy: Accuracy, height: int, palette: Palette) -> list[Item]:
    size = 22.0 * palette.scale
    lines = [
        (
            f"expected error, 2 sigma: at most {accuracy.worst_px:.1f} px, in the middle {accuracy.middle_px:.1f} px",
            WHITE,
        ),
        (f"ellipses and misses are drawn {MAGNIFIED:.0f} times as large; numbers are px of the still", WHITE),
        ("up to 1 px", SKY_BLUE),
        ("up to 2 px", YELLOW),
        ("more", ORANGE),
    ]
    pitch = 1.6 * size
    top = height - pitch * len(lines) - 0.6 * size
    wide = max(text_width(text, size) for text, _ in lines) + 2.4 * size
    edge = np.array([[0.0, top - size], [wide, top - size], [wide, height + 1.0], [0.0, height + 1.0]])
    items: list[Item] = [Area((edge,), DARK, 0.55)]
    for k, (text, colour) in enumerate(lines):
        ink = palette.text(size)
        items.append(Label(text, size, top + pitch * (k + 0.5), size, Ink(colour, ink.width, 1.0, ink.halo, 0.8, DARK)))
    return items
