"""Joint angles of a leg that reaches from its hip to its ankle, and the joint places that those angles give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LegMeasures:
    """(L,) each: mm, and +1 or -1 for sides."""

    hip_mm: Floats          # (L, 3)
    thigh: Floats
    shank: Floats
    knee_side: Floats       # + forward
    out_side: Floats        # + outward is the puppet's left


def leg_measures(puppet: Puppet) -> LegMeasures:
    legs = puppet.legs
    return LegMeasures(
        np.array([leg.hip_mm for leg in legs]), np.array([leg.thigh_mm for leg in legs]),
        np.array([leg.shank_mm for leg in legs]), np.array([float(leg.knee_side) for leg in legs]),
        np.array([float(leg.outward_side) for leg in legs]),
    )


@dataclass(frozen=True, eq=False)
class Reach:
    """Solved legs (P, L): places (P, L, 3), angles in radians, gap in mm. `plane_*` describe the leg's plane for the band:
    `ahead` the ankle ahead of the hip and `below` it, in the plane; `tilt` what the plane's forward axis dips."""

    hip_mm: Floats
    knee_mm: Floats
    ankle_mm: Floats
    swing_rad: Floats
    out_rad: Floats
    knee_rad: Floats
    ankle_rad: Floats
    gap_mm: Floats
    ankle_in_body: tuple[Floats, Floats, Floats]
    ahead: Floats
    below: Floats
    length: Floats


def reach(legs: LegMeasures, body_mm: Floats, body_axes: Floats, ankle_mm: Floats, heading: Floats,
          pitch: Floats) -> Reach:
    """Inverse kinematics in closed form, all poses and legs at once, by the cosine law.

    body_mm (P, 3), body_axes (P, 3, 3), ankle_mm (P, L, 3), heading and pitch of the feet (P, L).
    A foot out of reach gives a straight (or fully folded) leg toward it and the gap; never NaN.
    """
    r = [[body_axes[:, i, j][:, None] for j in range(3)] for i in range(3)]
    hip = body_mm[:, None, :] + np.einsum("pij,lj->pli", body_axes, legs.hip_mm)
    to = ankle_mm - hip
    x, y, z = to[..., 0], to[..., 1], to[..., 2]
    bx, by, bz = (r[0][j] * x + r[1][j] * y + r[2][j] * z for j in range(3))
    out = np.arctan2(legs.out_side * by, -bz)
    below = np.hypot(by, bz)
    length = np.sqrt(x * x + y * y + z * z)
    t, s = legs.thigh, legs.shank
    reached = np.clip(length, np.abs(t - s), t + s)
    cos_knee = np.clip((reached * reached - t * t - s * s) / (2.0 * t * s), -1.0, 1.0)
    knee = np.arccos(cos_knee)
    sin_knee = np.sqrt(1.0 - cos_knee * cos_knee)
    swing = np.arctan2(bx, below) + legs.knee_side * np.arctan2(s * sin_knee, t + s * cos_knee)
    shank = swing - legs.knee_side * knee
    thigh_along, thigh_down = t * np.sin(swing), t * np.cos(swing)
    shank_along, shank_down = s * np.sin(shank), s * np.cos(shank)
    so, co = np.sin(legs.out_side * out), np.cos(legs.out_side * out)

    def on_stage(along: Floats, down: Floats) -> Floats:
        """A vector of the leg's plane on the stage."""
        side, up = down * so, -down * co
        vector = np.empty_like(hip)
        for i in range(3):
            vector[..., i] = r[i][0] * along + r[i][1] * side + r[i][2] * up
        return vector

    knee_mm = hip + on_stage(thigh_along, thigh_down)
    gap = np.abs(length - reached)
    ends = knee_mm + on_stage(shank_along, shank_down)
    reaches = (gap <= 1e-9)[..., None]
    # the sole's upright, seen in the leg's plane
    sp = np.sin(pitch)
    ux, uy, uz = -sp * np.cos(heading), -sp * np.sin(heading), np.cos(pitch)
    px = r[0][0] * ux + r[1][0] * uy + r[2][0] * uz
    qy = r[0][1] * ux + r[1][1] * uy + r[2][1] * uz
    qz = r[0][2] * ux + r[1][2] * uy + r[2][2] * uz
    ankle = -np.arctan2(px, co * qz - so * qy) - shank
    return Reach(hip, knee_mm, np.where(reaches, ankle_mm, ends), swing, out, knee, ankle, np.where(reaches[..., 0], 0.0, gap),
                 (bx, by, bz), bx, below, length)
