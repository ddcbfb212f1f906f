"""A leg's bones in its own plane: two (thigh, shank), or three, the third (cannon) bent at the hock as the knee bends.

Three bones make a Z: knee and hock bend opposite ways, and one linkage ties them, so that the hock bends `ratio`
degrees for each degree of the knee. At ratio 1 (a pantograph) the cannon stays parallel to the thigh, whatever the
bend; the leg then reaches as one of two bones does: thigh and cannon together, and the shank.

`turn` is how far the last bone turns from the thigh for each degree of the knee: ratio - 1, and -1 for a leg of two
bones, whose cannon is 0. Bends in radians, from 0 to `most_bend`; on that range the length falls all the way, because
d(length^2)/d(bend) = -2 (t s sin b + r s c sin r b + |r - 1| t c sin |r - 1| b) has three terms of one sign.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bones = tuple[Floats, Floats, Floats, Floats]
"""Thigh, shank and cannon in mm, and turn."""

ROUNDS = 60
"""Most rounds of a search; halving alone would need no more."""
_CLOSE = 1e-12
"""Radians: below 1e-9 mm in a leg of up to a metre."""
_LAST_STEP = 1e-8
"""Newton's steps square what is left: after one as small as this nothing is."""


def most_bend(turn: Floats) -> Floats:
    """The knee's bend at which it or the hock is folded flat."""
    return np.pi / np.maximum(1.0, turn + 1.0)


def folded(thigh: Floats, shank: Floats, cannon: Floats, turn: Floats, bend: Floats) -> tuple[Floats, Floats]:
    """(aside, down): the last bone's end, seen from the hip, the thigh pointing straight down; aside is away from the
    knee's side. length = hypot, and the thigh stands atan2(aside, down) to the knee's side of the line to the end."""
    last = turn * bend
    aside = shank * np.sin(bend) - cannon * np.sin(last)
    return aside, thigh + shank * np.cos(bend) + cannon * np.cos(last)


def length_of(thigh: Floats, shank: Floats, cannon: Floats, turn: Floats, bend: Floats) -> Floats:
    """Hip to the last bone's end."""
    return np.hypot(*folded(thigh, shank, cannon, turn, bend))


def bend_of(thigh: Floats, shank: Floats, cannon: Floats, turn: Floats, length: Floats) -> Floats:
    """The knee's bend at which hip and last bone's end are `length` apart, to 1e-9 mm; at the end of the range where no
    bend is so.

    Newton's steps on how much is folded away, which is nearly even in the bend also where the leg is straight; a step
    out of what is left of the range halves it instead.
    """
    a, b, c, hock = thigh * shank, shank * cannon, thigh * cannon, turn + 1.0

    def fold(bend: Floats) -> tuple[Floats, Floats]:
        """Half the root of how much length^2 is less than straight, and its square's derivative."""
        knee, at_hock, between = np.sin(0.5 * bend), np.sin(0.5 * hock * bend), np.sin(0.5 * turn * bend)
        square = a * knee * knee + b * at_hock * at_hock + c * between * between
        rises = a * np.sin(bend) + b * hock * np.sin(hock * bend) + c * turn * np.sin(turn * bend)
        return np.sqrt(square), 0.5 * rises

    straight = thigh + shank + cannon
    want = 0.5 * np.sqrt(np.maximum((straight - length) * (straight + length), 0.0))
    high = most = np.broadcast_to(most_bend(turn), np.broadcast_shapes(np.shape(want), np.shape(turn)))
    want = np.minimum(want, fold(high)[0])
    low = np.zeros_like(high)
    per_half = np.sqrt(a + b * hock * hock + c * turn * turn)  # of fold, where the leg is straight
    bend = np.minimum(2.0 * np.arcsin(np.minimum(want / per_half, 1.0)), high)
    for _ in range(ROUNDS):
        had, rises = fold(bend)
        off = had - want
        low, high = np.where(off < 0, bend, low), np.where(off > 0, bend, high)
        step = np.where(off == 0, 0.0, off * 2.0 * had / np.where(rises > 0, rises, 1e-300))
        tried = bend - step
        inside = (np.abs(step) < _LAST_STEP) | ((tried >= low) & (tried <= high))
        tried = np.where(inside, tried, 0.5 * (low + high))
        moved = np.abs(tried - bend).max(initial=0.0)
        bend = tried
        if moved < _LAST_STEP and inside.all():
            break
    return np.minimum(np.maximum(bend, 0.0), most)


def drop_at(
    bones: Bones,
    knee_side: Floats,
    ahead: Floats,
    bend: tuple[Floats, Floats],
    angle: Floats,
    of_last: bool,
) -> Floats:
    """How far below the hip the last bone's end is where it is `ahead` of it and the thigh (of_last: the last bone)
    stands at an angle from straight down, forward +.

    bones: thigh, shank, cannon, turn. bend: least and most of the knee, between which that is so at one bend; where it
    is not, the answer means nothing.
    """

    def drop(knee: Floats) -> Floats:
        length = length_of(*bones, knee)
        return np.sqrt(np.maximum(length * length - ahead * ahead, 0.0))

    def beyond(knee: Floats) -> Floats:
        stands = np.arctan2(ahead, drop(knee)) + knee_side * np.arctan2(*folded(*bones, knee))
        return stands - angle + (knee_side * bones[3] * knee if of_last else 0.0)

    shape = np.broadcast_shapes(np.shape(ahead), np.shape(angle), np.shape(bend[0]), np.shape(bones[0]))
    return drop(crossing(beyond, np.broadcast_to(bend[0], shape), np.broadcast_to(bend[1], shape)))


def crossing(f: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Where f crosses zero between low and high, one crossing for each entry; an entry of one sign at both ends gives
    an end. (Chandrupatla, Advances in Engineering Software 28 (1997) 145: inverse quadratic steps, halving where they
    would not help.)"""
    a, b = low, high
    fa, fb = f(a), f(b)
    none = (fa < 0) == (fb < 0)
    share = np.where(fb == 0, 1.0, np.where(none | (fa == 0), 0.0, 0.5))
    best = a
    for _ in range(ROUNDS):
        at = a + share * (b - a)
        there = f(at)
        same = (there < 0) == (fa < 0)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = at, there
        best = np.where(np.abs(fa) < np.abs(fb), a, b)
        wide = np.abs(b - a)
        done = none | (wide <= _CLOSE) | (fa == 0) | (fb == 0)
        if done.all():
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            quadratic = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
            step = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
            least = np.minimum(0.5 * _CLOSE / wide, 0.5)
        share = np.where(quadratic & np.isfinite(step), step, 0.5)
        share = np.where(done, 0.0, np.minimum(np.maximum(share, least), 1.0 - least))
    return best
