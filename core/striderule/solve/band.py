"""The working band: between which hip heights does every joint of every touching leg stay inside its limits?

Each joint's angle, as a function of the hip's height over a fixed foot, meets each of its stops at most once on the
branch that a leg can stand on; so the heights a joint allows are found from its angle at both ends and one crossing
in closed form.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from .legs import LegMeasures, Reach, direction
from .plan import Band, FootState, Stop

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


class _Edges:
    """rise (2, L, P): lowest and highest rise of the hips from where they are; stop (2, L, P): what sets each."""

    def __init__(self, low: Floats, high: Floats) -> None:
        self.rise: Floats = np.array((low, high))
        self.stop: Whole = np.empty(self.rise.shape, dtype=np.int64)
        self.stop[0], self.stop[1] = Stop.KNEE_MOST, Stop.KNEE_LEAST

    def forbid(self, bad: Flags, crossing: Floats, stop: Stop) -> None:
        """Cut off the ends where a joint is beyond `stop`: bad (2, L, P), crossing (L, P). Where both ends are, nothing
        is left."""
        low, high = self.rise
        none_left = bad[0] & bad[1]
        cut = bad & np.array((crossing > low, crossing < high))
        if none_left.any():
            middle = 0.5 * (low + high)
            crossed = np.array((np.maximum(middle, high), np.minimum(middle, low)))
            np.copyto(self.rise, crossed, where=none_left)
            np.copyto(self.stop, int(stop), where=none_left)
            cut &= ~none_left
        np.copyto(self.rise, crossing, where=cut)
        np.copyto(self.stop, int(stop), where=cut)


def band_of(
    puppet: Puppet, legs: LegMeasures, reach: Reach, body_axes: Floats, state: npt.NDArray[np.int8], hip_line_mm: Floats
) -> Band:
    """The band of every pose. A free leg only asks that it can fold far enough for its foot to clear the floor as
    planned."""
    stops = np.radians([
        (leg.knee_range_deg, leg.limits.ankle_deg, leg.limits.hip_swing_deg, leg.limits.hip_out_deg)
        for leg in puppet.legs
    ])  # fmt: skip
    knee, ankle, swing, out = stops.transpose(1, 2, 0)[..., None]  # each (2, L, 1): least, most
    t, s = legs.thigh, legs.shank

    def span(bend: Floats) -> Floats:
        return np.sqrt(t * t + s * s + 2.0 * t * s * np.cos(bend))

    to = reach.ankle_in_body
    up = np.ascontiguousarray(body_axes[:, 2].T)  # (3, P) the stage's up in body axes
    height = -(up[0] * to[0] + up[1] * to[1] + up[2] * to[2])  # hip over ankle
    aside2 = np.maximum(reach.length * reach.length - height * height, 0.0)

    def hip_over(length: Floats) -> Floats:
        return np.sqrt(np.maximum(length * length - aside2, 0.0))

    longest, shortest = span(knee)
    beyond = np.maximum(np.sqrt(aside2) - longest, 0.0)  # foot too far ahead at any height
    folded = hip_over(shortest) - height
    edges = _Edges(folded + beyond, hip_over(longest) - height)
    _leg_stops(edges, legs, knee, ankle, swing, reach, up)
    _out_stops(edges, legs, out, reach, up)
    free = state == int(FootState.AIR)
    low, high = edges.rise
    np.copyto(low, folded, where=free)
    np.copyto(high, np.inf, where=free)
    np.copyto(edges.stop[0], int(Stop.KNEE_MOST), where=free)
    low_leg, high_leg = np.argmax(low, axis=0), np.argmin(high, axis=0)
    pose = np.arange(len(hip_line_mm))
    return Band(
        hip_line_mm + low[low_leg, pose],
        hip_line_mm + high[high_leg, pose],
        low_leg,
        high_leg,
        edges.stop[0, low_leg, pose],
        edges.stop[1, high_leg, pose],
    )


def _leg_stops(
    edges: _Edges, legs: LegMeasures, knee: Floats, ankle: Floats, swing: Floats, reach: Reach, up: Floats
) -> None:
    """Cut the edges by the stops of ankle and hip swing. knee, ankle, swing (2, L, 1) least and most; up (3, P)."""
    t, s, side = legs.thigh, legs.shank, legs.knee_side
    # in the leg's plane the stage's up leans forward by -tilt and is foreshortened to `steep`
    up_plane = reach.plane_down * up[2] - reach.plane_aside * up[1]
    steep = np.sqrt(up[0] * up[0] + up_plane * up_plane)
    st, ct = direction(-up[0], up_plane, steep)
    tilt = np.arctan2(-up[0], up_plane)
    ahead = reach.ankle_in_body[0] * ct - reach.below * st  # ankle from hip, along the level
    below = reach.below * ct + reach.ankle_in_body[0] * st  # and below it

    # upright angles of thigh and shank at either edge (2, L, P), forward positive: most bent at the lowest
    bend = knee[::-1]
    thigh_beyond = side * np.arctan2(s * np.sin(bend), t + s * np.cos(bend))
    to_ankle = np.arctan2(ahead, below + edges.rise * steep)
    swing_there = to_ankle + (thigh_beyond + tilt)
    sole = reach.ankle_rad + reach.swing_rad - side * reach.knee_rad - tilt  # pitch of the sole in the plane
    ankle_there = sole - (to_ankle + (thigh_beyond - side * bend))

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

    for bad, crossing, bound, stop in (
        (ankle_there < ankle[0], ankle_crossing, ankle[0], Stop.ANKLE_DOWN),
        (ankle_there > ankle[1], ankle_crossing, ankle[1], Stop.ANKLE_UP),
        (swing_there < swing[0], swing_crossing, swing[0], Stop.HIP_BACK),
        (swing_there > swing[1], swing_crossing, swing[1], Stop.HIP_FORWARD),
    ):
        if bad.any():
            edges.forbid(bad, crossing(bound), stop)


def _out_stops(edges: _Edges, legs: LegMeasures, out: Floats, reach: Reach, up: Floats) -> None:
    """Cut the edges by the stops of hip out. out (2, L, 1) least and most; up (3, P)."""
    across, by, bz = legs.out_side * up[1], legs.out_side * reach.ankle_in_body[1], reach.ankle_in_body[2]
    for bound, stop, sign in ((out[0], Stop.HIP_IN, 1.0), (out[1], Stop.HIP_OUT, -1.0)):
        # the sine of hip_out less `bound`, scaled, is `here` now and falls by `under` a mm of rise
        c, n = sign * np.cos(bound), sign * np.sin(bound)
        here, under = by * c + bz * n, across * c + up[2] * n
        bad = here < edges.rise * under
        if bad.any():
            edges.forbid(bad, here / np.where(np.abs(under) < 1e-9, sign * 1e-9, under), stop)
