"""The working band: between which hip heights does every joint of every touching leg stay inside its limits?

Each joint's angle, as a function of the hip's height over a fixed foot, meets each of its stops at most once on the
branch that a leg can stand on; so the heights a joint allows are found from its angle at both ends and one crossing
in closed form, or, for a hock that bends otherwise than its knee, by a search between the ends.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.bones import drop_at, folded
from ..model.puppet import Leg, Puppet
from .legs import LegMeasures, Reach, ThirdBones, direction
from .plan import Band, FootState, Stop

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


class _Edges:
    """rise (2, L, P): lowest and highest rise of the hips from where they are; stop (2, L, P): what sets each."""

    def __init__(self, low: Floats, high: Floats, stops: tuple[Whole | int, Whole | int]) -> None:
        self.rise: Floats = np.array((low, high))
        self.stop: Whole = np.empty(self.rise.shape, dtype=np.int64)
        self.stop[0], self.stop[1] = stops

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
    bend = _Bend(legs, knee[::-1])
    most, least = KNEE_STOPS[1], KNEE_STOPS[0]
    if legs.third is not None:
        each = np.array([knee_stops(leg) for leg in puppet.legs], dtype=np.int64).T[..., None]
        least, most = each[0], each[1]

    to = reach.ankle_in_body
    up = np.ascontiguousarray(body_axes[..., 2, :].T)  # (3, P), (3, L, P): the stage's up in body axes
    height = -(up[0] * to[0] + up[1] * to[1] + up[2] * to[2])  # hip over ankle
    aside2 = np.maximum(reach.length * reach.length - height * height, 0.0)

    def hip_over(length: Floats) -> Floats:
        return np.sqrt(np.maximum(length * length - aside2, 0.0))

    shortest, longest = bend.length
    beyond = np.maximum(np.sqrt(aside2) - longest, 0.0)  # foot too far ahead at any height
    lowest = hip_over(shortest) - height
    edges = _Edges(lowest + beyond, hip_over(longest) - height, (most, least))
    _leg_stops(edges, legs, bend, ankle, swing, reach, up)
    _out_stops(edges, legs, out, reach, up)
    free = state == int(FootState.AIR)
    low, high = edges.rise
    np.copyto(low, lowest, where=free)
    np.copyto(high, np.inf, where=free)
    np.copyto(edges.stop[0], most, where=free)
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


KNEE_STOPS = (int(Stop.KNEE_LEAST), int(Stop.KNEE_MOST))
HOCK_STOPS = (int(Stop.HOCK_LEAST), int(Stop.HOCK_MOST))


def knee_stops(leg: Leg) -> tuple[int, int]:
    """The Stops that end a leg's bend: least, most."""
    return (HOCK_STOPS if leg.hock_sets_deg[0] else KNEE_STOPS)[0], (
        HOCK_STOPS if leg.hock_sets_deg[1] else KNEE_STOPS
    )[1]


class _Bend:
    """Legs at their most and least bent (2, L, 1): length from hip to ankle, the thigh from the line between them and
    the last bone from the thigh, radians, + forward."""

    def __init__(self, legs: LegMeasures, knee: Floats) -> None:
        self.knee = knee
        t, s, third = legs.upper, legs.shank, legs.third
        if third is None:
            self.length = np.sqrt(t * t + s * s + 2.0 * t * s * np.cos(knee))
            self.thigh = legs.knee_side * np.arctan2(s * np.sin(knee), t + s * np.cos(knee))
            self.last = -legs.knee_side * knee
        else:
            aside, down = folded(third.thigh, s, third.cannon, third.turn, knee)
            self.length = np.hypot(aside, down)
            self.thigh = legs.knee_side * np.arctan2(aside, down)
            self.last = legs.knee_side * third.turn * knee


def _leg_stops(
    edges: _Edges, legs: LegMeasures, bend: _Bend, ankle: Floats, swing: Floats, reach: Reach, up: Floats
) -> None:
    """Cut the edges by the stops of ankle and hip swing. ankle, swing (2, L, 1) least and most; up (3, P)."""
    t, s, third = legs.upper, legs.shank, legs.third
    # in the leg's plane the stage's up leans forward by -tilt and is foreshortened to `steep`
    up_plane = reach.plane_down * up[2] - reach.plane_aside * up[1]
    steep = np.sqrt(up[0] * up[0] + up_plane * up_plane)
    st, ct = direction(-up[0], up_plane, steep)
    tilt = np.arctan2(-up[0], up_plane)
    ahead = reach.ankle_in_body[0] * ct - reach.below * st  # ankle from hip, along the level
    below = reach.below * ct + reach.ankle_in_body[0] * st  # and below it

    # upright angles of thigh and last bone at either edge (2, L, P), forward positive: most bent at the lowest
    to_ankle = np.arctan2(ahead, below + edges.rise * steep)
    swing_there = to_ankle + (bend.thigh + tilt)
    sole = reach.ankle_rad + reach.last_rad - tilt  # pitch of the sole in the plane
    ankle_there = sole - (to_ankle + (bend.thigh + bend.last))
    # the stops of the ankle hold the last bone; the other one makes up what is left
    last, other = (s, t) if third is None else (np.where(third.parallel, t, s), np.where(third.parallel, s, t))

    def rise_to(down: Floats) -> Floats:
        return (down - below) / steep

    def held_at(angle: Floats, held: Floats, free: Floats) -> Floats:
        """The rise at which a bone held at an upright angle and the free one below or above it meet the ankle."""
        across = ahead - held * np.sin(angle)
        return rise_to(held * np.cos(angle) + np.sqrt(np.maximum(free * free - across * across, 0.0)))

    def ankle_crossing(bound: Floats) -> Floats:
        found = held_at(sole - bound, last, other)
        if third is not None and len(third.geared):
            found[third.geared] = (
                _drop_at(legs, third, bend, ahead, sole - bound, True) - below[third.geared]
            ) / steep[third.geared]
        return found

    def swing_crossing(bound: Floats) -> Floats:
        found = held_at(bound - tilt, t, s)
        if third is not None and len(third.geared):
            found[third.geared] = (
                _drop_at(legs, third, bend, ahead, bound - tilt, False) - below[third.geared]
            ) / steep[third.geared]
        return found

    for bad, crossing, bound, stop in (
        (ankle_there < ankle[0], ankle_crossing, ankle[0], Stop.ANKLE_DOWN),
        (ankle_there > ankle[1], ankle_crossing, ankle[1], Stop.ANKLE_UP),
        (swing_there < swing[0], swing_crossing, swing[0], Stop.HIP_BACK),
        (swing_there > swing[1], swing_crossing, swing[1], Stop.HIP_FORWARD),
    ):
        if bad.any():
            edges.forbid(bad, crossing(bound), stop)


def _drop_at(legs: LegMeasures, third: ThirdBones, bend: _Bend, ahead: Floats, angle: Floats, of_last: bool) -> Floats:
    """How far below the hip (G, P) the ankle is where the thigh, or the last bone, of the geared legs stands at an
    upright angle (L, P); ahead (L, P) of the ankle from the hip."""
    rows = third.geared
    ends = bend.knee[1, rows], bend.knee[0, rows]
    return drop_at(third.bones(legs), legs.knee_side[rows], ahead[rows], ends, angle[rows], of_last)


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
