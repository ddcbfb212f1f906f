"""Smooth curves through a few values: the two kinds that walks are made of."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def monotone_cubic(times: Floats, values: Floats, at: Floats) -> Floats:
    """A C1 curve through (times, values) that turns only at given values: it never overshoots between them.

    times: (K,) strictly rising; values: (K,); at: (P,) inside [times[0], times[-1]]. Returns (P,).
    Three-point slopes limited after Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238; zero at every local extreme.
    """
    h = np.diff(times)
    secant = np.diff(values) / h
    slope = np.zeros_like(values)
    left, right = secant[:-1], secant[1:]
    parabola = (h[1:] * left + h[:-1] * right) / (h[1:] + h[:-1])
    cap = 3.0 * np.minimum(np.abs(left), np.abs(right))
    slope[1:-1] = np.where(left * right > 0, np.maximum(np.minimum(parabola, cap), -cap), 0.0)
    i = np.minimum(np.searchsorted(times[1:], at, side="right"), len(h) - 1)
    step = h[i]
    s = (at - times[i]) / step
    return cubic(values[i], slope[i] * step, values[i + 1], slope[i + 1] * step, s)


def cubic(start: Floats, start_slope: Floats, end: Floats, end_slope: Floats, s: Floats) -> Floats:
    """Cubic Hermite on s in 0..1, slopes per unit of s."""
    q = 1.0 - s
    return start * (1 + 2 * s) * q * q + start_slope * s * q * q + end * s * s * (1 + 2 * q) - end_slope * s * s * q


def smooth_share(s: Floats) -> Floats:
    """0 to 1 with rest and no acceleration at both ends, s in 0..1."""
    return s * s * s * (10 + s * (6 * s - 15))


def minimum_jerk_through(via: Floats, start_speed: Floats, at_via: Floats, end: Floats, end_speed: Floats) -> Floats:
    """Coefficients of the smoothest travel from 0 to `end` that is at `at_via` at time `via` (0 < via < 1, total
    time 1).

    All (M,). Returns (M, 2, 6): quintic coefficients, lowest first, of the piece before and the piece after `via`,
    each in
    its own time from the piece's start. The start's acceleration is free (what moved the foot carries it on), the
    end has
    none. The least integral of squared jerk: Flash & Hogan, J. Neurosci. 5 (1985) 1688, with a via-point.
    """
    ratios, which = np.unique(via, return_inverse=True)
    inverse = np.stack([_jerk_inverse(ratio) for ratio in ratios.tolist()])  # one 12 x 12 a ratio, not a swing
    given = np.zeros((len(via), 12))
    given[:, 1], given[:, 3], given[:, 4] = start_speed, at_via, at_via
    given[:, 9], given[:, 10] = end, end_speed
    return np.einsum("mij,mj->mi", inverse[which], given).reshape(len(via), 2, 6)


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
