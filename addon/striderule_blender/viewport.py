"""What a 3D view shows after a walk was loaded into it: the walk, framed, and alone where it would be hidden."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np
from mathutils import Vector

from . import scene


def show_walk(context: bpy.types.Context) -> None:
    """Frame the walk in the 3D view that the context is in; without one (a script, no window) nothing changes.

    Where something of the user's stands in the walk's room, the view goes into Blender's local view, so that nothing
    of it has to be moved, hidden or deleted; the slash key leaves it. Selection and active object stay.
    """
    space = context.space_data
    if context.area is None or context.area.type != "VIEW_3D" or space is None:
        return
    ours = [thing for thing in scene.things(context.scene) if thing.visible_get()]
    walking = [thing for thing in ours if thing.type in {"MESH", "CURVE"} and not scene.is_floor(thing)]
    if not walking:
        return
    low, high = _room(walking)
    if space.local_view is None and any(_stands_in(thing, low, high) for thing in context.visible_objects):
        _local_view(context, ours)
    region = space.region_3d
    if region.view_perspective == "CAMERA":
        region.view_perspective = "PERSP"
    region.view_location = (low + high) / 2
    region.view_distance = 1.3 * float(np.linalg.norm(high - low))


def _room(things: list[Any]) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest corner (3,) of the box around things."""
    corners = np.array([thing.matrix_world @ Vector(corner) for thing in things for corner in thing.bound_box])
    return corners.min(axis=0), corners.max(axis=0)


def _stands_in(thing: Any, low: np.ndarray, high: np.ndarray) -> bool:
    """True for a solid thing of the user's whose box meets the walk's."""
    if thing.type not in {"MESH", "CURVE", "SURFACE", "META", "FONT"} or scene.is_ours(thing):
        return False
    least, most = _room([thing])
    return bool((least < high).all() and (most > low).all())


def _local_view(context: bpy.types.Context, things: list[Any]) -> None:
    selected, active = list(context.selected_objects), context.view_layer.objects.active
    for thing in selected:
        thing.select_set(False)
    try:
        for thing in things:
            thing.select_set(True)
        bpy.ops.view3d.localview(frame_selected=False)
        for thing in things:
            thing.local_view_set(context.space_data, True)
    finally:
        for thing in things:
            thing.select_set(False)
        for thing in selected:
            thing.select_set(True)
        context.view_layer.objects.active = active


def look_through(context: bpy.types.Context, camera: bpy.types.Object) -> None:
    """Make the 3D view of the context, if it is in one, look through `camera`; a local view has a camera of its own."""
    if context.area is None or context.area.type != "VIEW_3D":
        return
    space = context.space_data
    if space.local_view is not None:
        space.camera = camera
    space.region_3d.view_perspective = "CAMERA"
    space.region_3d.view_camera_zoom, space.region_3d.view_camera_offset = 0.0, (0.0, 0.0)


def show_image(context: bpy.types.Context, image: bpy.types.Image) -> bool:
    """Show an image whole in an image editor of the context's window, else in a new window. False without windows."""
    if bpy.app.background or context.window is None:
        return False
    window = context.window
    area = next((one for one in window.screen.areas if one.type == "IMAGE_EDITOR"), None)
    if area is None:
        bpy.ops.wm.window_new()
        window = context.window_manager.windows[-1]
        area = window.screen.areas[0]
        area.type = "IMAGE_EDITOR"
    area.spaces.active.image = image
    region = next(one for one in area.regions if one.type == "WINDOW")
    with context.temp_override(window=window, area=area, region=region):
        bpy.ops.image.view_all(fit_view=True)
    return True
