"""Joint angles of a leg that reaches from its hip to its ankle, and the joint places that those angles give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from .feet import FootTurn

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LegMeasures:
    """(L, 1) each: mm, and +1 or -1 for sides."""

    hip_mm: Floats  # (3, L, 1)
    thigh: Floats
    shank: Floats
    knee_side: Floats  # + forward
    out_side: Floats  # + outward is the puppet's left


def leg_measures(puppet: Puppet) -> LegMeasures:
    legs = puppet.legs
    return LegMeasures(
        np.array([leg.hip_mm for leg in legs]).T[:, :, None],
        np.array([[leg.thigh_mm] for leg in legs]),
        np.array([[leg.shank_mm] for leg in legs]),
        np.array([[float(leg.knee_side)] for leg in legs]),
        np.array([[float(leg.outward_side)] for leg in legs]),
    )


@dataclass(frozen=True, eq=False)
class Reach:
    """Solved legs (L, P): places (3, L, P), angles in radians, gap in mm. For the band: the ankle from the hip in
    body axes (3, L, P), how far it is below the hip in the leg's plane, its distance, and the sine and cosine of the
    plane's tilt toward +Y."""

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


def reach(legs: LegMeasures, body_mm: Floats, body_axes: Floats, ankle_mm: Floats, turn: FootTurn) -> Reach:
    """Inverse kinematics in closed form, all poses and legs at once, by the cosine law.

    body_mm (P, 3), body_axes (P, 3, 3), ankle_mm (3, L, P), turn (L, P).
    A foot out of reach gives a straight (or fully folded) leg toward it and the gap; never NaN.
    """
    r = np.ascontiguousarray(body_axes.transpose(1, 2, 0))[:, :, None]  # (3, 3, 1, P)

    def on_stage(x: Floats, y: Floats, z: Floats) -> Floats:
        """(3, L, P) stage components of vectors given by their body components."""
        return r[:, 0] * x + r[:, 1] * y + r[:, 2] * z

    def in_body(x: Floats, y: Floats, z: Floats) -> Floats:
        """(3, L, P) body components of vectors given by their stage components."""
        return r[0] * x + r[1] * y + r[2] * z

    hip = body_mm.T[:, None] + on_stage(*legs.hip_mm)
    local = in_body(*(ankle_mm - hip))
    below = np.sqrt(local[1] * local[1] + local[2] * local[2])
    length = np.sqrt(local[0] * local[0] + below * below)
    # sine and cosine of the plane's tilt; straight down where the ankle is level with the hip, straight ahead of it
    aside, down = direction(local[1], -local[2], below)
    t, s, side = legs.thigh, legs.shank, legs.knee_side
    reached = np.maximum(np.minimum(length, t + s), np.abs(t - s))
    cos_knee = np.maximum(np.minimum((reached * reached - t * t - s * s) / (2.0 * t * s), 1.0), -1.0)
    sin_knee = np.sqrt(1.0 - cos_knee * cos_knee)
    # the thigh: the leg line's direction, turned by the triangle's angle at the hip
    sin_line, cos_line = direction(local[0], below, length)
    sin_hip, cos_hip = direction(s * sin_knee, t + s * cos_knee, reached)
    sin_swing = sin_line * cos_hip + side * cos_line * sin_hip
    cos_swing = cos_line * cos_hip - side * sin_line * sin_hip
    out = np.arctan2(legs.out_side * local[1], -local[2])
    knee = np.arctan2(sin_knee, cos_knee)
    # the angle as a sum, so that it goes on past half a turn where a leg folds up behind or before its hip
    swing = np.arctan2(local[0], below) + side * np.arctan2(sin_hip, cos_hip)
    shank = swing - side * knee

    def of_plane(along: Floats, downward: Floats) -> Floats:
        """A vector of the leg's plane on the stage."""
        return on_stage(along, downward * aside, -downward * down)

    knee_mm = hip + of_plane(t * sin_swing, t * cos_swing)
    gap = np.abs(length - reached)
    gap = np.where(gap > 1e-9, gap, 0.0)
    ends = ankle_mm
    if gap.any():
        ends = np.where(gap > 0, knee_mm + of_plane(s * np.sin(shank), s * np.cos(shank)), ankle_mm)
    # the sole's upright, seen in the leg's plane
    x, y, z = in_body(*turn.upright())
    ankle = -np.arctan2(x, down * z - aside * y) - shank
    return Reach(hip, knee_mm, ends, swing, out, knee, ankle, gap, local, below, length, aside, down)


def direction(sine: Floats, cosine: Floats, length: Floats) -> tuple[Floats, Floats]:
    """(sine, cosine) over their common length; (0, 1) where that is zero."""
    if length.min() > 0:
        return sine / length, cosine / length
    safe = np.where(length > 0, length, 1.0)
    return np.where(length > 0, sine / safe, 0.0), np.where(length > 0, cosine / safe, 1.0)
