"""One leg in its own plane as a function of nine numbers (ten with a third bone), many guesses at once: what a range
test would measure.

The same heights as `bench.flat_band` gives, in closed form for a level body and a flat foot, fast enough to be fitted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.bones import bend_of, drop_at, folded, length_of, most_bend
from ..model.puppet import Leg

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Value:
    """One number of a leg that a range test can tell: its key in the puppet's file below [leg.NAME], words, unit,
    whether more of it is "longer" (a length) or "more", and its range."""

    key: str
    words: str
    unit: str
    least: float
    most: float


_LENGTHS = (
    Value("thigh_mm", "thigh", "mm", 1.0, 5000.0),
    Value("shank_mm", "shank", "mm", 1.0, 5000.0),
    Value("ankle_up_mm", "ankle's height", "mm", 0.0, 5000.0),
)
_KNEE = (
    Value("limits.knee_deg.1", "knee's least bend", "deg", 0.0, 175.0),
    Value("limits.knee_deg.2", "knee's most bend", "deg", 0.0, 175.0),
)
_HOCK = (
    Value("limits.hock_deg.1", "hock's least bend", "deg", 0.0, 175.0),
    Value("limits.hock_deg.2", "hock's most bend", "deg", 0.0, 175.0),
)
_RULER = (
    Value("limits.hip_to_ankle_mm.2", "longest hip to ankle", "mm", 0.0, 10000.0),
    Value("limits.hip_to_ankle_mm.1", "shortest hip to ankle", "mm", 0.0, 10000.0),
)
_STOPS = (
    Value("limits.ankle_deg.1", "ankle's toe-down stop", "deg", -120.0, 120.0),
    Value("limits.ankle_deg.2", "ankle's toe-up stop", "deg", -120.0, 120.0),
    Value("limits.hip_swing_deg.1", "hip's backward stop", "deg", -180.0, 180.0),
    Value("limits.hip_swing_deg.2", "hip's forward stop", "deg", -180.0, 180.0),
)
_CANNON = (Value("cannon_mm", "cannon", "mm", 1.0, 5000.0),)


def values_of(leg: Leg) -> tuple[tuple[Value, ...], Floats]:
    """The nine values of a leg and what is written for them, in the same order; a leg of three bones has its cannon as
    a tenth. A leg whose knee is limited by ruler lengths has these instead of the angles, and where the hock's stop
    ends the bend it stands for the knee's."""
    ruler, hock = leg.limits.hip_to_ankle_mm, leg.hock_sets_deg
    if ruler and not any(hock):
        names, knee = _RULER, (ruler[1], ruler[0])
    else:
        names = tuple((_HOCK if hock[k] else _KNEE)[k] for k in (0, 1))
        own = leg.own_knee_deg
        knee = tuple(leg.limits.hock_deg[k] if hock[k] else own[k] for k in (0, 1))
    cannon = () if leg.cannon_mm is None else (leg.cannon_mm,)
    written = (leg.thigh_mm, leg.shank_mm, leg.ankle_up_mm, *knee, *leg.limits.ankle_deg, *leg.limits.hip_swing_deg)
    values = (*_LENGTHS, *names, *_STOPS, *(_CANNON if cannon else ()))
    return values, np.array((*written, *cannon), dtype=float)


@dataclass(frozen=True, eq=False)
class Predicted:
    """What guesses (m,) give: lowest and highest hip over the floor (m, n), folded and straight length (m,), mm."""

    lowest_mm: Floats
    highest_mm: Floats
    folded_mm: Floats
    straight_mm: Floats


def predicted(leg: Leg, values: Floats, foot_mm: Floats) -> Predicted:
    """What guesses (m, 9 or 10) at a leg's values give over feet (n,). Where no height fits, lowest > highest; never
    NaN."""
    t, s, up = (column[:, None] for column in values.T[:3])
    ankle, swing = np.radians(values[:, 5:7]), np.radians(values[:, 7:9])
    side, turn = float(leg.knee_side), leg.turn
    c = values[:, 9:10] if leg.cannon_mm is not None else np.zeros_like(t)
    geared = leg.cannon_mm is not None and turn != 0
    parallel = leg.cannon_mm is not None and not geared
    upper = t + c if parallel else t  # of the two bones as which the leg reaches
    bones = t, s, c, np.array(turn)
    longest, shortest = _lengths(leg, values)
    u = foot_mm[None, :]
    high = np.sqrt(np.maximum(longest * longest - u * u, 0.0))
    low = np.sqrt(np.maximum(shortest * shortest - u * u, 0.0))
    edges = np.array((low, high))

    # thigh and last bone at either edge, forward positive: the line to the ankle, turned by the leg's own angles
    length = np.array((shortest, longest))
    if geared:
        bend = bend_of(*bones, length)
        at_hip = np.arctan2(*folded(*bones, bend))
    else:
        cosine = np.clip((length * length - upper * upper - s * s) / (2.0 * upper * s), -1.0, 1.0)
        bend = np.arccos(cosine)
        at_hip = np.arctan2(s * np.sin(bend), upper + s * cosine)
    thigh = np.arctan2(u, edges) + side * at_hip
    toe = -thigh if parallel else -side * turn * bend - thigh  # the ankle of a flat foot
    last, other = (upper, s) if parallel else (s, upper)
    for joint, bounds, held, free, sign in ((toe, ankle, last, other, -1.0), (thigh, swing, upper, s, 1.0)):
        # one bone's angle is the stop's; the other bone makes up what is left
        for which, beyond in ((0, joint < bounds[:, 0, None]), (1, joint > bounds[:, 1, None])):
            if geared and not beyond.any():
                continue
            lean = sign * bounds[:, which, None]
            if geared:
                crossing = drop_at(bones, np.array(side), u, (bend[1], bend[0]), lean, sign < 0)
            else:
                across = u - held * np.sin(lean)
                crossing = held * np.cos(lean) + np.sqrt(np.maximum(free * free - across * across, 0.0))
            edges[0] = np.where(beyond[0], np.maximum(edges[0], crossing), edges[0])
            edges[1] = np.where(beyond[1], np.minimum(edges[1], crossing), edges[1])
    return Predicted(edges[0] + up, edges[1] + up, shortest[:, 0], longest[:, 0])


def _lengths(leg: Leg, values: Floats) -> tuple[Floats, Floats]:
    """Longest and shortest hip to ankle (m, 1)."""
    t, s = values[:, 0], values[:, 1]
    if leg.cannon_mm is not None:
        bones = t[:, None], s[:, None], values[:, 9:10], np.array(leg.turn)
        if leg.limits.hip_to_ankle_mm and not any(leg.hock_sets_deg):
            folded_flat = length_of(*bones, most_bend(bones[3]))
            ends = np.clip(values[:, 3:5], folded_flat, sum(bones[:3]))
        else:
            of_hock = np.where(leg.hock_sets_deg, leg.hock_ratio, 1.0)
            ends = length_of(*bones, np.minimum(np.radians(values[:, 3:5] / of_hock), most_bend(bones[3])))
    elif leg.limits.hip_to_ankle_mm:
        ends = np.clip(values[:, 3:5], np.abs(t - s)[:, None], (t + s)[:, None])
    else:
        cosine = np.cos(np.radians(values[:, 3:5]))
        ends = np.sqrt(np.maximum((t * t + s * s)[:, None] + 2.0 * (t * s)[:, None] * cosine, 0.0))
    return ends[:, :1], ends[:, 1:]
