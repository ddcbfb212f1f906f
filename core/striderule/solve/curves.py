"""Smooth curves through a few values: the two kinds that walks are made of."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]


def monotone_cubic(times: Floats, values: Floats, at: Floats) -> Floats:
    """A C1 curve through (times, values) that turns only at given values: it never overshoots between them.

    times: (K,) strictly rising; values: (K,); at: (P,) inside [times[0], times[-1]]. Returns (P,). Three-point slopes
    limited after Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238; zero at every local extreme.
    """
    return monotone_cubics(((times, values),), at)[0]


def monotone_cubics(curves: Sequence[tuple[Floats, Floats]], at: Floats) -> Floats:
    """Several `monotone_cubic` at the same times (P,), in one go. Returns (curves, P).

    The curves are laid end to end in time, with a gap between them in which nothing is asked for.
    """
    span = max(float(times[-1]) for times, _ in curves) - min(float(times[0]) for times, _ in curves) + 1.0
    if len(curves) == 1:
        times, values = curves[0]
    else:
        times = np.concatenate([times + i * span for i, (times, _) in enumerate(curves)])
        values = np.concatenate([values for _, values in curves])
    h, rise = times[1:] - times[:-1], values[1:] - values[:-1]
    secant = rise / h
    slope = np.zeros(len(values))
    left, right = secant[:-1], secant[1:]
    parabola = (h[1:] * left + h[:-1] * right) / (h[1:] + h[:-1])
    cap = 3.0 * np.minimum(np.abs(left), np.abs(right))
    slope[1:-1] = np.where(left * right > 0, np.maximum(np.minimum(parabola, cap), -cap), 0.0)
    first = 0
    for _, one in curves[:-1]:
        first += len(one)
        slope[first - 1 : first + 1] = 0.0
    pieces = cubic_pieces(times[:-1], h, values[:-1], slope[:-1] * h, values[1:], slope[1:] * h)
    asked = (at + span * np.arange(len(curves))[:, None]).ravel()
    which = np.minimum(np.searchsorted(times[1:], asked, side="right"), len(h) - 1)
    return on_pieces(pieces, which, asked).reshape(len(curves), len(at))


def cubic_pieces(
    begin: Floats | float, length: Floats | float, start: Floats | float, start_slope: Floats | float,
    end: Floats | float, end_slope: Floats | float,
) -> Floats:  # fmt: skip
    """Cubic Hermite pieces for `on_pieces`, from `start` at `begin` to `end` a `length` later; slopes a whole piece.

    Each (M,), or one value for all; (M,) at least one of the places and slopes. Returns (6, M): the coefficients,
    lowest first, over the piece taken as 0 to 1; `begin`; one over `length`.
    """
    rise = end - start
    cubed = start_slope + end_slope - 2.0 * rise
    pieces = np.empty((6, np.size(cubed)))
    pieces[0], pieces[1], pieces[2], pieces[3] = start, start_slope, rise - start_slope - cubed, cubed
    pieces[4], pieces[5] = begin, 1.0 / length
    return pieces


def on_pieces(pieces: Floats, which: Whole, at: Floats) -> Floats:
    """Values (A,) at the times `at` (A,), each on the piece `which` (A,) of the pieces (6, M)."""
    c0, c1, c2, c3, begin, per_length = pieces.take(which, axis=1)
    s = (at - begin) * per_length
    return c0 + s * (c1 + s * (c2 + s * c3))


def smooth_share(s: Floats) -> Floats:
    """0 to 1 with rest and no acceleration at both ends, s in 0..1."""
    return s * s * s * (10 + s * (6 * s - 15))


def minimum_jerk_through(via: Floats, start_speed: Floats, at_via: Floats, end: Floats, end_speed: Floats) -> Floats:
    """Coefficients of the smoothest travel from 0 to `end` that is at `at_via` at time `via` (0 < via < 1, total time
    1).

    All (M,). Returns (M, 2, 6): quintic coefficients, lowest first, of the piece before and the piece after `via`,
    each in its own time from the piece's start. The start's acceleration is free (what moved the foot carries it on),
    the end has none. The least integral of squared jerk: Flash & Hogan, J. Neurosci. 5 (1985) 1688, with a via-point.
    """
    given = np.zeros((len(via), 12))
    given[:, 1], given[:, 3], given[:, 4] = start_speed, at_via, at_via
    given[:, 9], given[:, 10] = end, end_speed
    if (via == via[:1]).all():  # as in a plain walk
        return (given @ _jerk_inverse(float(via[0])).T).reshape(-1, 2, 6) if len(via) else given.reshape(0, 2, 6)
    ratios, which = np.unique(via, return_inverse=True)
    inverse = np.stack([_jerk_inverse(ratio) for ratio in ratios.tolist()])  # one 12 x 12 a ratio, not a swing
    return np.einsum("mij,mj->mi", inverse[which], given).reshape(len(via), 2, 6)


def monotone_through(via: Floats, start_speed: Floats, at_via: Floats, end: Floats, end_speed: Floats) -> Floats:
    """As `minimum_jerk_through`, but two cubics that never turn back: for timings too lopsided for the smoothest
    travel.

    Speeds are lowered where they are too high to stay monotone (Fritsch & Carlson 1980: at most three times the mean).
    """
    first, second = at_via / via, (end - at_via) / (1.0 - via)
    middle = np.where(first * second > 0, (1.0 - via) * first + via * second, 0.0)

    def capped(speed: Floats, *means: Floats) -> Floats:
        for mean in means:
            most = 3.0 * np.abs(mean)
            speed = np.maximum(np.minimum(speed, most), -most)
        return speed

    start_speed, middle, end_speed = (
        capped(start_speed, first),
        capped(middle, first, second),
        capped(end_speed, second),
    )
    c = np.zeros((len(via), 2, 6))
    for piece, (place, span, mean, early, late) in enumerate(
        ((np.zeros_like(via), via, first, start_speed, middle), (at_via, 1.0 - via, second, middle, end_speed))
    ):
        c[:, piece, 0], c[:, piece, 1] = place, early
        c[:, piece, 2] = (3.0 * mean - 2.0 * early - late) / span
        c[:, piece, 3] = (early + late - 2.0 * mean) / span**2
    return c


def travel_through(via: Floats, start_speed: Floats, at_via: Floats, end: Floats, end_speed: Floats) -> Floats:
    """The smoothest travel through a via-point where it goes forward all the way, else the monotone one. Arguments and
    result as `minimum_jerk_through`; end >= 0."""
    smooth = minimum_jerk_through(via, start_speed, at_via, end, end_speed)
    c = smooth.transpose(2, 1, 0)  # (6, 2, M): coefficient, piece, swing
    t = _LOOKED_AT * np.array((via, 1.0 - via))  # (9, 2, M)
    speed = c[1] + t * (2.0 * c[2] + t * (3.0 * c[3] + t * (4.0 * c[4] + t * (5.0 * c[5]))))
    slowest = speed.min(axis=(0, 1))
    turns_back = slowest < -0.02 * np.abs(end) - 1e-9
    if turns_back.any():
        smooth[turns_back] = monotone_through(via, start_speed, at_via, end, end_speed)[turns_back]
    return smooth


_LOOKED_AT = np.linspace(0.0, 1.0, 9)[:, None, None]
"""Where in a piece its speed is looked at."""


@lru_cache(maxsize=512)
def _jerk_inverse(via: float) -> Floats:
    """Inverse of the (12, 12) conditions: rows = start place, speed, no jerk; place at via (twice); four derivatives
    continuous; end place, speed, no acceleration."""
    power = np.arange(6)
    factors = [np.ones(6)]  # d-th derivative of t^k = factors[d][k] t^(k-d)
    for d in range(1, 5):
        factors.append(factors[-1] * np.maximum(power - d + 1, 0))

    def row(t: float, d: int) -> Floats:
        return factors[d] * np.power(t, np.maximum(power - d, 0)) * (power >= d)

    left = 1.0 - via
    m = np.zeros((12, 12))
    m[0, :6], m[1, :6], m[2, :6] = row(0.0, 0), row(0.0, 1), row(0.0, 3)
    m[3, :6], m[4, 6:] = row(via, 0), row(0.0, 0)
    for d in range(1, 5):
        m[4 + d, :6], m[4 + d, 6:] = row(via, d), -row(0.0, d)
    m[9, 6:], m[10, 6:], m[11, 6:] = row(left, 0), row(left, 1), row(left, 2)
    return np.asarray(np.linalg.inv(m), dtype=np.float64)


def travel(coefficients: Floats, via: Floats, s: Floats) -> Floats:
    """Evaluate `minimum_jerk_through` at s in 0..1. coefficients (M, 2, 6), via (M,), s (M,) -> (M,)."""
    late = s >= via
    c = np.where(late[:, None], coefficients[:, 1], coefficients[:, 0])
    t = np.where(late, s - via, s)
    return c[:, 0] + t * (c[:, 1] + t * (c[:, 2] + t * (c[:, 3] + t * (c[:, 4] + t * c[:, 5]))))
