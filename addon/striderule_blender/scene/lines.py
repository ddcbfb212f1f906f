"""The user's own curves and meshes, read as lines and heights in stage millimetres. Nothing of theirs is changed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import bpy
import numpy as np
import numpy.typing as npt
from mathutils import Vector

from striderule.errors import GeometryError

from .. import bridge

Floats = npt.NDArray[np.float64]


def curve_line_mm(scene: Any, thing: Any) -> Floats:
    """The line (n, 3) of a curve object as it stands now, from its first place to its last; a closed one ends where it
    begins. Bevels, extrusions and modifiers are not part of it. Raises GeometryError for anything but one spline."""
    if thing.type != "CURVE":
        raise GeometryError(f"{thing.name}: expected a curve object to walk along, given one of type {thing.type}.")
    splines = len(thing.data.splines)
    if splines != 1:
        raise GeometryError(
            f"{thing.name}: expected a curve of one spline to walk along, given {splines}. "
            "Separate the one to follow into an object of its own."
        )
    if thing.mode == "EDIT":
        thing.update_from_editmode()
    bare = thing.data.copy()
    temporary = None
    try:
        bare.bevel_depth = bare.extrude = bare.offset = 0.0
        bare.bevel_mode, bare.bevel_object, bare.fill_mode = "ROUND", None, "FULL"
        if bare.dimensions == "2D":
            bare.dimensions = "3D"  # a flat closed one would be filled
        temporary = bpy.data.objects.new("line", bare)
        points = [vertex.co.copy() for vertex in temporary.to_mesh().vertices]
        temporary.to_mesh_clear()
    finally:
        if temporary is not None:
            bpy.data.objects.remove(temporary)
        bpy.data.curves.remove(bare)
    placed = thing.evaluated_get(bpy.context.evaluated_depsgraph_get()).matrix_world
    if thing.data.splines[0].use_cyclic_u and points:
        points.append(points[0])
    return np.array([placed @ point for point in points], float).reshape(-1, 3) / bridge.units_per_mm(scene)


def mesh_height_mm(scene: Any, thing: Any) -> Callable[[Floats], Floats]:
    """Height of a mesh object, modifiers included, as a function of places (n, 2) on the stage: what a ray straight
    down meets first; NaN where it meets nothing. Raises GeometryError for an object without faces."""
    depsgraph = bpy.context.evaluated_depsgraph_get()
    placed = thing.evaluated_get(depsgraph)
    if thing.type != "MESH" or not len(placed.data.polygons):
        raise GeometryError(f"{thing.name}: expected a mesh with faces to walk on, given one without any.")
    scale = bridge.units_per_mm(scene)
    to_local = placed.matrix_world.inverted_safe()
    top = max((placed.matrix_world @ Vector(corner)).z for corner in placed.bound_box) + 1.0
    down = (to_local.to_3x3() @ Vector((0, 0, -1))).normalized()

    def height(places_mm: Floats) -> Floats:
        found = np.full(len(places_mm), np.nan)
        for k, (x, y) in enumerate((places_mm * scale).tolist()):
            hit, at, _, _ = placed.ray_cast(to_local @ Vector((x, y, top)), down)
            if hit:
                found[k] = (placed.matrix_world @ at).z / scale
        return found

    return height
