"""The smoothest departure from an asked hip line that keeps it inside every pose's working band: a convex quadratic
programme with box constraints, solved exactly.

Smoothness is asked of the departure, not of the line itself: a walk's own rise and fall in every step is wanted, and
would be flattened.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

PATIENCE = 10
"""Exchanges of all wrong bounds at once that may pass without fewer being wrong."""
MOST_EXCHANGES = 20_000


def hip_curve(asked: Floats, lowest: Floats, highest: Floats, weight: float, closed: bool = False) -> Floats:
    """The line h (P,) with the least weight |D2 (h - asked)|^2 + |h - asked|^2, lowest <= h <= highest.

    asked, lowest, highest: (P,) mm; bounds may be infinite; where lowest > highest their mean is taken for both. D2:
    second differences, those around the end too where the poses are `closed` (one stride of a walk that repeats).
    weight >= 0; the departure fades over about its fourth root in poses. Fewer than 3 poses: each is clipped.

    Which poses lie on a bound is found by block principal pivoting (Judice & Pires, Computers & Operations Research
    21 (1994) 587; from memory), which ends for every strictly convex programme: deterministic,
    no tolerance but rounding.
    """
    low, high = lowest - asked, highest - asked
    crossed = low > high
    low, high = np.where(crossed, 0.5 * (low + high), low), np.where(crossed, 0.5 * (low + high), high)
    nothing = np.zeros(len(asked))
    if len(asked) < 3 or weight == 0 or ((low <= 0) & (high >= 0)).all():
        return asked + np.clip(nothing, low, high)
    matrix = _closed(len(asked), weight) if closed else _Banded(len(asked), weight)
    return asked + _bounded(matrix, low, high)


class _Banded:
    """I + weight D2^T D2 of an open row of poses: five diagonals, solved in time that grows with the poses."""

    def __init__(self, poses: int, weight: float) -> None:
        main, near, far = np.ones(poses), np.zeros(poses), np.zeros(poses)
        main[:-2] += weight
        main[1:-1] += 4.0 * weight
        main[2:] += weight
        near[:-2] -= 2.0 * weight
        near[1:-1] -= 2.0 * weight
        far[:-2] += weight
        self.main, self.near, self.far = main, near, far  # near[i] couples i and i + 1, far[i] i and i + 2

    def times(self, x: Floats) -> Floats:
        y = self.main * x
        y[:-1] += self.near[:-1] * x[1:]
        y[1:] += self.near[:-1] * x[:-1]
        y[:-2] += self.far[:-2] * x[2:]
        y[2:] += self.far[:-2] * x[:-2]
        return y

    def solve_free(self, free: Flags, right: Floats) -> Floats:
        """x (P,) with the rows of `free` poses equal to `right`; 0 elsewhere. By LDL^T without square roots."""
        main = np.where(free, self.main, 1.0).tolist()
        near = (self.near * (free & np.append(free[1:], False))).tolist()
        far = (self.far * (free & np.append(free[2:], (False, False)))).tolist()
        x: list[float] = np.where(free, right, 0.0).tolist()
        count = len(x)
        # eliminate downward: l1, l2 are the multipliers of the one and the two rows below
        ones, twos = [0.0] * count, [0.0] * count
        for i in range(count):
            l1, l2 = near[i] / main[i], far[i] / main[i]
            ones[i], twos[i] = l1, l2
            if i + 1 < count:
                main[i + 1] -= l1 * near[i]
                near[i + 1] -= l1 * far[i]
                x[i + 1] -= l1 * x[i]
            if i + 2 < count:
                main[i + 2] -= l2 * far[i]
                x[i + 2] -= l2 * x[i]
        for i in range(count - 1, -1, -1):
            value = x[i] / main[i]
            if i + 1 < count:
                value -= ones[i] * x[i + 1]
            if i + 2 < count:
                value -= twos[i] * x[i + 2]
            x[i] = value
        return np.array(x)


class _Dense:
    """The same for a full matrix."""

    def __init__(self, matrix: Floats) -> None:
        self.matrix = matrix

    def times(self, x: Floats) -> Floats:
        return self.matrix @ x

    def solve_free(self, free: Flags, right: Floats) -> Floats:
        x = np.zeros(len(right))
        x[free] = np.linalg.solve(self.matrix[np.ix_(free, free)], right[free])
        return x


def _closed(poses: int, weight: float) -> _Dense:
    one = np.eye(poses)
    bend = np.roll(one, 1, axis=0) - 2.0 * one + np.roll(one, -1, axis=0)
    return _Dense(one + weight * bend.T @ bend)


def _bounded(matrix: _Banded | _Dense, low: Floats, high: Floats) -> Floats:
    """The x in [low, high] with the least x^T matrix x / 2."""
    at_low, at_high = low > 0, high < 0  # a departure is pushed to the bounds that exclude none
    few, patience = len(low) + 1, PATIENCE
    x = np.clip(np.zeros(len(low)), low, high)
    for _ in range(MOST_EXCHANGES):
        free = ~(at_low | at_high)
        x = np.where(at_low, low, np.where(at_high, high, 0.0))
        if free.any():
            x = np.where(free, matrix.solve_free(free, -matrix.times(x)), x)
        slope = matrix.times(x)
        rounding = 1e-10 * (1.0 + float(np.abs(x).max()))
        below, above = free & (x < low - rounding), free & (x > high + rounding)
        let_go = (at_low & (slope < -rounding)) | (at_high & (slope > rounding))
        wrong = below | above | let_go
        count = int(wrong.sum())
        if count == 0:
            break
        if count < few:
            few, patience = count, PATIENCE
        elif patience > 0:
            patience -= 1
        else:  # one at a time, always the last: slow, but it never goes round in a circle
            wrong &= np.arange(len(low)) == np.flatnonzero(wrong)[-1]
        at_low = (at_low | below & wrong) & ~(let_go & wrong)
        at_high = (at_high | above & wrong) & ~(let_go & wrong)
    return np.clip(x, low, high)
