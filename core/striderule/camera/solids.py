"""The puppet as a camera sees it: convex solids made from what was measured, in every pose.

Every solid is the convex hull of a few balls: a limb is two, a box eight of radius 0, a ball one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from ..model.puppet import Leg, Puppet, Shape
from ..model.upper import Arm
from ..solve.plan import Plan

Floats = npt.NDArray[np.float64]

TOE_THICKNESS = 0.4
"""Thickness of the foot at the toe joint, as a share of the ankle's height."""


@dataclass(frozen=True, eq=False)
class Solid:
    """part: thigh | shank | cannon | foot | toe, or what it hangs on as `Plan.part_frame` calls it (body,
    arm.NAME.fore, ...). leg: index of its leg, -1 for all others.
    centres_mm: (poses, n, 3) centres of its balls on the stage; radii_mm: (n,).
    side: +1 where all of it is left of the puppet's midline, -1 right of it, 0 where it crosses it or is a leg's.
    zero_mm: its middle in the zero pose from the body's centre; of a leg's solids the hip."""

    part: str
    leg: int
    centres_mm: Floats
    radii_mm: Floats
    side: int
    zero_mm: tuple[float, float, float]


class LimbWidths(NamedTuple):
    """Thickness in mm at the joints of a leg and of the foot's toe end; hock: the ankle's, for a leg of two bones."""

    hip: float
    knee: float
    hock: float
    ankle: float
    toe: float


def limb_widths_mm(leg: Leg) -> LimbWidths:
    """A leg's thicknesses; where not measured, as shares of the limb's length, and the cannon's as a share of what the
    shank ends with."""
    thigh = leg.thigh_width_mm if leg.thigh_width_mm is not None else 0.24 * leg.thigh_mm
    shank = leg.shank_width_mm if leg.shank_width_mm is not None else 0.19 * leg.shank_mm
    knee, end = 0.5 * (0.8 * thigh + shank), 0.75 * shank
    toe = TOE_THICKNESS * leg.ankle_up_mm
    if leg.cannon_mm is None:
        return LimbWidths(thigh, knee, end, end, toe)
    cannon = leg.cannon_width_mm if leg.cannon_width_mm is not None else 0.9 * end
    return LimbWidths(thigh, knee, 0.5 * (end + cannon), cannon, toe)


def arm_widths_mm(arm: Arm) -> tuple[float, float, float, float]:
    """Thickness at shoulder, elbow, wrist and hand; where not measured, as a share of the limb's length."""
    upper = arm.upper_width_mm if arm.upper_width_mm is not None else 0.26 * arm.upper_mm
    fore = arm.fore_width_mm if arm.fore_width_mm is not None else 0.22 * arm.fore_mm
    return upper, 0.5 * (0.9 * upper + fore), 0.85 * fore, 1.1 * fore


def foot_block_mm(leg: Leg) -> Floats:
    """(12, 3) corners of the foot from heel to ball up to the ankle, in foot axes from the toe joint."""
    half, up = 0.5 * leg.sole_width_mm, leg.ankle_up_mm
    heel, ankle = -leg.ball_ahead_mm - leg.heel_behind_mm, -leg.ball_ahead_mm
    joint = 0.5 * limb_widths_mm(leg).ankle
    side, top = min(half, joint), TOE_THICKNESS * up
    corners = [(heel, half, 0.0), (0.0, half, 0.0), (heel, 0.8 * half, 0.45 * up), (0.0, 0.8 * half, top)]
    corners += [(ankle - joint, side, up), (ankle + joint, side, up)]
    return np.array([(x, y * sign, z) for x, y, z in corners for sign in (1, -1)])


def toe_block_mm(leg: Leg) -> Floats:
    """(8, 3) corners of the toe, in toe axes from the toe joint; (0, 3) for a foot without a bending toe."""
    if leg.toe_mm <= 0:
        return np.zeros((0, 3))
    half, top = 0.5 * leg.sole_width_mm, TOE_THICKNESS * leg.ankle_up_mm
    tip = leg.toe_mm
    return np.array(
        [
            (0.0, half, 0.0),
            (0.0, -half, 0.0),
            (tip, 0.75 * half, 0.0),
            (tip, -0.75 * half, 0.0),
            (0.0, 0.8 * half, top),
            (0.0, -0.8 * half, top),
            (tip, 0.6 * half, 0.5 * top),
            (tip, -0.6 * half, 0.5 * top),
        ]
    )


def sole_outline_mm(leg: Leg, corners: int = 13) -> Floats:
    """(n, 2) outline of the flat sole from the point under the ankle: ahead, left; anticlockwise seen from above.
    corners: of each round end."""
    half, back = 0.5 * leg.sole_width_mm, -leg.heel_behind_mm
    front = leg.ball_ahead_mm + leg.toe_mm
    round_heel, round_toe = min(half, 0.3 * (front - back)), min(half, 0.4 * (front - back))
    turn = np.linspace(-np.pi / 2, np.pi / 2, corners)
    toe = np.stack([front - round_toe + round_toe * np.cos(turn), half * np.sin(turn)], axis=1)
    heel = np.stack([back + round_heel - round_heel * np.cos(turn), -half * np.sin(turn)], axis=1)
    return np.concatenate([toe, heel])


def planned_ankle_mm(plan: Plan) -> Floats:
    """(poses, legs, 3) where the foot wants the ankle: away from `plan.ankle_mm` by the gap of an unreachable foot."""
    back = np.array([(-leg.ball_ahead_mm, 0.0, leg.ankle_up_mm) for leg in plan.shot.puppet.legs])
    return plan.ball_mm + np.einsum("plij,lj->pli", plan.foot_axes, back)


def solids_of(plan: Plan) -> tuple[Solid, ...]:
    """Every solid of the puppet in every pose: each leg's bones, foot and toe, each arm's upper arm, forearm and
    hand, then the shapes."""
    found: list[Solid] = []
    for index, leg in enumerate(plan.shot.puppet.legs):
        wide = limb_widths_mm(leg)
        bones = [
            ("thigh", (plan.hip_mm, plan.knee_mm), (wide.hip, wide.knee)),
            ("shank", (plan.knee_mm, plan.hock_mm), (wide.knee, wide.hock)),
        ]
        if leg.cannon_mm is not None:
            bones.append(("cannon", (plan.hock_mm, plan.ankle_mm), (wide.hock, wide.ankle)))
        for part, ends, widths in bones:
            centres = np.stack([end[:, index] for end in ends], axis=1)
            found.append(Solid(part, index, centres, 0.5 * np.array(widths), 0, leg.hip_mm))
        for part, block, axes in (
            ("foot", foot_block_mm(leg), plan.foot_axes),
            ("toe", toe_block_mm(leg), plan.toe_axes),
        ):
            if len(block):
                centres = plan.ball_mm[:, index, None] + np.einsum("pij,nj->pni", axes[:, index], block)
                found.append(Solid(part, index, centres, np.zeros(len(block)), 0, leg.hip_mm))
    for arm, had in zip(plan.shot.puppet.arms, plan.arms, strict=True):
        shoulder, elbow, wrist, hand = arm_widths_mm(arm)
        for bone, ends, widths, middle in (
            ("upper", (had.shoulder_mm, had.elbow_mm), (shoulder, elbow), arm.shoulder_mm),
            ("fore", (had.elbow_mm, had.wrist_mm), (elbow, wrist), arm.elbow_mm),
            ("fore", (had.hand_mm,), (hand,), arm.elbow_mm),
        ):
            radii = 0.5 * np.array(widths)
            side = int(middle[1] > radii.max()) - int(middle[1] < -radii.max())
            found.append(Solid(f"arm.{arm.name}.{bone}", -1, np.stack(ends, axis=1), radii, side, middle))
    found.extend(_shape_solid(plan, shape) for shape in drawn_shapes(plan.shot.puppet))
    return tuple(found)


def drawn_shapes(puppet: Puppet) -> tuple[Shape, ...]:
    """The puppet's shapes; where none hangs on body or chest, rods from hips to waist to neck as well, so that every
    puppet has something of a trunk.

    A neck that was not measured (at the body's centre) is taken to be half a leg over the waist or the hips.
    """
    if any(shape.part in ("body", "chest") for shape in puppet.shapes):
        return puppet.shapes
    hips = np.array([leg.hip_mm for leg in puppet.legs])
    middle = np.array([0.0, 0.5 * (hips[:, 1].min() + hips[:, 1].max()), hips[:, 2].mean()])
    front, back = middle.copy(), middle.copy()
    back[0], front[0] = hips[:, 0].min(), hips[:, 0].max()
    waist, neck = np.array(puppet.body.waist_mm), np.array(puppet.body.neck_mm)
    if not neck.any():
        start = waist if waist.any() else front
        neck = start.copy()
        neck[2] += 0.5 * max(leg.bones_mm for leg in puppet.legs)
    thick = 0.5 * max(limb_widths_mm(leg)[0] for leg in puppet.legs)
    rods = [("body", middle, hip, 0.8 * thick) for hip in hips]
    rods += [("body", back, front, thick), ("body", front, waist, thick), ("chest", waist, neck, thick)]
    made = tuple(
        Shape("capsule", part, from_mm=_triple(a), to_mm=_triple(b), radius_mm=max(radius, 0.1))
        for part, a, b, radius in rods
        if np.linalg.norm(b - a) > 1e-6
    )
    return made + puppet.shapes


def _triple(place: Floats) -> tuple[float, float, float]:
    x, y, z = place.tolist()
    return x, y, z


def _shape_solid(plan: Plan, shape: Shape) -> Solid:
    if shape.form == "box":
        signs = np.array([(x, y, z) for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])
        local = np.array(shape.centre_mm) + signs * np.array(shape.size_mm)
        radii = np.zeros(8)
    else:
        ends = (shape.from_mm, shape.to_mm) if shape.form == "capsule" else (shape.centre_mm,)
        local = np.array(ends, float)
        radii = np.full(len(local), float(shape.radius_mm or 0.0))
    across = local[:, 1]
    side = int((across > radii).all()) - int((across < -radii).all())
    x, y, z = local.mean(axis=0).tolist()
    return Solid(shape.part, -1, plan.on_part(shape.part, local), radii, side, (x, y, z))
