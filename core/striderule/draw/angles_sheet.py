"""All angles of a walk side by side: in each the puppet in the walk's middle with its spacing, and what was judged."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..camera.judging import Angle
from ..camera.matched_view import cropped
from ..model.shot import Overlay
from ..solve.plan import Plan
from .canvas import over_backdrop
from .drawing import Colour, Ink, Item, Label, Layer, Line, Ring
from .layers import ShotDrawings
from .palette import FULL_HEIGHT, ORANGE, Palette
from .raster import render

Bytes = npt.NDArray[np.uint8]

CELL = (640, 360)
WORDS_HEIGHT = 132
COLUMNS = 3
_GROUND: Colour = (0.22, 0.22, 0.24)
_SIZE = 18.0
_BOLDER = 2.2


def angles_sheet(plan: Plan, angles: Sequence[Angle]) -> Bytes:
    """One picture (height, width, 3): a cell an angle, in the order given."""
    cells = [_cell(plan, angle) for angle in angles]
    across = min(COLUMNS, len(cells))
    blank = np.zeros_like(cells[0])
    blank[:] = np.round(np.array(_GROUND) * 255)
    cells += [blank] * (-len(cells) % across)
    return np.concatenate([np.concatenate(cells[k : k + across], axis=1) for k in range(0, len(cells), across)])


def _cell(plan: Plan, angle: Angle) -> Bytes:
    view = angle.view
    scale = min(CELL[0] / view.width, CELL[1] / view.height)
    size = max(round(view.width * scale), 16), max(round(view.height * scale), 16)
    small = cropped(view, (0, 0, view.width, view.height), size)
    overlay = Overlay(neighbours=50, ghosts_before=0, ghosts_after=0)
    drawings = ShotDrawings(plan, small, overlay)
    pose = plan.poses // 2
    layers = [_bolder(drawings.layer(name, pose)) for name in ("floor", "pose", "spacing")]
    picture = over_backdrop(render(layers, *size), (0.32, 0.32, 0.34))
    cell = np.zeros((CELL[1] + WORDS_HEIGHT, CELL[0], 3), np.uint8)
    cell[:] = np.round(np.array(_GROUND) * 255)
    left, top = (CELL[0] - size[0]) // 2, (CELL[1] - size[1]) // 2
    cell[top : top + size[1], left : left + size[0]] = picture
    cell[CELL[1] :] = over_backdrop(render([Layer("words", tuple(_words(angle)))], CELL[0], WORDS_HEIGHT), _GROUND)
    return cell


def _bolder(layer: Layer) -> Layer:
    """Lines as wide as a small picture needs: an overlay's are meant for a picture that fills the screen."""
    items = tuple(
        replace(item, ink=replace(item.ink, width=_BOLDER * item.ink.width, halo=_BOLDER * item.ink.halo))
        if isinstance(item, Line | Ring)
        else item
        for item in layer.items
    )
    return Layer(layer.name, items)


def angle_words(angle: Angle) -> list[str]:
    """What was judged, in lines of a few words."""
    lines = [f"{angle.view.name}: 1 px is {angle.mm_per_px:.2f} mm at the puppet"]
    if angle.smallest and angle.largest:
        (small, first), (large, second) = angle.smallest, angle.largest
        lines.append(f"moves {small:.1f} px (pose {first}) to {large:.1f} px (pose {second}), ratio {angle.ratio:.2f}")
    else:
        lines.append("goes along: shows no spacing" if angle.view.moving else "does not move")
    hidden = f"standing foot hidden in {100 * angle.hidden:.0f} % of poses"
    outside = int(angle.outside.sum())
    lines.append(f"{hidden}, out of the picture in {outside}" if outside else hidden)
    if angle.sharp_mm is not None and angle.unsharp is not None:
        near, far = angle.sharp_mm
        until = "infinity" if math.isinf(far) else f"{far:.0f} mm"
        blurred = int(angle.unsharp.sum())
        lines.append(f"sharp {near:.0f} mm to {until}: {blurred} {'pose' if blurred == 1 else 'poses'} out of focus")
    return lines


def _words(angle: Angle) -> list[Item]:
    palette = Palette(540 / FULL_HEIGHT)
    plain = palette.text(_SIZE)
    marked = Ink(ORANGE, plain.width, 1.0, plain.halo, plain.halo_alpha)
    items: list[Item] = [Line(np.array([[0.0, 0.0], [CELL[0], 0.0]]), palette.grid)]
    for k, text in enumerate(angle_words(angle)):
        ink = marked if k == 0 and angle.findings else plain
        items.append(Label(text, 14.0, 28.0 + 29.0 * k, _SIZE, ink))
    return items
