"""The puppet as rigid parts, keyed once a pose, and its ghosts, which follow the parts' own actions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from striderule.camera.solids import drawn_shapes, planned_ankle_mm
from striderule.model.upper import part_names
from striderule.solve.plan import Plan

from .. import bridge, compat
from . import look, solids
from .owned import OwnedSet

Floats = npt.NDArray[np.float64]

_FACES = "striderule_faces"
"""Custom property of our meshes: which faces they were made with."""


@dataclass(frozen=True, eq=False)
class Part:
    """A rigid part: its solid in mm about its pivot, where the pivot is (P, 3) and how it is turned (P, 3, 3)."""

    role: str
    solid: solids.Solid
    places_mm: Floats
    axes: Floats
    colour: look.Rgb | look.Paint


def parts_of(plan: Plan) -> Iterator[Part]:
    """Every rigid part of the puppet: per leg its bones, foot and toe; then body, chest, head, arms and loose parts
    where drawn."""
    puppet = plan.shot.puppet
    ankles = planned_ankle_mm(plan)  # a foot stands where the plan has it, even where its leg does not reach it
    for i, leg in enumerate(puppet.legs):
        colour = look.leg_paint(puppet.legs, i)
        yield Part(f"{leg.name} thigh", solids.thigh(leg), plan.hip_mm[:, i], plan.thigh_axes[:, i], colour)
        yield Part(
            f"{leg.name} shank",
            solids.shank(leg),
            plan.knee_mm[:, i],
            plan.shank_axes[:, i],
            colour.mixed((1, 1, 1), 0.15),
        )
        if leg.cannon_mm is not None:
            yield Part(
                f"{leg.name} cannon",
                solids.cannon(leg),
                plan.hock_mm[:, i],
                plan.cannon_axes[:, i],
                colour.mixed((1, 1, 1), 0.22),
            )
        yield Part(f"{leg.name} foot", solids.foot(leg), ankles[:, i], plan.foot_axes[:, i], colour)
        if leg.toe_mm > 0:
            yield Part(
                f"{leg.name} toe",
                solids.toe(leg),
                plan.ball_mm[:, i],
                plan.toe_axes[:, i],
                colour.mixed((1, 1, 1), 0.3),
            )
    shapes = drawn_shapes(puppet)
    limbs: dict[str, list[solids.Solid]] = {}
    for arm in puppet.arms:
        limbs[f"arm.{arm.name}.upper"] = [solids.upper_arm(arm)]
        limbs[f"arm.{arm.name}.fore"] = [solids.forearm(arm)]
    for part in part_names(puppet.arms, puppet.loose):
        places, axes, pivot = plan.part_frame(part)
        drawn = limbs.get(part, [])
        drawn += [solids.from_shape(shape, np.array(pivot)) for shape in shapes if shape.part == part]
        if drawn:
            kind = part.partition(".")[0]
            yield Part(_role(part), solids.joined(drawn), places, axes, look.BODY[kind])


def _role(part: str) -> str:
    """What a part's object is called: "left_arm upper", "left_arm fore", "tail"."""
    return part.partition(".")[2].replace(".", " ") or part


def write_mesh(mesh: Any, solid: solids.Solid, scale: float) -> None:
    """Make a mesh's geometry that of a solid, times Blender units per mm.

    Faces are only made where they are others than before: while a value is dragged most solids keep their shape.
    """
    places = (solid.points * scale).astype(np.float32).ravel()
    made = f"{hash((solid.faces, solid.smooth)):x}"
    counts = len(mesh.vertices) * 3 == len(places) and len(mesh.polygons) == len(solid.faces)
    if counts and mesh.get(_FACES) == made:
        there = np.empty_like(places)
        mesh.vertices.foreach_get("co", there)
        if not np.array_equal(there, places):
            mesh.vertices.foreach_set("co", places)
            mesh.update()
        return
    mesh.clear_geometry()
    mesh.from_pydata((solid.points * scale).tolist(), [], solid.faces)
    mesh.polygons.foreach_set("use_smooth", np.array(solid.smooth, dtype=bool))
    mesh[_FACES] = made
    mesh.update()


def write_part(
    owned: OwnedSet, part: Part, group: str, frames: Floats, name: str = "", aside_mm: float = 0.0
) -> tuple[Any, Any]:
    """Write a part with a key at each of frames (P,), in the sub-collection `group`; its mesh and its action.

    name: put before its role, where it is another puppet's; aside_mm: how far to the left all of it stands.
    """
    scale, role = bridge.units_per_mm(owned.scene), f"{name}{part.role}"
    mesh, action = owned.get("meshes", role), owned.get("actions", role)
    write_mesh(mesh, part.solid, scale)
    thing = owned.thing(role, group, mesh)
    look.dress(thing, look.material(owned, part.role, part.colour))
    thing.rotation_mode = "QUATERNION"
    turned = bridge.quaternions_from_axes(part.axes)
    places = part.places_mm + np.array([0.0, aside_mm, 0.0])
    channels = [("location", i, places[:, i] * scale) for i in range(3)]
    channels += [("rotation_quaternion", i, turned[:, i]) for i in range(4)]
    compat.write_keys(thing, action, channels, frames)
    return mesh, action


def build(owned: OwnedSet, plan: Plan, ghosts_before: int, ghosts_after: int) -> None:
    """Write the puppet's parts and one ghost of it for every offset from -ghosts_before to ghosts_after but 0."""
    frames = plan.first_frame.astype(float)
    offsets = [k for k in range(-ghosts_before, ghosts_after + 1) if k]
    for part in parts_of(plan):
        mesh, action = write_part(owned, part, "puppet", frames)
        for k in offsets:
            ghost = owned.thing(f"{part.role} ghost {k:+d}", f"ghost {k:+d}", mesh)
            ghost.rotation_mode = "QUATERNION"
            look.dress(ghost, _ghost_material(owned, part, k, max(ghosts_before, ghosts_after)))
            at = np.clip(np.arange(plan.poses) + k, 0, plan.poses - 1)
            compat.follow_action(ghost, action, frames, frames[at])


def _ghost_material(owned: OwnedSet, part: Part, k: int, most: int) -> Any:
    """Paler with distance from the pose; past poses a little warmer and coming ones a little greener."""
    tint = (0.95, 0.75, 0.6) if k < 0 else (0.6, 0.9, 0.75)
    alpha = 0.22 - 0.14 * (abs(k) - 1) / max(most, 1)
    own = part.colour
    colour = own.mixed(tint, 0.45) if isinstance(own, look.Paint) else look.mixed(own, tint, 0.45)
    return look.material(owned, f"{part.role} ghost {k:+d}", colour, alpha)
