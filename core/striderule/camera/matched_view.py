"""A matched camera as the view that everything projects with, and back."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from ..model.matched import MatchedCamera
from ..model.view import CameraSetup, View

Floats = npt.NDArray[np.float64]


def axes_from_angles(pan_deg: float, tilt_deg: float, roll_deg: float) -> Floats:
    """Rotation (3, 3), stage axes to camera axes (right, down, ahead). pan + to the left of the stage's X; tilt + up;
    roll + leans to its right, so that the picture's upright things lean to its left."""
    pan, tilt, roll = (math.radians(one) for one in (pan_deg, tilt_deg, roll_deg))
    ahead = np.array([math.cos(pan) * math.cos(tilt), math.sin(pan) * math.cos(tilt), math.sin(tilt)])
    right = np.array([math.sin(pan), -math.cos(pan), 0.0])
    down = np.cross(ahead, right)
    cos, sin = math.cos(roll), math.sin(roll)
    return np.stack([cos * right + sin * down, cos * down - sin * right, ahead])


def angles_from_axes(rotation: Floats) -> tuple[float, float, float]:
    """(pan, tilt, roll) in degrees of a rotation as `axes_from_angles` makes it. Straight up or down, where pan and
    roll are the same turn, roll is 0."""
    right, down, ahead = rotation
    level = math.hypot(ahead[0], ahead[1])
    tilt = math.degrees(math.atan2(ahead[2], level))
    if level < 1e-9:
        return math.degrees(math.atan2(right[0], -right[1])), tilt, 0.0
    pan = math.atan2(ahead[1], ahead[0])
    upright = np.array([math.sin(pan), -math.cos(pan), 0.0])
    return math.degrees(pan), tilt, math.degrees(math.atan2(-float(down @ upright), float(right @ upright)))


def view_of_still(camera: MatchedCamera, name: str) -> View:
    """The view of the whole still."""
    rotation = axes_from_angles(camera.pan_deg, camera.tilt_deg, camera.roll_deg)
    place = np.array(camera.place_mm)
    width, height = camera.still_px
    return View(name, width, height, *camera.focal_px, *camera.centre_px, rotation, -rotation @ place,
                camera.distortion)  # fmt: skip


def view_of_setup(setup: CameraSetup) -> View:
    """The view of a matched camera of a shot: the part of its still that the picture shows, at the picture's size.

    Raises ModelError where the setup has no matched camera.
    """
    if setup.matched is None:
        raise ModelError(f"view.{setup.name}", "a matched camera", "none")
    return cropped(view_of_still(setup.matched, setup.name), setup.crop, setup.resolution)


def cropped(view: View, crop: tuple[int, int, int, int], size: tuple[int, int]) -> View:
    """The view of a part (left, top, width, height in pixels) of a view's picture, scaled to `size`. Pixels are cut at
    their edges: the centre of the first is half a pixel inside."""
    left, top, across, down = crop
    sx, sy = size[0] / across, size[1] / down
    return replace(view, width=size[0], height=size[1], fx=view.fx * sx, fy=view.fy * sy,
                   cx=(view.cx + 0.5 - left) * sx - 0.5, cy=(view.cy + 0.5 - top) * sy - 0.5)  # fmt: skip


def matched_from_view(
    view: View, sensor_mm: tuple[float, float] | None = None, error_px: float | None = None
) -> MatchedCamera:
    """A still view of a whole still as a matched camera, rounded far below what can be seen (under .001 px)."""
    pan, tilt, roll = (round(one, 8) for one in angles_from_axes(view.rotation))
    x, y, z = (round(float(one), 5) for one in -view.translation_mm @ view.rotation)
    k1, k2, p1, p2, k3 = (round(one, 9) for one in view.distortion)
    focal, centre = (round(view.fx, 5), round(view.fy, 5)), (round(view.cx, 5), round(view.cy, 5))
    return MatchedCamera((view.width, view.height), (x, y, z), pan, tilt, roll, focal, centre, (k1, k2, p1, p2, k3),
                         sensor_mm, error_px)  # fmt: skip
