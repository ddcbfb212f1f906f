"""What helps to set a pose: marks that move with the puppet, their tracks and arcs, prints, tie-downs, floor."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from striderule.camera.solids import sole_outline_mm
from striderule.solve.ground import surface_mm
from striderule.solve.plan import FootState, Plan, Stance

from .. import bridge, compat
from . import look, solids
from .owned import OwnedSet
from .puppet import write_mesh

Floats = npt.NDArray[np.float64]

_OCTAHEDRON = np.array([(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)], float)
_OCTAHEDRON_FACES = ((0, 2, 4), (2, 1, 4), (1, 3, 4), (3, 0, 4), (2, 0, 5), (1, 2, 5), (3, 1, 5), (0, 3, 5))


def size_mm(plan: Plan) -> float:
    """A mark's radius that suits the puppet: a hundredth of its hip height."""
    return 0.01 * max(leg.straight_mm for leg in plan.shot.puppet.legs)


def build(owned: OwnedSet, plan: Plan, ruler: bool, others: tuple[Plan, ...] = (), left_mm: float = 0.0,
          board: bool = True) -> None:  # fmt: skip
    """Write marks, tracks, arcs, footprints, tie-downs and the floor, which holds other walks as well, and left_mm more
    on the left. board: its surface too, where the user has none of their own."""
    scale, radius = bridge.units_per_mm(owned.scene), size_mm(plan)
    legs = plan.shot.puppet.legs
    reference = look.material(owned, "reference", look.REFERENCE)
    _mark(owned, "reference mark", plan, plan.reference_mm, 1.6 * radius, reference)
    _curve(owned, "track", "tracks", [plan.reference_mm], 0.35 * radius, reference, scale)
    _spacing(owned, "track spacing", plan.reference_mm, 1.3 * radius, reference, scale)
    for i, leg in enumerate(legs):
        colour = look.leg_paint(legs, i).mixed((1, 1, 1), 0.45)
        made = look.material(owned, f"{leg.name} marks", colour)
        _mark(owned, f"{leg.name} ankle mark", plan, plan.ankle_mm[:, i], 1.4 * radius, made)
        _mark(owned, f"{leg.name} toe mark", plan, plan.toe_mm[:, i], radius, made)
        arcs = list(swing_arcs(plan, i))
        _curve(owned, f"{leg.name} arc", "tracks", arcs, 0.5 * radius, made, scale)
        _spacing(owned, f"{leg.name} arc spacing", np.concatenate([*arcs, np.empty((0, 3))]), 1.5 * radius, made, scale)
    _floor(owned, plan, scale, ruler, others, left_mm, board)


def swing_arcs(plan: Plan, leg: int) -> Iterator[Floats]:
    """The ankle's way through each time it is off the print: from the last planted pose to the next, (n, 3) each."""
    moving = plan.state[:, leg] != FootState.PLANTED
    edges = np.flatnonzero(np.diff(np.concatenate([[False], moving, [False]]).astype(int)))
    for first, end in edges.reshape(-1, 2):
        run = plan.ankle_mm[max(first - 1, 0) : end + 1, leg]
        if len(run) > 1:
            yield run


def _mark(owned: OwnedSet, role: str, plan: Plan, places_mm: Floats, radius: float, made: Any) -> None:
    """A ball that is at places_mm (P, 3), one a pose."""
    scale = bridge.units_per_mm(owned.scene)
    mesh = owned.get("meshes", role)
    write_mesh(mesh, solids.ball(np.zeros(3), radius), scale)
    thing = owned.thing(role, "marks", mesh)
    thing.show_in_front = True
    look.dress(thing, made)
    channels = [("location", i, places_mm[:, i] * scale) for i in range(3)]
    compat.write_keys(thing, owned.get("actions", role), channels, plan.first_frame.astype(float))


def _curve(owned: OwnedSet, role: str, group: str, runs: list[Floats], radius: float, made: Any, scale: float) -> None:
    """Poly-lines with some thickness, one per run of points (n, 3) in mm."""
    curve = owned.get("curves", role, "CURVE")
    curve.dimensions, curve.bevel_depth, curve.bevel_resolution = "3D", radius * scale, 2
    curve.splines.clear()
    for run in runs:
        spline = curve.splines.new("POLY")
        spline.points.add(len(run) - 1)
        spline.points.foreach_set("co", np.column_stack([run * scale, np.ones(len(run))]).astype(np.float32).ravel())
    look.dress(owned.thing(role, group, curve), made)


def _spacing(owned: OwnedSet, role: str, places_mm: Floats, radius: float, made: Any, scale: float) -> None:
    """A small mark at each place, all in one mesh."""
    points = (places_mm[:, None] + radius * _OCTAHEDRON).reshape(-1, 3)
    faces = tuple(tuple(i + 6 * k for i in face) for k in range(len(places_mm)) for face in _OCTAHEDRON_FACES)
    mesh = owned.get("meshes", role)
    write_mesh(mesh, solids.Solid(points, faces, (False,) * len(faces)), scale)
    look.dress(owned.thing(role, "tracks", mesh), made)


def flat(owned: OwnedSet, role: str, rings: list[Floats], made: Any, scale: float) -> Any:
    """Flat polygons, each (n, 3) in mm counter-clockwise from above, in one mesh: the object."""
    points = np.concatenate([*rings, np.empty((0, 3))])
    starts = np.cumsum([0, *map(len, rings)])
    faces = tuple(tuple(range(a, b)) for a, b in pairwise(starts.tolist()))
    mesh = owned.get("meshes", role)
    write_mesh(mesh, solids.Solid(points, faces, (False,) * len(faces)), scale)
    thing = owned.thing(role, "floor", mesh)
    thing.animation_data_clear()  # it may have lain on a floor that moved
    thing.location = (0, 0, 0)
    look.dress(thing, made)
    return thing


def move_with_floor(owned: OwnedSet, thing: Any, role: str, plan: Plan) -> None:
    """Let a thing that lies on the floor move back with it under a puppet that walks on the spot."""
    if plan.shot.walk.on_the_spot:
        shift = plan.floor_shift_mm * bridge.units_per_mm(owned.scene)
        channels = [("location", i, shift[:, i]) for i in (0, 2)]
        compat.write_keys(thing, owned.get("actions", role), channels, plan.first_frame.astype(float))


def laid(stance: Stance, outline: Floats, up: float) -> Floats:
    """An outline (n, 2) about the ankle of the flat foot, laid on the floor under a stance."""
    h, p, r = np.radians([stance.heading_deg, stance.pitch_deg, stance.roll_deg])
    turn = (
        np.array([[np.cos(h), -np.sin(h), 0], [np.sin(h), np.cos(h), 0], [0, 0, 1]])
        @ np.array([[np.cos(p), 0, -np.sin(p)], [0, 1, 0], [np.sin(p), 0, np.cos(p)]])
        @ np.array([[1, 0, 0], [0, np.cos(r), -np.sin(r)], [0, np.sin(r), np.cos(r)]])
    )
    return np.column_stack([outline, np.full(len(outline), up)]) @ turn.T + np.array(stance.place_mm)


def _floor(
    owned: OwnedSet, plan: Plan, scale: float, ruler: bool, others: tuple[Plan, ...], left_mm: float, board: bool
) -> None:
    """Floor, ruler from the datum along the walk, one print per footfall and the tie-down in it."""
    legs, radius = plan.shot.puppet.legs, size_mm(plan)
    lift = 0.15 * radius
    around = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    disc = np.column_stack([np.cos(around), np.sin(around)])
    ties = []
    for i, leg in enumerate(legs):
        own = [stance for stance in plan.stances if stance.leg == i]
        colour = look.leg_paint(legs, i).mixed((1, 1, 1), 0.35)
        prints = flat(
            owned,
            f"{leg.name} prints",
            [laid(one, sole_outline_mm(leg), lift) for one in own],
            look.material(owned, f"{leg.name} prints", colour),
            scale,
        )
        move_with_floor(owned, prints, f"{leg.name} prints", plan)
        size = min(0.8 * radius, 0.2 * leg.sole_width_mm)
        ties += [laid(one, size * disc + np.array(leg.tie_mm), 2 * lift) for one in own]
    holes = flat(owned, "tie-downs", ties, look.material(owned, "tie-downs", look.TIE), scale)
    move_with_floor(owned, holes, "tie-downs", plan)
    walks = (plan, *others)
    places = [at.reshape(-1, 3) for one in walks for at in (one.reference_mm, one.toe_mm, one.heel_mm)]
    low, high = np.concatenate(places).min(0), np.concatenate(places).max(0)
    margin = 3 * max(leg.straight_mm for one in walks for leg in one.shot.puppet.legs)
    if board:
        x0, x1, y0, y1 = low[0] - margin, high[0] + margin, low[1] - margin, high[1] + left_mm + margin
        made = look.material(owned, "floor", look.FLOOR)
        flat(owned, "floor", [np.array([(x0, y0, 0), (x1, y0, 0), (x1, y1, 0), (x0, y1, 0)])], made, scale)
        width = 0.5 * (plan.shot.settled_walk.width_mm or 0.0) + 2 * max(leg.sole_width_mm for leg in legs)
        raised = surface_mm(plan.shot, margin, width)
        if raised:  # slopes and stairs, a strip of board along the track
            flat(owned, "ground", [corners - (0, 0, lift) for corners in raised], made, scale)
    if ruler:
        flat(
            owned,
            "ruler",
            _ticks(low[0], high[0], low[1] - 6 * radius, radius, lift),
            look.material(owned, "ruler", look.RULER),
            scale,
        )


def carry_floor(scene: Any, plan: Plan, along_mm: Floats) -> None:
    """Carry the floor's plain surface along_mm (P,), so that its ends stand still for a camera that moves too."""
    owned = OwnedSet(scene)
    thing, action = owned.get("objects", "floor"), owned.get("actions", "floor")
    values = (along_mm - along_mm.mean()) * bridge.units_per_mm(scene)
    compat.write_keys(thing, action, [("location", 0, values)], plan.first_frame.astype(float))


def _ticks(start: float, end: float, across: float, radius: float, up: float) -> list[Floats]:
    """A tick every 10 mm from the datum (or a round number more, so that there are at most 1000), longer at 50 and 100;
    the datum itself is a cross."""
    every = next(step for step in (10, 100, 1000, 10_000, 100_000, 10**9) if (end - start) / step <= 1000)
    rings = []
    for k in range(int(np.floor(start / every)), int(np.ceil(end / every)) + 1):
        reach = radius * (4 if k % 10 == 0 else 2.5 if k % 5 == 0 else 1.2)
        half = 0.3 * radius * (2 if k % 10 == 0 else 1)
        x = k * every
        rings.append(
            np.array(
                [
                    (x - half, across - reach, up),
                    (x + half, across - reach, up),
                    (x + half, across, up),
                    (x - half, across, up),
                ]
            )
        )
    for a, b in ((3 * radius, 0.2 * radius), (0.2 * radius, 3 * radius)):
        rings.append(np.array([(-a, -b, up), (a, -b, up), (a, b, up), (-a, b, up)]))
    return rings
