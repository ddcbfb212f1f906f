"""The working band: between which hip heights does every joint of every touching leg stay inside its limits?

Each joint's angle, as a function of the hip's height over a fixed foot, meets each of its stops at most once on the
branch that a leg can stand on; so the heights a joint allows are found from its angle at both ends and one crossing
in closed form.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.puppet import Limits, Puppet
from .legs import LegMeasures, Reach
from .plan import Band, FootState, Stop

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


class _Edges:
    """Lowest and highest rise of the hips (L, P) from where they are, and what sets each."""

    def __init__(self, low: Floats, high: Floats) -> None:
        self.low, self.high = low, high
        self.low_stop = np.full(low.shape, int(Stop.KNEE_MOST), dtype=np.int64)
        self.high_stop = np.full(low.shape, int(Stop.KNEE_LEAST), dtype=np.int64)

    def forbid(self, low_bad: Flags, high_bad: Flags, crossing: Floats, stop: Stop) -> None:
        """Cut off the end where a joint is beyond `stop`; where both ends are, nothing is left."""
        none_left = low_bad & high_bad
        middle = 0.5 * (self.low + self.high)
        raise_low = low_bad & (crossing > self.low)
        lower_high = high_bad & (crossing < self.high) & ~none_left
        self.low_stop = np.where(raise_low | none_left, int(stop), self.low_stop)
        self.high_stop = np.where(lower_high | none_left, int(stop), self.high_stop)
        low, high = self.low, self.high
        self.low = np.where(none_left, np.maximum(middle, high), np.where(raise_low, crossing, low))
        self.high = np.where(none_left, np.minimum(middle, low), np.where(lower_high, crossing, high))


def band_of(
    puppet: Puppet, legs: LegMeasures, reach: Reach, body_axes: Floats, state: npt.NDArray[np.int8], hip_line_mm: Floats
) -> Band:
    """The band of every pose. A free leg only asks that it can fold far enough for its foot to clear the floor as
    planned."""
    limits = [leg.limits for leg in puppet.legs]
    knee = np.radians(np.array([leg.knee_range_deg for leg in puppet.legs]))[:, :, None]
    t, s = legs.thigh, legs.shank

    def span(bend: Floats) -> Floats:
        return np.sqrt(t * t + s * s + 2.0 * t * s * np.cos(bend))

    to = reach.ankle_in_body
    up = (
        body_axes[:, 2, 0].copy(),
        body_axes[:, 2, 1].copy(),
        body_axes[:, 2, 2].copy(),
    )  # the stage's up in body axes
    height = -(up[0] * to[0] + up[1] * to[1] + up[2] * to[2])  # hip over ankle
    aside2 = np.maximum(reach.length**2 - height**2, 0.0)

    def hip_over(length: Floats) -> Floats:
        return np.sqrt(np.maximum(length * length - aside2, 0.0))

    longest, shortest = span(knee[:, 0]), span(knee[:, 1])
    beyond = np.maximum(np.sqrt(aside2) - longest, 0.0)  # foot too far ahead at any height
    edges = _Edges(hip_over(shortest) - height + beyond, hip_over(longest) - height)
    touching = state != FootState.AIR
    _joint_stops(edges, legs, limits, knee, reach, up)
    edges.high = np.where(touching, edges.high, np.inf)
    edges.low = np.where(touching, edges.low, hip_over(shortest) - height)
    low_stop = np.where(touching, edges.low_stop, int(Stop.KNEE_MOST))
    low_leg, high_leg = np.argmax(edges.low, axis=0), np.argmin(edges.high, axis=0)
    pose = np.arange(len(hip_line_mm))
    return Band(
        hip_line_mm + edges.low[low_leg, pose],
        hip_line_mm + edges.high[high_leg, pose],
        low_leg,
        high_leg,
        low_stop[low_leg, pose],
        edges.high_stop[high_leg, pose],
    )


def _joint_stops(
    edges: _Edges,
    legs: LegMeasures,
    limits: list[Limits],
    knee: Floats,
    reach: Reach,
    up: tuple[Floats, Floats, Floats],
) -> None:
    """Cut the edges by the stops of ankle, hip swing and hip out."""
    t, s, side = legs.thigh, legs.shank, legs.knee_side
    # in the leg's plane the stage's up leans forward by -tilt and is foreshortened to `steep`
    so, co = legs.out_side * np.sin(reach.out_rad), np.cos(reach.out_rad)
    up_plane = co * up[2] - so * up[1]
    tilt = np.arctan2(-up[0], up_plane)  # the plane leans forward by this much
    steep = np.hypot(up[0], up_plane)
    ct, st = np.cos(tilt), np.sin(tilt)
    ahead = reach.ankle_in_body[0] * ct - reach.below * st  # ankle from hip, along the level
    below = reach.below * ct + reach.ankle_in_body[0] * st  # and below it

    def angles(rise: Floats, bend: Floats) -> tuple[Floats, Floats]:
        """Upright angles of thigh and shank, forward positive, with the hips `rise` higher and the knee at `bend`
        (L, 1)."""
        thigh = np.arctan2(ahead, below + rise * steep) + side * np.arctan2(s * np.sin(bend), t + s * np.cos(bend))
        return thigh, thigh - side * bend

    low_thigh, low_shank = angles(edges.low, knee[:, 1])
    high_thigh, high_shank = angles(edges.high, knee[:, 0])
    sole = reach.ankle_rad + reach.swing_rad - side * reach.knee_rad - tilt  # pitch of the sole in the plane

    def rise_to(down: Floats) -> Floats:
        return (down - below) / steep

    def ankle_crossing(bound: Floats) -> Floats:
        shank = sole - bound
        across = ahead - s * np.sin(shank)
        return rise_to(s * np.cos(shank) + np.sqrt(np.maximum(t * t - across * across, 0.0)))

    def swing_crossing(bound: Floats) -> Floats:
        thigh = bound - tilt
        across = ahead - t * np.sin(thigh)
        return rise_to(t * np.cos(thigh) + np.sqrt(np.maximum(s * s - across * across, 0.0)))

    ankle = np.radians(np.array([one.ankle_deg for one in limits]))[:, :, None]
    swing = np.radians(np.array([one.hip_swing_deg for one in limits]))[:, :, None]
    out = np.radians(np.array([one.hip_out_deg for one in limits]))[:, :, None]
    for bound, stop, sign in ((ankle[:, 0], Stop.ANKLE_DOWN, 1.0), (ankle[:, 1], Stop.ANKLE_UP, -1.0)):
        low_bad, high_bad = sign * (sole - low_shank) < sign * bound, sign * (sole - high_shank) < sign * bound
        if low_bad.any() or high_bad.any():
            edges.forbid(low_bad, high_bad, ankle_crossing(bound), stop)
    for bound, stop, sign in ((swing[:, 0], Stop.HIP_BACK, 1.0), (swing[:, 1], Stop.HIP_FORWARD, -1.0)):
        low_bad, high_bad = sign * (low_thigh + tilt) < sign * bound, sign * (high_thigh + tilt) < sign * bound
        if low_bad.any() or high_bad.any():
            edges.forbid(low_bad, high_bad, swing_crossing(bound), stop)
    _, by, bz = reach.ankle_in_body
    outward = legs.out_side

    def out_beyond(rise: Floats, bound: Floats) -> Floats:
        """Negative where hip_out is less than `bound`, positive where it is more: the sine of the difference,
        scaled."""
        return outward * (by - rise * up[1]) * np.cos(bound) - (rise * up[2] - bz) * np.sin(bound)

    for bound, stop, sign in ((out[:, 0], Stop.HIP_IN, 1.0), (out[:, 1], Stop.HIP_OUT, -1.0)):
        low_bad, high_bad = sign * out_beyond(edges.low, bound) < 0, sign * out_beyond(edges.high, bound) < 0
        if low_bad.any() or high_bad.any():
            c, n = np.cos(bound), np.sin(bound)
            under = outward * up[1] * c + up[2] * n
            safe = np.where(np.abs(under) < 1e-9, 1e-9, under)
            edges.forbid(low_bad, high_bad, (outward * by * c + bz * n) / safe, stop)
