"""The working band at the hips, pose by pose, as something to look at; and a chart as an image."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from striderule.solve.plan import Plan

from .. import bridge, compat
from . import look, marks, solids
from .owned import OwnedSet
from .puppet import write_mesh

Floats = npt.NDArray[np.float64]

GROUP = "band"
_FITS, _MISSING = (0.0, 0.62, 0.45), (0.835, 0.369, 0.0)  # bluish green, vermilion of the palette in `look`


def build(owned: OwnedSet, plan: Plan) -> None:
    """A slab between the lowest and the highest hips that every joint allows in a pose, keyed once a pose, and a bar at
    the hips; where no height fits, a slab of another colour over what is missing."""
    scale, radius = bridge.units_per_mm(owned.scene), marks.size_mm(plan)
    legs = plan.shot.puppet.legs
    across = max(abs(leg.hip_mm[1]) for leg in legs) * 2 + 0.8 * max(leg.straight_mm for leg in legs)
    along = 0.4 * max(leg.straight_mm for leg in legs)
    low, high = edges_mm(plan)
    middle = plan.hip_mm.mean(axis=1)
    slab = solids.Solid(*_unit_box(along, across))
    for role, colour, bottom, height in (
        ("band", _FITS, low, np.maximum(high - low, 0.0)),
        ("band missing", _MISSING, high, np.maximum(low - high, 0.0)),
    ):
        _keyed(owned, role, slab, look.material(owned, role, colour, 0.55), plan, middle, bottom, height, scale)
    line = solids.Solid(*_unit_box(0.6 * radius, 1.12 * across))
    hips = plan.hip_line_mm + plan.floor_mm - 0.3 * radius
    made = look.material(owned, "hip line", look.REFERENCE)
    _keyed(owned, "hip line", line, made, plan, middle, hips, np.full(plan.poses, 0.6 * radius), scale)


def edges_mm(plan: Plan) -> tuple[Floats, Floats]:
    """(P,) lowest and highest hips on the stage, cut off at a leg's length from the hips where nothing limits them."""
    reach = max(leg.straight_mm for leg in plan.shot.puppet.legs)
    hips = plan.hip_line_mm
    low = np.clip(np.nan_to_num(plan.band.lowest_mm), hips - reach, hips + reach)
    high = np.clip(np.nan_to_num(plan.band.highest_mm), hips - reach, hips + reach)
    return low + plan.floor_mm, high + plan.floor_mm


def _keyed(owned: OwnedSet, role: str, solid: solids.Solid, made: Any, plan: Plan, middle: Floats, bottom: Floats,
           height: Floats, scale: float) -> None:  # fmt: skip
    mesh = owned.get("meshes", role)
    write_mesh(mesh, solid, 1.0)
    thing = owned.thing(role, GROUP, mesh)
    look.dress(thing, made)
    thing.rotation_mode, thing.hide_render, thing.show_in_front = "XYZ", True, True
    channels = [("location", i, middle[:, i] * scale) for i in (0, 1)]
    there = np.where(height > 0, scale, 0.0)  # a slab of no height is no sheet either
    channels += [("scale", 0, there), ("scale", 1, there), ("scale", 2, height * scale)]
    channels.append(("location", 2, bottom * scale))
    channels.append(("rotation_euler", 2, np.radians(plan.heading_deg)))
    compat.write_keys(thing, owned.get("actions", role), channels, plan.first_frame.astype(float))


def _unit_box(along: float, across: float) -> tuple[Floats, tuple[tuple[int, ...], ...], tuple[bool, ...]]:
    """A box on its bottom face, 1 high."""
    x, y = along / 2, across / 2
    corners = [(sx * x, sy * y, z) for z in (0.0, 1.0) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    faces = ((3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))
    return np.array(corners), faces, (False,) * 6


def chart(scene: Any, role: str, pixels: npt.NDArray[np.uint8]) -> Any:
    """A picture (height, width, 3) as our image of that role; it stays until our set is removed."""
    owned = OwnedSet(scene)
    height, width = pixels.shape[:2]
    image = owned.get("images", role, width, height)
    if tuple(image.size) != (width, height):
        image.scale(width, height)
    rows = np.ones((height, width, 4), np.float32)
    rows[..., :3] = pixels[::-1] / np.float32(255)
    image.pixels.foreach_set(rows.ravel())
    image.update()
    image.pack()
    return image
