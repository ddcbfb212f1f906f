"""Joint angles of a leg that reaches from its hip to its ankle, and the joint places that those angles give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.bones import Bones, bend_of, folded, length_of, most_bend
from ..model.puppet import Puppet
from .feet import FootTurn

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LegMeasures:
    """(L, 1) each: mm, and +1 or -1 for sides. upper, shank: the two bones as which a leg reaches; upper is the thigh
    and, where the hock keeps the cannon parallel to it, the cannon as well."""

    hip_mm: Floats  # (3, L, 1)
    upper: Floats
    shank: Floats
    knee_side: Floats  # + forward
    out_side: Floats  # + outward is the puppet's left
    third: ThirdBones | None


@dataclass(frozen=True, eq=False)
class ThirdBones:
    """What legs of three bones have more: (L, 1) thigh and cannon in mm (0 without one), turn of the last bone for each
    turn of the knee. parallel (L, 1): the last bone stays parallel to the thigh. geared (G,): legs with another ratio,
    which do not reach as any leg of two bones does."""

    thigh: Floats
    cannon: Floats
    turn: Floats
    parallel: npt.NDArray[np.bool_]
    geared: npt.NDArray[np.int64]

    def bones(self, legs: LegMeasures) -> Bones:
        """Thigh, shank, cannon and turn (G, 1) of the geared legs, as model/bones takes them."""
        rows = self.geared
        return self.thigh[rows], legs.shank[rows], self.cannon[rows], self.turn[rows]


def leg_measures(puppet: Puppet) -> LegMeasures:
    legs = puppet.legs
    upper = np.array([[leg.thigh_mm] for leg in legs])
    third = None
    if any(leg.cannon_mm for leg in legs):
        cannon, turn = np.array([[leg.cannon_mm or 0.0] for leg in legs]), np.array([[leg.turn] for leg in legs])
        parallel = (cannon > 0) & (turn == 0)
        third = ThirdBones(upper, cannon, turn, parallel, np.flatnonzero((cannon > 0) & (turn != 0)))
        upper = np.where(parallel, upper + cannon, upper)
    return LegMeasures(
        np.array([leg.hip_mm for leg in legs]).T[:, :, None],
        upper,
        np.array([[leg.shank_mm] for leg in legs]),
        np.array([[float(leg.knee_side)] for leg in legs]),
        np.array([[float(leg.outward_side)] for leg in legs]),
        third,
    )


@dataclass(frozen=True, eq=False)
class Reach:
    """Solved legs (L, P): places (3, L, P), angles in radians, gap in mm. For the band: the ankle from the hip in
    body axes (3, L, P), how far it is below the hip in the leg's plane, its distance, the sine and cosine of the
    plane's tilt toward +Y, and the last bone's angle from straight down, forward +. hock: None without legs of three
    bones."""

    hip_mm: Floats
    knee_mm: Floats
    ankle_mm: Floats
    swing_rad: Floats
    out_rad: Floats
    knee_rad: Floats
    ankle_rad: Floats
    gap_mm: Floats
    ankle_in_body: Floats
    below: Floats
    length: Floats
    plane_aside: Floats
    plane_down: Floats
    last_rad: Floats
    hock_mm: Floats | None = None
    hock_rad: Floats | None = None


def reach(legs: LegMeasures, body_mm: Floats, body_axes: Floats, ankle_mm: Floats, turn: FootTurn) -> Reach:
    """Inverse kinematics in closed form, all poses and legs at once, by the cosine law; legs of three bones whose hock
    bends otherwise than their knee by Newton's steps.

    body_mm (P, 3), body_axes (P, 3, 3), or (P, L, 3), (P, L, 3, 3) where legs hang on parts of their own (`on_parts`);
    ankle_mm (3, L, P), turn (L, P).
    A foot out of reach gives a straight (or fully folded) leg toward it and the gap; never NaN.
    """
    r, origin = carrier(body_mm, body_axes)

    def on_stage(x: Floats, y: Floats, z: Floats) -> Floats:
        """(3, L, P) stage components of vectors given by their body components."""
        return r[:, 0] * x + r[:, 1] * y + r[:, 2] * z

    def in_body(x: Floats, y: Floats, z: Floats) -> Floats:
        """(3, L, P) body components of vectors given by their stage components."""
        return r[0] * x + r[1] * y + r[2] * z

    hip = origin + on_stage(*legs.hip_mm)
    local = in_body(*(ankle_mm - hip))
    below = np.sqrt(local[1] * local[1] + local[2] * local[2])
    length = np.sqrt(local[0] * local[0] + below * below)
    # sine and cosine of the plane's tilt; straight down where the ankle is level with the hip, straight ahead of it
    aside, down = direction(local[1], -local[2], below)
    t, s, side, third = legs.upper, legs.shank, legs.knee_side, legs.third
    reached = np.maximum(np.minimum(length, t + s), np.abs(t - s))
    cos_knee = np.maximum(np.minimum((reached * reached - t * t - s * s) / (2.0 * t * s), 1.0), -1.0)
    sin_knee = np.sqrt(1.0 - cos_knee * cos_knee)
    # the thigh: the leg line's direction, turned by the triangle's angle at the hip
    sin_line, cos_line = direction(local[0], below, length)
    sin_hip, cos_hip = direction(s * sin_knee, t + s * cos_knee, reached)
    knee = np.arctan2(sin_knee, cos_knee)
    if third is not None and len(third.geared):
        rows, bones = third.geared, third.bones(legs)
        shortest, longest = length_of(*bones, most_bend(bones[3])), bones[0] + bones[1] + bones[2]
        reached[rows] = np.maximum(np.minimum(length[rows], longest), shortest)
        knee[rows] = bend_of(*bones, reached[rows])
        off, along = folded(*bones, knee[rows])
        sin_hip[rows], cos_hip[rows] = direction(off, along, np.hypot(off, along))
    sin_swing = sin_line * cos_hip + side * cos_line * sin_hip
    cos_swing = cos_line * cos_hip - side * sin_line * sin_hip
    out = np.arctan2(legs.out_side * local[1], -local[2])
    # the angle as a sum, so that it goes on past half a turn where a leg folds up behind or before its hip
    swing = np.arctan2(local[0], below) + side * np.arctan2(sin_hip, cos_hip)
    shank = last = swing - side * knee

    def of_plane(along: Floats, downward: Floats) -> Floats:
        """A vector of the leg's plane on the stage."""
        return on_stage(along, downward * aside, -downward * down)

    thigh, hock, hock_mm = t, None, None
    if third is not None:
        thigh, last = third.thigh, swing + side * third.turn * knee
        hock = np.where(third.cannon > 0, (third.turn + 1.0) * knee, 0.0)
    knee_mm = hip + of_plane(thigh * sin_swing, thigh * cos_swing)
    gap = np.abs(length - reached)
    gap = np.where(gap > 1e-9, gap, 0.0)
    ends = ankle_mm
    short = gap.any()
    if short or third is not None:
        hock_mm = knee_mm + of_plane(s * np.sin(shank), s * np.cos(shank))
    if short and hock_mm is not None:
        tip = hock_mm
        if third is not None:
            tip = hock_mm + of_plane(third.cannon * np.sin(last), third.cannon * np.cos(last))
        ends = np.where(gap > 0, tip, ankle_mm)
    hock_mm = np.where(third.cannon > 0, hock_mm, ends) if third is not None and hock_mm is not None else None
    # the sole's upright, seen in the leg's plane
    x, y, z = in_body(*turn.upright())
    ankle = -np.arctan2(x, down * z - aside * y) - last
    return Reach(hip, knee_mm, ends, swing, out, knee, ankle, gap, local, below, length, aside, down, last,
                 hock_mm, hock)  # fmt: skip


def on_parts(puppet: Puppet, body: tuple[Floats, Floats], chest: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Places (P, L, 3) and axes (P, L, 3, 3) that every leg's own part is carried by: `body` (P, 3), (P, 3, 3) of the
    body's centre, `chest` of where that centre would be if it hung on the chest."""
    ways = [chest if leg.part == "chest" else body for leg in puppet.legs]
    return np.stack([place for place, _ in ways], axis=1), np.stack([axes for _, axes in ways], axis=1)


def carrier(body_mm: Floats, body_axes: Floats) -> tuple[Floats, Floats]:
    """(3, 3, 1, P) and (3, 1, P) of one body for all legs, (3, 3, L, P) and (3, L, P) of each leg's own part."""
    if body_axes.ndim == 3:
        return np.ascontiguousarray(body_axes.transpose(1, 2, 0))[:, :, None], body_mm.T[:, None]
    return np.ascontiguousarray(body_axes.transpose(2, 3, 1, 0)), body_mm.transpose(2, 1, 0)


def direction(sine: Floats, cosine: Floats, length: Floats) -> tuple[Floats, Floats]:
    """(sine, cosine) over their common length; (0, 1) where that is zero."""
    if length.min() > 0:
        return sine / length, cosine / length
    safe = np.where(length > 0, length, 1.0)
    return np.where(length > 0, sine / safe, 0.0), np.where(length > 0, cosine / safe, 1.0)
