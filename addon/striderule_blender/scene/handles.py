"""Handles on the footprints: a person drags them, and what was dragged is read off again."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from striderule.camera.solids import sole_outline_mm
from striderule.model.fields import Pair
from striderule.solve.plan import Plan, Stance

from .. import bridge
from . import look, marks, solids
from .owned import OwnedSet, role_of, set_collection
from .puppet import write_mesh

GROUP = "handles"
_BUILT = "striderule_stands"
"""Custom property of a handle: place (3) in Blender units and rotation (3) as it was built."""
_NEAR = 1e-6


@dataclass(frozen=True)
class Dragged:
    """A footfall that was dragged. at_mm: where its handle is; turn_deg: how much further it was turned."""

    leg: str
    step: int
    at_mm: Pair
    turn_deg: float


def build(owned: OwnedSet, plan: Plan) -> None:
    """A handle on every footfall of the plan: its sole, a little larger, that moves on the floor and turns on it."""
    scale, radius = bridge.units_per_mm(owned.scene), marks.size_mm(plan)
    for i, leg in enumerate(plan.shot.puppet.legs):
        outline = sole_outline_mm(leg)
        middle = 0.5 * (outline.min(axis=0) + outline.max(axis=0))
        reach = outline - middle
        larger = middle + reach * (1.0 + 0.8 * radius / np.maximum(np.abs(reach).max(axis=0), 1e-6))
        mesh = owned.get("meshes", f"{leg.name} handle")
        rings = np.concatenate((larger, outline))
        rings = np.column_stack([rings, np.full(len(rings), 0.5 * radius)])
        n = len(outline)
        faces = tuple((k, (k + 1) % n, n + (k + 1) % n, n + k) for k in range(n))
        write_mesh(mesh, solids.Solid(rings, (*faces, tuple(range(n, 2 * n))), (False,) * (n + 1)), scale)
        made = look.material(owned, f"{leg.name} handle", look.leg_paint(plan.shot.puppet.legs, i))
        for stance in plan.stances:
            if stance.leg == i:
                _handle(owned, stance, f"footfall {leg.name} {stance.step}", mesh, made, scale)


def _handle(owned: OwnedSet, stance: Stance, role: str, mesh: Any, made: Any, scale: float) -> None:
    thing = owned.thing(role, GROUP, mesh)
    look.dress(thing, made)
    thing.rotation_mode, thing.hide_render = "XYZ", True
    thing.lock_location, thing.lock_rotation = (False, False, True), (True, True, False)
    thing.lock_scale = (True, True, True)
    thing.location = [x * scale for x in stance.place_mm]
    h, p, r = np.radians([stance.heading_deg, stance.pitch_deg, stance.roll_deg]).tolist()
    thing.rotation_euler, thing.scale = (r, -p, h), (1, 1, 1)
    thing[_BUILT] = [*thing.location, *thing.rotation_euler]


def dragged(scene: Any) -> Iterator[Dragged]:
    """Every handle that is not where it was built."""
    scale = bridge.units_per_mm(scene)
    for thing, leg, step in _handles(scene):
        x, y, _, _, _, heading = thing[_BUILT]
        (now_x, now_y, _), turned = thing.location, thing.rotation_euler[2] - heading
        if max(abs(now_x - x), abs(now_y - y)) > _NEAR * max(1.0, abs(x), abs(y)) or abs(turned) > _NEAR:
            turn = math.degrees(math.remainder(turned, 2 * math.pi))
            yield Dragged(leg, step, (now_x / scale, now_y / scale), turn)


def chosen(scene: Any) -> list[tuple[str, int]]:
    """Leg and step of every handle that is selected."""
    return [(leg, step) for thing, leg, step in _handles(scene) if thing.select_get()]


def is_handle(block: Any) -> bool:
    """True for a handle of one of our sets. Cheap, for it is asked of everything that moves."""
    return _BUILT in block


def _handles(scene: Any) -> Iterator[tuple[Any, str, int]]:
    root = set_collection(scene)
    group = next((one for one in root.children if (role_of(one) or ("", ""))[1] == GROUP), None) if root else None
    for thing in group.objects if group else ():
        owned = role_of(thing)
        if owned and owned[1].startswith("footfall ") and _BUILT in thing:
            _, leg, step = owned[1].split(" ")
            yield thing, leg, int(step)
