"""Which part of a preview's picture changes with the pose. A still camera's background is rendered once; each pose
costs only the box around the puppet, a tenth of the picture. A camera that sees just the box is far cheaper than a
render border, for which Workbench still works on the whole picture."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from striderule.camera.lens import pixels_from_stage
from striderule.camera.solids import solids_of
from striderule.model.view import View
from striderule.solve.plan import Plan

SPARE = 8  # pixels: outlines, smoothed edges, marks at the joints


@dataclass(frozen=True)
class Box:
    """Whole pixels of a picture: left, top inclusive, right, bottom exclusive; both sides are even, as are a film's."""

    left: int
    top: int
    right: int
    bottom: int

    def view(self, whole: View, samples: int) -> View:
        """The part of a view inside the box, `samples` pixels along each side of one. Pixels are centred on whole
        numbers, so a scale s takes c to (c + 0.5) s - 0.5."""
        return replace(
            whole,
            width=(self.right - self.left) * samples,
            height=(self.bottom - self.top) * samples,
            fx=whole.fx * samples,
            fy=whole.fy * samples,
            cx=(whole.cx - self.left + 0.5) * samples - 0.5,
            cy=(whole.cy - self.top + 0.5) * samples - 0.5,
        )

    def offset(self, view: View) -> tuple[float, float]:
        """Centre of the box from the picture's, in pixels to the right and up."""
        return (self.left + self.right - view.width) / 2, (view.height - self.top - self.bottom) / 2


def whole_box(view: View) -> Box:
    return Box(0, 0, view.width, view.height)


def puppet_box(plan: Plan, view: View, pose: int) -> Box:
    """The pixels around the puppet and its marks at a pose; the whole picture where a part is behind the camera."""
    points = _corners(plan)[pose]
    pixels, depth = pixels_from_stage(view, points)
    if not np.isfinite(pixels).all() or depth.min() <= 1.0:
        return whole_box(view)
    low, high = np.floor(pixels.min(0)).astype(int) - SPARE, np.ceil(pixels.max(0)).astype(int) + 1 + SPARE
    left, right = _even(low[0], high[0], view.width)
    top, bottom = _even(low[1], high[1], view.height)
    return Box(left, top, right, bottom)


def puppet_rows(plan: Plan, view: View) -> tuple[int, int]:
    """Rows of the picture, top inclusive and bottom exclusive, between which puppet and marks stay in every pose; the
    whole picture's where a part is behind the camera."""
    pixels, depth = pixels_from_stage(view, _corners(plan))
    if not np.isfinite(pixels).all() or depth.min() <= 1.0:
        return 0, view.height
    top, bottom = int(np.floor(pixels[..., 1].min())) - SPARE, int(np.ceil(pixels[..., 1].max())) + 1 + SPARE
    return min(max(top, 0), view.height - 2), max(min(bottom, view.height), 2)


def _even(low: int, high: int, size: int) -> tuple[int, int]:
    """The range inside 0..size (even), at least 2 long and of even length, around low..high."""
    low = min(max(int(low), 0), size - 2)
    high = min(max(int(high), low + 2), size)
    if (high - low) % 2:
        low, high = (low, high + 1) if high < size else (low - 1, high)
    return low, high


@lru_cache(maxsize=2)
def _corners(plan: Plan) -> np.ndarray:
    """(poses, n, 3) corners of the boxes around every ball that the puppet's solids are made of, and the marks."""
    sides = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
    centres = [solid.centres_mm for solid in solids_of(plan)]
    radii = [np.broadcast_to(solid.radii_mm, solid.centres_mm.shape[:2]) for solid in solids_of(plan)]
    mark = 0.02 * max(leg.straight_mm for leg in plan.shot.puppet.legs)
    for places in (plan.reference_mm[:, None], plan.ankle_mm, plan.toe_mm):
        centres.append(places)
        radii.append(np.full(places.shape[:2], mark))
    balls, sizes = np.concatenate(centres, axis=1), np.concatenate(radii, axis=1)
    return (balls[:, :, None] + sizes[:, :, None, None] * sides).reshape(plan.poses, -1, 3)
