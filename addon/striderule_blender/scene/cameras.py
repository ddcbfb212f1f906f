"""A camera per view, and looking through one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from striderule.camera.sides import near_legs
from striderule.model.view import View
from striderule.solve.plan import Plan

from .. import bridge, compat
from . import look
from .owned import OwnedSet, role_of, set_collection

SIZE = "striderule_picture"
"""Custom property of a camera of ours: picture width, height and pixel aspect x, y of its view."""

NEAR = "striderule_near_legs"
"""Custom property of a camera of ours: for every leg 1 where its view shows it as a near one, else 0."""


def camera_role(name: str) -> str:
    return f"view {name}"


def build(owned: OwnedSet, plan: Plan, views: Sequence[View]) -> None:
    """Write one camera per view; one that moves along is keyed at every pose."""
    scale = bridge.units_per_mm(owned.scene)
    sensors = {setup.name: setup.sensor_mm[0] for setup in plan.shot.cameras}
    extent = float(np.ptp(plan.reference_mm[:, 0])) + 20 * max(leg.straight_mm for leg in plan.shot.puppet.legs)
    owned.root[NEAR] = [int(leg.outward_side < 0) for leg in plan.shot.puppet.legs]
    for view in views:
        role = camera_role(view.name)
        seen = bridge.camera_from_view(view, sensors.get(view.name, 36.0))
        data = owned.get("cameras", role)
        _set_lens(data, seen)
        data.display_size = 40 * scale
        away = float(np.abs(seen.places_mm - plan.reference_mm.mean(0)).max())
        data.clip_start, data.clip_end = 10.0 * scale, 10 * (away + extent) * scale
        thing = owned.thing(role, "views", data)
        thing.rotation_mode, thing.rotation_quaternion = "QUATERNION", seen.quaternion
        thing.location = seen.places_mm[0] * scale
        thing[NEAR] = near_legs(plan, view).astype(int).tolist()
        thing[SIZE] = [*map(float, seen.resolution), *seen.pixel_aspect]
        if view.moving:
            channels = [("location", i, seen.places_mm[:, i] * scale) for i in range(3)]
            compat.write_keys(thing, owned.get("actions", role), channels, plan.first_frame.astype(float))
        elif thing.animation_data:
            thing.animation_data_clear()


def _set_lens(data: Any, seen: bridge.BlenderCamera) -> None:
    data.type, data.sensor_fit = "PERSP", "HORIZONTAL"
    data.sensor_width, data.lens = seen.sensor_width, seen.lens
    data.shift_x, data.shift_y = seen.shift_x, seen.shift_y


def aim(scene: Any, view: View) -> None:
    """Give the scene's camera, one of ours, the lens of `view`, and the scene its picture size."""
    seen = bridge.camera_from_view(view)
    _set_lens(scene.camera.data, seen)
    _set_size(scene.render, (*seen.resolution, *seen.pixel_aspect))


def look_through(scene: Any, camera: Any) -> None:
    """Make `camera` the scene's camera; for one of ours the picture takes its view's size too, and the legs take the
    colours that the view has in the overlay."""
    scene.camera = camera
    paint_legs(scene)
    size = camera.get(SIZE)
    if size is not None:
        _set_size(scene.render, size)


def paint_legs(scene: Any) -> None:
    """Give the legs of our set in `scene` the colours that the scene's camera, where it is one of ours, shows them
    in; without one the legs on the puppet's right are the near ones."""
    collection = set_collection(scene)
    if collection is None:
        return
    near = scene.camera.get(NEAR) if scene.camera and role_of(scene.camera) else None
    look.paint_legs(collection.all_objects, near if near is not None else collection.get(NEAR, ()))


def _set_size(render: Any, size: Sequence[float]) -> None:
    render.resolution_x, render.resolution_y, render.resolution_percentage = int(size[0]), int(size[1]), 100
    render.pixel_aspect_x, render.pixel_aspect_y = size[2], size[3]
