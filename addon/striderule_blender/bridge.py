"""The only place where Blender's metres, rotations and cameras meet the core's millimetres, axes and pinholes.

Blender and the stage share their axes (X forward, Y left, Z up); a Blender unit is mm x 0.001 / scale_length.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, TypeVar

import bpy
import numpy as np
import numpy.typing as npt

from striderule.errors import GeometryError
from striderule.model.fields import Spec, specs_of
from striderule.model.view import View

Floats = npt.NDArray[np.float64]
Model = TypeVar("Model")

_FLIP = np.diag([1.0, -1.0, -1.0])
"""Camera axes: x right, y down, z into the picture <-> Blender's x right, y up, z toward the eye."""


def units_per_mm(scene: Any) -> float:
    """Blender units of `scene` in one millimetre. The user's unit settings are read, never changed."""
    return 0.001 / scene.unit_settings.scale_length


def fps_of_rate(rate: Fraction) -> tuple[int, float]:
    """(fps, fps_base) of a scene that runs at `rate` frames a second: 30000/1001 is 30 / 1.001."""
    whole = math.ceil(rate)
    return whole, float(whole / rate)


def quaternions_from_axes(axes: Floats) -> Floats:
    """Rotations as quaternions (w, x, y, z) whose signs do not flip from one to the next.

    axes: (n, 3, 3), columns = turned axes. Returns (n, 4) of length 1; the first has w >= 0. The largest of the four
    terms comes first, so that no rotation loses precision (S. W. Shepperd, J. Guidance and Control 1, 1978, from
    memory).
    """
    m = np.asarray(axes, float)
    d = np.diagonal(m, axis1=1, axis2=2)
    trace = d.sum(1)
    k = np.empty((len(m), 4, 4))  # 4 q q^T
    k[:, 0, 0] = 1 + trace
    for i in range(3):
        j, h = (i + 1) % 3, (i + 2) % 3
        k[:, i + 1, i + 1] = 1 + 2 * d[:, i] - trace
        k[:, 0, i + 1] = k[:, i + 1, 0] = m[:, h, j] - m[:, j, h]
        k[:, i + 1, j + 1] = k[:, j + 1, i + 1] = m[:, i, j] + m[:, j, i]
    best = np.diagonal(k, axis1=1, axis2=2).argmax(1)
    q = k[np.arange(len(m)), best]
    q /= np.linalg.norm(q, axis=1, keepdims=True)
    turn = np.where((q[1:] * q[:-1]).sum(1) < 0, -1.0, 1.0)
    first = -1.0 if len(q) and q[0, 0] < 0 else 1.0
    return q * np.concatenate([[first], first * np.cumprod(turn)])[: len(q), None]


@dataclass(frozen=True, eq=False)
class BlenderCamera:
    """A camera in Blender's words. places (poses, 3) or (1, 3) in mm; quaternion (4,), no scale."""

    lens: float
    sensor_width: float
    shift_x: float
    shift_y: float
    places_mm: Floats
    quaternion: Floats
    resolution: tuple[int, int]
    pixel_aspect: tuple[float, float]


def camera_from_view(view: View, sensor_width: float = 36.0) -> BlenderCamera:
    """The Blender camera of sensor fit HORIZONTAL that sees what `view` sees; lens distortion is left out.

    Exact but for Blender's single precision: the half pixel between a raster's edge and a pixel's centre included.
    """
    w, h = view.width, view.height
    sensor = max(sensor_width, 1.001 * w / view.fx)  # Blender has no lens shorter than 1 mm
    moves = view.translations_mm if view.translations_mm is not None else view.translation_mm[None]
    aspect = view.fx / view.fy  # = pixel_aspect_y / pixel_aspect_x; neither may be below 1
    return BlenderCamera(
        lens=view.fx * sensor / w,
        sensor_width=sensor,
        shift_x=(w / 2 - (view.cx + 0.5)) / w,
        shift_y=((view.cy + 0.5) - h / 2) * aspect / w,
        places_mm=-np.asarray(moves) @ view.rotation,
        quaternion=quaternions_from_axes((view.rotation.T @ _FLIP)[None])[0],
        resolution=(w, h),
        pixel_aspect=(1.0, aspect) if aspect >= 1 else (1 / aspect, 1.0),
    )


def view_from_camera(camera: Any, scene: Any, name: str) -> View:
    """The pinhole of any perspective camera object, as it stands at the current frame, at the scene's render size.

    Raises GeometryError for an orthographic or panoramic camera.
    """
    data, render = camera.data, scene.render
    if data.type != "PERSP":
        raise GeometryError(
            f"camera {camera.name}: only a perspective camera can be used; set its Type to Perspective."
        )
    share = render.resolution_percentage / 100
    w, h = int(render.resolution_x * share), int(render.resolution_y * share)
    aspect = render.pixel_aspect_y / render.pixel_aspect_x
    fit = data.sensor_fit
    if fit == "AUTO":
        fit = "HORIZONTAL" if w * render.pixel_aspect_x >= h * render.pixel_aspect_y else "VERTICAL"
    factor = w if fit == "HORIZONTAL" else aspect * h
    sensor = data.sensor_height if data.sensor_fit == "VERTICAL" else data.sensor_width
    placed = camera.evaluated_get(bpy.context.evaluated_depsgraph_get()).matrix_world
    turn = np.array(placed.to_quaternion().normalized().to_matrix().to_4x4(), float)[:3, :3]
    # Single precision leaves the matrix a little skewed: take the nearest rotation.
    u, _, vt = np.linalg.svd(_FLIP @ turn.T)
    rotation = u @ vt
    place_mm = np.array(placed.translation, float) / units_per_mm(scene)
    return View(
        name=name,
        width=w,
        height=h,
        fx=data.lens / sensor * factor,
        fy=data.lens / sensor * factor / aspect,
        cx=w / 2 - data.shift_x * factor - 0.5,
        cy=h / 2 + data.shift_y * factor / aspect - 0.5,
        rotation=rotation,
        translation_mm=-rotation @ place_mm,
    )


def fill_properties(group: Any, model: Any, shown: Any) -> None:
    """Set a property group from a model object. shown: the same object with every open value filled in; an open value
    shows what it comes to, its `use_` flag off."""
    for key, spec in specs_of(type(model)).items():
        if key not in group.bl_rna.properties:
            continue
        value = getattr(model, key)
        if spec.optional:
            setattr(group, f"use_{key}", value is not None)
            value = getattr(shown, key) if value is None else value
        if value is not None:  # what another value says in its stead has none of its own
            setattr(group, key, value)


def model_from_properties(group: Any, base: Model) -> Model:
    """`base` with the values of a property group. Raises ModelError.

    Blender keeps single precision: a number that has not been changed keeps the exact value that it has in `base`, one
    that has been is read as the shortest decimal that Blender's number stands for.
    """
    changes = {}
    for key, spec in specs_of(type(base)).items():
        if key not in group.bl_rna.properties:
            continue
        if spec.optional and not getattr(group, f"use_{key}"):
            changes[key] = None
        else:
            changes[key] = _value(getattr(group, key), getattr(base, key), spec)
    return replace(base, **changes)  # type: ignore[type-var]


def _value(value: Any, was: Any, spec: Spec) -> Any:
    if spec.size > 1:
        was = was or (None,) * spec.size
        return tuple(_number(one, old, spec) for one, old in zip(value, was, strict=True))
    return _number(value, was, spec)


def _number(value: Any, was: Any, spec: Spec) -> Any:
    if spec.kind != "number":
        return value
    if was is not None and np.float32(was) == np.float32(value):
        return was
    return float(str(np.float32(value)))
