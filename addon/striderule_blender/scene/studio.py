"""How a scene of our own looks: Workbench colours, a plain backdrop, windows that look through the camera.

Only for scenes that we made ourselves; a user's look is never changed.
"""

from __future__ import annotations

from typing import Any

import bpy

from striderule.solve.plan import Plan

from .. import bridge
from . import look
from .owned import OwnedSet


def light(scene: Any, oversampled: bool = False) -> None:
    """Set up `scene` to be rendered by Workbench in our colours, without dither, in plain sRGB.

    oversampled: the picture is made smaller afterwards, so Workbench need not smooth it.
    """
    world = OwnedSet(scene).get("worlds", "backdrop")
    world.color = look.linear(look.BACKDROP)
    scene.world = world
    render = scene.render
    render.engine, render.dither_intensity, render.film_transparent = "BLENDER_WORKBENCH", 0.0, False
    scene.view_settings.view_transform, scene.view_settings.look = "Standard", "None"
    shading = scene.display.shading
    shading.light, shading.color_type = "STUDIO", "MATERIAL"
    shading.show_cavity, shading.show_shadows, shading.show_object_outline = False, False, True
    shading.object_outline_color = (0.05, 0.05, 0.06)
    shading.show_backface_culling, shading.show_specular_highlight = True, False
    scene.display.render_aa = "OFF" if oversampled else "8"


def arrange_windows(plan: Plan) -> None:
    """Make every 3D view of the open file look through the camera, in our colours, without overlays in the way."""
    stage = bpy.context.scene
    scale = bridge.units_per_mm(stage)
    for screen in bpy.data.screens:
        for area in screen.areas:
            for space in area.spaces:
                if space.type != "VIEW_3D":
                    continue
                shading = space.shading
                shading.type, shading.light, shading.color_type = "SOLID", "STUDIO", "MATERIAL"
                shading.background_type, shading.show_backface_culling = "WORLD", True
                shading.show_object_outline, shading.show_specular_highlight = False, False  # ghosts need none
                space.overlay.show_extras = space.overlay.show_floor = space.overlay.show_cursor = False
                space.overlay.show_axis_x = space.overlay.show_axis_y = space.overlay.show_relationship_lines = False
                space.clip_start, space.clip_end = 10.0 * scale, 1e5 * scale
                region = space.region_3d
                region.view_perspective, region.view_camera_zoom = "CAMERA", 22.0  # nearly fills the window
                region.view_location = plan.reference_mm.mean(0) * scale
                region.view_distance = 4.0 * float(plan.hip_line_mm.max()) * scale
