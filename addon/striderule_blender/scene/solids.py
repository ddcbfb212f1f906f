"""The solids of striderule.camera as vertices and faces in millimetres. Numbers only; nothing here touches Blender."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from striderule.camera.solids import arm_widths_mm, foot_block_mm, limb_widths_mm, toe_block_mm
from striderule.model.puppet import Leg, Shape
from striderule.model.upper import Arm

Floats = npt.NDArray[np.float64]
Face = tuple[int, ...]
AROUND = 20
"""Corners of a round cross-section."""


@dataclass(frozen=True, eq=False)
class Solid:
    """points (n, 3) in mm; faces index them, counter-clockwise from outside; smooth (faces,) shaded round."""

    points: Floats
    faces: tuple[Face, ...]
    smooth: tuple[bool, ...]


def joined(solids: list[Solid]) -> Solid:
    """All solids as one; none gives an empty solid."""
    points, faces, smooth, start = [np.empty((0, 3))], [], [], 0
    for one in solids:
        points.append(one.points)
        faces += [tuple(i + start for i in face) for face in one.faces]
        smooth += one.smooth
        start += len(one.points)
    return Solid(np.concatenate(points), tuple(faces), tuple(smooth))


def _lathe(rings: list[tuple[float, float]], start: Floats, axis: Floats) -> Solid:
    """Rings of (distance along axis, radius) about the line from start; first and last radius 0 close it."""
    axis = axis / max(float(np.linalg.norm(axis)), 1e-12)
    side = np.cross(axis, [0.0, 1.0, 0.0] if abs(axis[1]) < 0.9 else [1.0, 0.0, 0.0])
    side /= np.linalg.norm(side)
    turn = np.linspace(0, 2 * np.pi, AROUND, endpoint=False)
    circle = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * np.cross(axis, side)
    points = [start + rings[0][0] * axis, start + rings[-1][0] * axis]
    for along, radius in rings[1:-1]:
        points += list(start + along * axis + radius * circle)
    faces: list[Face] = []
    count = len(rings) - 2
    for i in range(AROUND):
        j = (i + 1) % AROUND
        faces.append((0, 2 + j, 2 + i))
        last = 2 + (count - 1) * AROUND
        faces.append((1, last + i, last + j))
        for r in range(count - 1):
            a = 2 + r * AROUND
            faces.append((a + i, a + j, a + AROUND + j, a + AROUND + i))
    return Solid(np.array(points), tuple(faces), (True,) * len(faces))


def capsule(start: Floats, end: Floats, radius: float, end_radius: float | None = None) -> Solid:
    """A rod with round ends; start = end gives a ball."""
    ends = (tuple(np.asarray(one, float).tolist()) for one in (start, end))
    return _capsule(*ends, float(radius), float(radius if end_radius is None else end_radius))


@lru_cache(maxsize=512)
def _capsule(start_mm: tuple[float, ...], end_mm: tuple[float, ...], radius: float, last: float) -> Solid:
    """Kept, for a puppet keeps its shape while its walk is edited."""
    start, end = np.array(start_mm), np.array(end_mm)
    length = float(np.linalg.norm(end - start))
    bow = np.linspace(0, np.pi / 2, 7)
    rings = [(-radius * float(np.cos(a)), radius * float(np.sin(a))) for a in bow]
    rings += [(length + last * float(np.sin(a)), last * float(np.cos(a))) for a in (bow if length > 0 else bow[1:])]
    made = _lathe(rings, start, end - start if length > 0 else np.array([0.0, 0.0, 1.0]))
    made.points.flags.writeable = False
    return made


def ball(centre: Floats, radius: float) -> Solid:
    return capsule(centre, centre, radius)


def block(profile: Floats, width: float, across: float = 0.0) -> Solid:
    """A side view extruded sideways. profile (n, 2) of (along, up), counter-clockwise seen from the puppet's right."""
    n = len(profile)
    left, right = across + width / 2, across - width / 2
    points = [(x, y, z) for y in (right, left) for x, z in profile]
    sides = [(i, (i + 1) % n, n + (i + 1) % n, n + i) for i in range(n)]
    faces = [tuple(range(n)), tuple(range(2 * n - 1, n - 1, -1)), *[(d, c, b, a) for a, b, c, d in sides]]
    return Solid(np.array(points, float), tuple(faces), (False,) * len(faces))


def box(centre: Floats, size: Floats) -> Solid:
    """A box with its edges broken by a twelfth of its least size, so that it catches the light."""
    c, h = np.asarray(centre, float), np.asarray(size, float) / 2
    cut = min(h) / 6
    x, z = h[0], h[2]
    profile = np.array(
        [
            (-x + cut, -z),
            (x - cut, -z),
            (x, -z + cut),
            (x, z - cut),
            (x - cut, z),
            (-x + cut, z),
            (-x, z - cut),
            (-x, -z + cut),
        ]
    )
    return block(profile + c[[0, 2]], 2 * float(h[1]), float(c[1]))


def from_shape(shape: Shape, pivot: Floats) -> Solid:
    """A measured shape, its places taken from `pivot` (where the part it hangs on turns)."""
    if shape.form == "box":
        return box(np.subtract(shape.centre_mm, pivot), np.array(shape.size_mm))
    radius = float(shape.radius_mm or 0.0)
    if shape.form == "ball":
        return ball(np.subtract(shape.centre_mm, pivot), radius)
    return capsule(np.subtract(shape.from_mm, pivot), np.subtract(shape.to_mm, pivot), radius)


def thigh(leg: Leg) -> Solid:
    """From the hip at the origin down to the knee at -thigh."""
    wide = limb_widths_mm(leg)
    return capsule(np.zeros(3), np.array([0.0, 0.0, -leg.thigh_mm]), wide.hip / 2, wide.knee / 2)


def shank(leg: Leg) -> Solid:
    """From the knee at the origin down to the ankle, or the hock of a leg of three bones, at -shank."""
    wide = limb_widths_mm(leg)
    return capsule(np.zeros(3), np.array([0.0, 0.0, -leg.shank_mm]), wide.knee / 2, wide.hock / 2)


def cannon(leg: Leg) -> Solid:
    """From the hock at the origin down to the ankle at -cannon; nothing to draw for a leg of two bones."""
    wide = limb_widths_mm(leg)
    return capsule(np.zeros(3), np.array([0.0, 0.0, -(leg.cannon_mm or 0.0)]), wide.hock / 2, wide.ankle / 2)


def upper_arm(arm: Arm) -> Solid:
    """From the shoulder at the origin down to the elbow."""
    shoulder, elbow, _, _ = arm_widths_mm(arm)
    return capsule(np.zeros(3), np.array([0.0, 0.0, -arm.upper_mm]), shoulder / 2, elbow / 2)


def forearm(arm: Arm) -> Solid:
    """From the elbow at the origin down to the wrist, and the hand."""
    _, elbow, wrist, hand = arm_widths_mm(arm)
    bone = capsule(np.zeros(3), np.array([0.0, 0.0, -arm.fore_mm]), elbow / 2, wrist / 2)
    return joined([bone, ball(np.array([0.0, 0.0, -arm.fore_mm - arm.hand_mm]), hand / 2)])


def foot(leg: Leg) -> Solid:
    """From the back edge of the heel to the toe joint; the origin is the ankle."""
    return _hexahedron(foot_block_mm(leg) + np.array([leg.ball_ahead_mm, 0.0, -leg.ankle_up_mm]))


def toe(leg: Leg) -> Solid:
    """From the toe joint at the origin, on the sole, to the toe tip."""
    return _hexahedron(toe_block_mm(leg))


def _hexahedron(corners: Floats) -> Solid:
    """Eight corners: four below, back ones first, then four above, each pair left then right."""
    faces = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
    return Solid(corners, faces, (False,) * 6)
