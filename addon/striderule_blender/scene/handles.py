"""Handles on the footprints: a person drags them, and what was dragged is read off again."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from striderule.camera.solids import sole_outline_mm
from striderule.model.fields import Pair
from striderule.solve.plan import Plan, Stance

from .. import bridge
from . import look, marks, posing, solids
from .owned import OwnedSet, role_of, set_collection
from .puppet import write_mesh

Floats = npt.NDArray[np.float64]

GROUP = "handles"
_BUILT = "striderule_stands"
"""Custom property of a handle: place (3) in Blender units and rotation (3) as it was built."""
_LOCKED = "striderule_locked"
"""Custom property of a group that cannot be picked because of us."""
_NEAR = 1e-6


@dataclass(frozen=True)
class Dragged:
    """A footfall that was dragged. at_mm: where its handle is; turn_deg: how much further it was turned."""

    leg: str
    step: int
    at_mm: Pair
    turn_deg: float


def build(owned: OwnedSet, plan: Plan | None) -> None:
    """A handle on every footfall of a plan: its sole with a rim and a point ahead, that moves on the floor and turns on
    it. Nothing else of the set can be picked meanwhile, for much of it lies over the handles. None: no handles."""
    _lock_others(owned, plan is not None)
    if plan is None:
        return
    scale, radius = bridge.units_per_mm(owned.scene), marks.size_mm(plan)
    for i, leg in enumerate(plan.shot.puppet.legs):
        mesh = owned.get("meshes", f"{leg.name} handle")
        write_mesh(mesh, _solid(sole_outline_mm(leg), radius), scale)
        colour = look.leg_paint(plan.shot.puppet.legs, i).mixed((1, 1, 1), 0.75)
        made = look.material(owned, f"{leg.name} handle", colour)
        for stance in plan.stances:
            if stance.leg == i:
                _handle(owned, stance, f"footfall {leg.name} {stance.step}", mesh, made, scale)


def _solid(outline: Floats, radius: float) -> solids.Solid:
    """A rim of 1.5 radii around an outline (n, 2), and a triangle at its front."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    middle, half = 0.5 * (low + high), np.maximum(0.5 * (high - low), 1e-6)
    rim = middle + (outline - middle) * (1.0 + 1.5 * radius / half)
    tip, side = high[0] + 1.5 * radius, 0.5 * half[1]
    point = np.array([(tip, middle[1] - side), (tip + 1.5 * side, middle[1]), (tip, middle[1] + side)])
    flat = np.concatenate((rim, outline, point))
    n = len(outline)
    faces = [(k, (k + 1) % n, n + (k + 1) % n, n + k) for k in range(n)]
    faces += [tuple(range(n, 2 * n)), (2 * n, 2 * n + 1, 2 * n + 2)]
    return solids.Solid(np.column_stack([flat, np.full(len(flat), 0.4 * radius)]), tuple(faces), (False,) * len(faces))


def _lock_others(owned: OwnedSet, lock: bool) -> None:
    """Keep our other groups from being picked, or let those that we kept be picked again."""
    for group in owned.root.children:
        if (role_of(group) or ("", GROUP))[1] in (GROUP, posing.GROUP):
            continue
        if lock and not group.hide_select:
            group.hide_select, group[_LOCKED] = True, True
        elif not lock and _LOCKED in group:
            group.hide_select = False
            del group[_LOCKED]


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
