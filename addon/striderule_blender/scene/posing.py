"""Feet and hips of a contact and a passing that a person drags, and the poses that they are read as."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

from striderule.model.poses import Contact, Passing, PosedFoot, Poses
from striderule.model.puppet import Leg
from striderule.solve.plan import Plan

from .. import bridge
from . import look, marks, solids
from .owned import OwnedSet
from .puppet import write_mesh

Floats = npt.NDArray[np.float64]

GROUP = "poses to read"
POSES = ("contact", "passing")
FLAT_DEG = 0.5
"""A foot that is tilted by less than a hand can set lies flat."""


def build(owned: OwnedSet, plan: Plan, anew: bool = False) -> None:
    """Handles of a contact and a passing where the walk has them; those that are there already stay where they were
    dragged to, unless anew. A puppet of other than two legs has none."""
    if len(plan.legs) != 2:
        return
    there = owned.find("objects", "contact hips") is not None
    for name, pose in zip(POSES, _poses_of(plan), strict=True):
        _pose(owned, plan, name, pose, anew or not there)


def _pose(owned: OwnedSet, plan: Plan, name: str, pose: int, place: bool) -> None:
    """The hips of a pose as a bar in a colour of its own, its feet, and a stick from hip to foot that follows both."""
    scale, radius = bridge.units_per_mm(owned.scene), 2.0 * marks.size_mm(plan)
    legs = plan.shot.puppet.legs
    bar = owned.get("meshes", "hips to pose")
    across = abs(legs[0].hip_mm[1] - legs[1].hip_mm[1])
    write_mesh(bar, solids.box(np.zeros(3), np.array([radius, across + 4 * radius, radius])), scale)
    hips = owned.thing(f"{name} hips", GROUP, bar)
    look.dress(hips, look.material(owned, f"{name} hips", look.REFERENCE if name == "contact" else look.RULER))
    hips.lock_rotation, hips.lock_scale = (True, True, True), (True, True, True)
    hips.show_in_front = True
    middle = plan.hip_mm[pose].mean(axis=0)
    _shown(hips, place, middle, (0.0, 0.0, _radians(plan.heading_deg[pose])), scale)
    for i, leg in enumerate(legs):
        paint = look.leg_paint(legs, i).mixed((1, 1, 1), 0.5)
        made = look.material(owned, f"{leg.name} foot to pose", paint)
        mesh = owned.get("meshes", f"{leg.name} foot to pose")
        write_mesh(mesh, _sole(leg), scale)
        foot = owned.thing(f"{name} {leg.name} foot", GROUP, mesh)
        look.dress(foot, made)
        foot.lock_rotation, foot.lock_scale = (True, False, False), (True, True, True)
        ankle = plan.heel_mm[pose, i] + plan.foot_axes[pose, i] @ (leg.heel_behind_mm, 0.0, leg.ankle_up_mm)
        turn = (0.0, -_radians(plan.foot_pitch_deg[pose, i]), _radians(plan.foot_heading_deg[pose, i]))
        _shown(foot, place, ankle, turn, scale)
        look.dress(_stick(owned, f"{name} {leg.name}", 0.25 * radius, hips, leg, foot, scale), made)


def _stick(owned: OwnedSet, role: str, radius: float, hips: Any, leg: Leg, foot: Any, scale: float) -> Any:
    """A straight line from a hip to a foot, kept between the two by Blender itself."""
    mesh = owned.get("meshes", "leg to pose")
    length = 100.0
    rod = solids.capsule(np.zeros(3), np.array([0.0, length, 0.0]), radius)
    write_mesh(mesh, rod, scale)
    stick = owned.thing(f"{role} line", GROUP, mesh)
    stick.parent, stick.hide_select, stick.hide_render = hips, True, True
    stick.location = (0.0, leg.hip_mm[1] * scale, 0.0)
    stretch = stick.constraints[0] if stick.constraints else stick.constraints.new("STRETCH_TO")
    stretch.target, stretch.rest_length, stretch.volume = foot, length * scale, "NO_VOLUME"
    return stick


def _shown(thing: Any, place: bool, at_mm: Floats, turn: tuple[float, float, float], scale: float) -> None:
    thing.rotation_mode, thing.hide_render = "XYZ", True
    thing.scale = (1, 1, 1)
    if place:
        thing.location, thing.rotation_euler = (at_mm * scale).tolist(), turn


def _sole(leg: Leg) -> solids.Solid:
    """A foot with its toe, the ankle at the origin."""
    foot = solids.foot(leg)
    if leg.toe_mm <= 0:
        return foot
    toe = solids.toe(leg)
    ahead = np.array([leg.ball_ahead_mm, 0.0, -leg.ankle_up_mm])
    return solids.joined([foot, solids.Solid(toe.points + ahead, toe.faces, toe.smooth)])


def _poses_of(plan: Plan) -> tuple[int, int]:
    """The first contact of two feet, and the passing after it, from 0."""
    first = next((k for k, key in enumerate(plan.keys) if key == "contact"), 0)
    return first, next((k for k in range(first, plan.poses) if plan.keys[k] == "passing"), plan.poses - 1)


def read(scene: Any, plan: Plan, first: bool = False) -> Poses:
    """The poses that the handles show, in stage mm, seen along the walk's heading; first: the contact alone, as pose 1.

    Raises KeyError where there are no handles."""
    owned = OwnedSet(scene)
    heading = 0.0 if first else float(plan.heading_deg[0])
    swings = int(plan.swing_leg[_poses_of(plan)[1]])
    found = {}
    for name in POSES:
        hips = _at(owned, f"{name} hips", heading)[0]
        feet = tuple(
            _foot(leg, *_at(owned, f"{name} {leg.name} foot", heading), name == "passing" and i == swings)
            for i, leg in enumerate(plan.shot.puppet.legs)
        )
        found[name] = {"hip_mm": _round(hips[2]), "hip_at_mm": (_round(hips[0]), _round(hips[1])), "feet": feet}
    contact = Contact(**found["contact"])
    if first:
        return Poses(first=contact)
    return Poses(contact, Passing(**found["passing"], free=plan.legs[swings]))


def _at(owned: OwnedSet, role: str, heading_deg: float) -> tuple[Floats, float, float]:
    """Place (3,) in mm of a handle, its pitch (toe up +) and heading in degrees, all seen along a heading."""
    thing = owned.find("objects", role)
    if thing is None:
        raise KeyError(role)
    x, y, z = (np.array(thing.location, float) / bridge.units_per_mm(owned.scene)).tolist()
    c, s = math.cos(math.radians(heading_deg)), math.sin(math.radians(heading_deg))
    _, pitch, turned = (math.degrees(angle) for angle in thing.rotation_euler)
    return np.array((x * c + y * s, y * c - x * s, z)), -pitch, turned - heading_deg


def _foot(leg: Leg, ankle: Floats, pitch: float, heading: float, in_air: bool) -> PosedFoot:
    """A foot by the point that it turns about: heel edge with its toe up, toe with its heel up, else the ankle."""
    tilt = 0.0 if abs(pitch) < FLAT_DEG else pitch
    h, p = math.radians(heading), math.radians(tilt)

    def on(along: float, up: float) -> tuple[float, float]:
        """A point of the foot, from its ankle, on the floor plan."""
        ahead = along * math.cos(p) - up * math.sin(p)
        return _round(float(ankle[0]) + ahead * math.cos(h)), _round(float(ankle[1]) + ahead * math.sin(h))

    out = _round(leg.outward_side * heading)
    if in_air:
        return PosedFoot(leg.name, ankle_mm=on(0, 0), ankle_up_mm=_round(max(float(ankle[2]), 0.0)), state="air")
    given: dict[str, Any] = {"foot_pitch_deg": _round(tilt) if tilt else None, "toe_out_deg": out}
    if tilt > 0:
        return PosedFoot(leg.name, heel_mm=on(-leg.heel_behind_mm, -leg.ankle_up_mm), **given)
    if tilt < 0:
        x, y = on(leg.ball_ahead_mm, -leg.ankle_up_mm)
        toe = (_round(x + leg.toe_mm * math.cos(h)), _round(y + leg.toe_mm * math.sin(h)))
        return PosedFoot(leg.name, toe_mm=toe, **given)
    return PosedFoot(leg.name, ankle_mm=on(0, 0), **given)


def _radians(value: Any) -> float:
    return math.radians(float(value))


def _round(value: float) -> float:
    return round(float(value), 2) + 0.0
