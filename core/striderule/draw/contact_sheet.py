"""A contact sheet: the key poses of a step side by side (of two where steps differ) and, below them, the spacing of
hips and feet.

Every sheet of one puppet has the same scale, so that a crouched walk is lower than a tall one and a short step shorter
than a long one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.lens import pixels_from_stage
from ..camera.placing import focal_pixels, look_at
from ..camera.resting import resting_mm
from ..camera.solids import drawn_shapes
from ..model.puppet import Puppet, Shape
from ..model.view import CameraSetup, View
from ..solve.plan import Plan
from .canvas import over_backdrop
from .drawing import Colour, Dot, Item, Label, Layer, Line
from .layers import ShotDrawings
from .marks import Arcs
from .palette import FULL_HEIGHT, Palette
from .raster import render

Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float64]

CELL = (420, 560)
STRIP_HEIGHT = 420
TITLE_HEIGHT = 56
CELLS = 5
WIDTH = CELLS * CELL[0]
_BACKDROP: Colour = (0.22, 0.22, 0.24)
_LENS_MM = 135.0  # long, so that the far leg looks as large as the near one
_TITLE, _TEXT = 24.0, 18.0
_EDGE = 20.0
_STRIP_LINES = 0.9  # widths of the strip's lines, as a share of a full picture's


def contact_sheet(plan: Plan, title: str) -> Bytes:
    """One picture (height, WIDTH, 3) of a plan: title, key poses of the second step (the first of a walk of one), then
    the whole walk's hip line and swings with a mark a pose, as far as it fits. Where steps differ there is a row more,
    of the step after it. Raises GeometryError where the puppet has no height."""
    return np.concatenate((_title(title), *(_row(plan, row) for row in key_poses(plan)), _strip(plan)))


def key_poses(plan: Plan) -> list[list[int]]:
    """Indices of the poses that each row of a sheet shows: the named keys of a step and the contact that ends it, at
    most CELLS."""
    laid = plan.shot.laid_out
    steps = len(laid.kind)
    first = min(1, steps - 1)
    shown = range(first, min(first + 2, steps)) if len(laid.kinds) > 1 else (first,)
    named = ("contact", "down", "passing", "up")
    rows: list[list[int]] = []
    for step in shown:
        begin, land = int(laid.start[step]), int(laid.land[step])
        rows.append([*[k for k in range(begin, land) if plan.keys[k] in named][: CELLS - 1], land])
    return rows


def _row(plan: Plan, poses: list[int]) -> Bytes:
    blank = [_painted([], *CELL)] * (CELLS - len(poses))
    return np.concatenate((*(_cell(plan, pose) for pose in poses), *blank), axis=1)


@dataclass(frozen=True)
class _Measure:
    """What of a puppet as it stands sets the scale: top over the floor, back and front from the body's centre, mm."""

    top: float
    back: float
    front: float

    @staticmethod
    def of(puppet: Puppet) -> _Measure:
        legs = puppet.legs
        over_floor = max(leg.straight_mm - leg.hip_mm[2] for leg in legs)
        places = [_extent(puppet, shape) for shape in drawn_shapes(puppet)]
        reach = [0.5 * leg.bones_mm for leg in legs]
        top = over_floor + max(high for _, _, high in places)
        return _Measure(max(top, over_floor), min(-max(reach), *(low for low, _, _ in places), 0.0),
                        max(*reach, *(ahead for _, ahead, _ in places), 0.0))  # fmt: skip


def _extent(puppet: Puppet, shape: Shape) -> tuple[float, float, float]:
    """(back, front, top) of a shape from the body's centre, where it is at rest."""
    size = shape.size_mm or (0.0, 0.0, 0.0)
    around = shape.radius_mm or 0.0
    measured = np.array([place for place in (shape.centre_mm, shape.from_mm, shape.to_mm) if place])
    along, _, up = resting_mm(puppet, shape.part, measured).T.tolist()
    half = 0.5 * size[0] + around
    return min(along) - half, max(along) + half, max(up) + 0.5 * size[2] + around


def _view(width: int, height: int, pixels_per_mm: float, middle_mm: tuple[float, float], track_mm: float) -> View:
    """Side-on from the puppet's right, level; middle: along and up. The scale holds on the track."""
    focal = focal_pixels(CameraSetup("sheet", (0.0, -1.0, 0.0), (0.0, 0.0, 0.0), _LENS_MM, resolution=(width, height)))
    target = np.array([middle_mm[0], track_mm, middle_mm[1]])
    eye = target - (0.0, focal / pixels_per_mm, 0.0)
    rotation = look_at(eye, target)
    return View("sheet", width, height, focal, focal, (width - 1) / 2, (height - 1) / 2, rotation, -rotation @ eye)


def _painted(items: list[Item], width: int, height: int) -> Bytes:
    return over_backdrop(render([Layer("sheet", tuple(items))], width, height), _BACKDROP)


def _words(text: str, x: float, y: float, size: float, scale: float) -> Label:
    return Label(text, x, y, size, Palette(scale).text(size))


def _title(title: str) -> Bytes:
    return _painted([_words(title, _EDGE, 0.7 * TITLE_HEIGHT, _TITLE, 1.0)], WIDTH, TITLE_HEIGHT)


def _floor(view: View, plan: Plan, palette: Palette) -> Line:
    """The floor under the middle of the track, from edge to edge."""
    start = np.array(plan.shot.stage.start_mm)
    at = np.array([[view.translation_mm[0] * -1.0, start[1], 0.0]])
    y = float(pixels_from_stage(view, at)[0][0, 1])
    return Line(np.array([[0.0, y], [view.width - 1.0, y]]), palette.floor_line)


def _cell(plan: Plan, pose: int) -> Bytes:
    width, height = CELL
    puppet = _Measure.of(plan.shot.puppet)
    scale = min(0.84 * height / puppet.top, 0.94 * width / (puppet.front - puppet.back))
    along = float(plan.body_mm[pose, 0]) + 0.5 * (puppet.front + puppet.back)
    up = 0.5 * height / scale - 0.07 * height / scale  # the floor lies 7 % over the lower edge
    view = _view(width, height, scale, (along, up), plan.shot.stage.start_mm[1])
    palette = Palette(height / FULL_HEIGHT)
    drawn = ShotDrawings(plan, view).layer("pose", pose).items
    words = _words(f"{plan.keys[pose]} · pose {pose + 1}", _EDGE, height - 0.6 * _TEXT, _TEXT, palette.scale)
    return _painted([_floor(view, plan, palette), *drawn, words], width, height)


def _strip(plan: Plan) -> Bytes:
    """Hips and swings of the whole walk, a mark a pose."""
    height = max(leg.straight_mm for leg in plan.shot.puppet.legs)
    scale = STRIP_HEIGHT / (1.25 * height)
    begin = float(min(plan.heel_mm[..., 0].min(), plan.reference_mm[:, 0].min())) - _EDGE / scale
    view = _view(WIDTH, STRIP_HEIGHT, scale, (begin + 0.5 * WIDTH / scale, 0.55 * height), plan.shot.stage.start_mm[1])
    palette = Palette(_STRIP_LINES)
    near = np.array([leg.outward_side < 0 for leg in plan.shot.puppet.legs])
    marks, _ = pixels_from_stage(view, plan.reference_mm)
    keys = [key != "in-between" for key in plan.keys]
    dots = [Dot(float(x), float(y), 5.0 if key else 2.5, palette.mark) for (x, y), key in zip(marks, keys, strict=True)]
    swings = Arcs(plan, view, palette, near, ("ankle", "toe")).items(0, None)
    items: list[Item] = [_floor(view, plan, palette), *swings, Line(marks, palette.track), *dots]
    return _painted(items, WIDTH, STRIP_HEIGHT)
