"""Which written value of a leg is off, and by how much, from what its range test measured.

Least squares over the leg's nine or ten values, drawn toward what is written (Gauss-Newton steps, damped as Levenberg
and Marquardt do where one does not help; single slips count less, by Cauchy's loss). Of all explanations the one with
the fewest wrong values counts: a ruler slips once, not nine times.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..model.puppet import Leg
from .bench_model import Value, predicted, values_of

Floats = npt.NDArray[np.float64]

HAND_MM = 0.5
"""How well a hand finds a height or sets a foot; written values that are off by less are fine."""
HAND_DEG = 1.0
_DRAWN = {"mm": 4.0, "deg": 8.0}  # how far off a written value may well be: weak against nine good measurements
_FINE = {"mm": HAND_MM, "deg": HAND_DEG}
_MOST_WRONG = 3
_BETTER = 12.0  # squared deviations in hands that one more wrong value must explain
_AS_GOOD = 4.0  # explanations that are nearer to the best than this cannot be told from it
_NUDGE = 1e-4
_ROUNDS = 40
_SLIP = 3.0
"""Deviations beyond so many hands count ever less (Cauchy's loss): one slip of the pen must not bend all values."""


@dataclass(frozen=True)
class Offset:
    """One value that measures other than written. give: its standard deviation, from the hand's own."""

    value: Value
    written: float
    measured: float
    give: float


@dataclass(frozen=True)
class BenchFit:
    """What a leg's range test says. offsets: the explanation with the fewest wrong values, () where nothing is off by
    more than a hand can set. others: explanations that the measurements cannot tell from it. left_mm, left_at: the
    largest difference that is left, and where ("foot 40 ahead, lowest"). unseen: values that no measurement shows."""

    numbers: int
    offsets: tuple[Offset, ...]
    others: tuple[tuple[Offset, ...], ...]
    left_mm: float
    left_at: str
    unseen: tuple[Value, ...]


@dataclass(frozen=True, eq=False)
class Readings:
    """Measurements of a leg in the order lowest, highest, folded, straight (k,): which predicted number each is, what
    was read, how well (standard deviation in mm), and where."""

    foot_mm: Floats  # (n,)
    index: npt.NDArray[np.int64]  # (k,) into lowest (n), highest (n), folded, straight
    read_mm: Floats  # (k,)
    hand_mm: Floats  # (k,)
    where: tuple[str, ...]


def readings_of(leg: Leg) -> Readings:
    """A leg's measured lines as one row of numbers. A foot set by hand is off by HAND_MM as well: where the band's edge
    is steep, its height is known less well."""
    foot = sorted({line.foot_mm for line in leg.measured if line.foot_mm is not None})
    n = len(foot)
    rows: list[tuple[int, float, str]] = []
    for line in leg.measured:
        if line.foot_mm is not None:
            k, at = foot.index(line.foot_mm), foot_words(line.foot_mm)
            rows += [(k, line.lowest_mm, f"foot {at}, lowest")] if line.lowest_mm is not None else []
            rows += [(n + k, line.highest_mm, f"foot {at}, highest")] if line.highest_mm is not None else []
        rows += [(2 * n, line.folded_mm, "folded length")] if line.folded_mm is not None else []
        rows += [(2 * n + 1, line.straight_mm, "straight length")] if line.straight_mm is not None else []
    index = np.array([row[0] for row in rows], dtype=np.int64)
    feet = np.array(foot)
    written = values_of(leg)[1][None]
    slope = (_numbers(leg, written, feet + HAND_MM) - _numbers(leg, written, feet - HAND_MM))[0] / (2.0 * HAND_MM)
    hand = HAND_MM * np.sqrt(1.0 + slope[index] ** 2)
    return Readings(feet, index, np.array([row[1] for row in rows], dtype=float), hand, tuple(row[2] for row in rows))


def foot_words(foot_mm: float) -> str:
    """A foot distance for people: "40 ahead", "12.5 behind", "under the hip"."""
    return "under the hip" if not foot_mm else f"{abs(foot_mm):g} {'ahead' if foot_mm > 0 else 'behind'}"


def _numbers(leg: Leg, values: Floats, foot_mm: Floats) -> Floats:
    """(m, 2 n + 2) lowest, highest, folded and straight of guesses (m, v)."""
    found = predicted(leg, values, foot_mm)
    lengths = np.stack((found.folded_mm, found.straight_mm), axis=1)
    return np.concatenate((found.lowest_mm, found.highest_mm, lengths), axis=1)


class _Problem:
    """Deviations of a leg's values, to be squared and summed: those of what was read, in hands, and those from what is
    written, in what may well be off."""

    def __init__(self, leg: Leg) -> None:
        self.leg, self.readings = leg, readings_of(leg)
        self.values, self.written = values_of(leg)
        self.least = np.array([one.least for one in self.values])
        self.most = np.array([one.most for one in self.values])
        self.drawn = np.array([_DRAWN[one.unit] for one in self.values])

    def differences_mm(self, values: Floats) -> Floats:
        """(m, k) predicted less read."""
        numbers = _numbers(self.leg, values, self.readings.foot_mm)
        return numbers[:, self.readings.index] - self.readings.read_mm

    def residuals(self, values: Floats, free: list[int]) -> Floats:
        """(m, k + free) of guesses (m, v) in which only `free` values are not as written."""
        away = (values[:, free] - self.written[free]) / self.drawn[free]
        hands = self.differences_mm(values) / self.readings.hand_mm
        calmed = np.sign(hands) * _SLIP * np.sqrt(np.log1p((hands / _SLIP) ** 2))
        return np.concatenate((calmed, away), axis=1)

    def slopes(self, values: Floats, free: list[int]) -> Floats:
        """(k + free, free) derivatives of the residuals at one guess (v,), by central differences."""
        nudges = np.zeros((len(free), len(values)))
        nudges[np.arange(len(free)), free] = _NUDGE
        both = self.residuals(np.concatenate((values + nudges, values - nudges)), free)
        return (both[: len(free)] - both[len(free) :]).T / (2.0 * _NUDGE)

    def bounded(self, values: Floats) -> Floats:
        """A guess inside every range, no least value above its most."""
        values = np.clip(values, self.least, self.most)
        for low, high in ((5, 6), (7, 8), (4, 3) if self.values[3].unit == "mm" else (3, 4)):
            if values[low] > values[high]:
                values[[low, high]] = 0.5 * (values[low] + values[high])
        return values

    def fitted(self, free: list[int], start: Floats) -> tuple[float, Floats]:
        """(cost, values) of the least squares over the `free` values, from `start`."""
        values = self.bounded(start)
        residual = self.residuals(values[None], free)[0]
        cost, damping = float(residual @ residual), 1e-6
        for _ in range(_ROUNDS):
            slopes = self.slopes(values, free)
            normal, pull = slopes.T @ slopes, slopes.T @ residual
            tried = values.copy()
            tried[free] -= np.linalg.solve(normal + damping * np.diag(np.diag(normal)), pull)
            tried = self.bounded(tried)
            there = self.residuals(tried[None], free)[0]
            new = float(there @ there)
            if new < cost:
                done = cost - new < 1e-7 * (1.0 + cost)
                values, residual, cost, damping = tried, there, new, max(damping * 0.1, 1e-9)
                if done:
                    break
            else:
                damping = max(damping * 10.0, 1e-4)
                if damping > 1e6:
                    break
        return cost, values

    def best(self, free: list[int]) -> tuple[float, Floats]:
        """The same from what is written and, where a straight knee's bend is free, also from a knee that is bent: near
        0 a bend hardly changes anything, so that no step would lead away from it."""
        found = self.fitted(free, self.written)
        if 3 in free and self.values[3].unit == "deg" and self.written[3] < 8.0:
            bent = self.written.copy()
            bent[3] = 12.0
            found = min(found, self.fitted(free, bent), key=lambda one: one[0])
        return found

    def offsets(self, free: list[int], values: Floats) -> tuple[Offset, ...]:
        slopes = self.slopes(values, free)
        give = np.sqrt(np.diag(np.linalg.inv(slopes.T @ slopes)))
        return tuple(
            Offset(self.values[one], float(self.written[one]), float(values[one]), float(sd))
            for one, sd in zip(free, give, strict=True)
        )

    def matters(self, free: list[int], values: Floats) -> bool:
        """Whether each of the `free` values is off by more than a hand can set."""
        return all(is_off(one) for one in self.offsets(free, values))

    def unseen(self, values: Floats) -> tuple[Value, ...]:
        """Values that the measurements hardly depend on: alone, they would still be half as uncertain as before."""
        slopes = self.slopes(values, list(range(len(self.values))))[: len(self.readings.where)]
        told = np.sqrt((slopes * slopes).sum(axis=0)) * self.drawn
        return tuple(one for one, much in zip(self.values, told.tolist(), strict=True) if much < 2.0)


def bench_fit(leg: Leg) -> BenchFit | None:
    """What a leg's measured lines say of its written values; None where nothing was measured.

    Two values that only ever matter together (thigh and shank of a leg whose knee alone sets every edge) cannot be
    told apart; the other explanation is then given as well.
    """
    if not leg.measured:
        return None
    problem = _Problem(leg)
    every = list(range(len(problem.values)))
    at_written = problem.residuals(problem.written[None], [])[0]
    cost, values, free = float(at_written @ at_written), problem.written, list[int]()
    others: list[tuple[float, list[int], Floats]] = []
    for count in range(1, min(_MOST_WRONG, len(problem.readings.where)) + 1):
        if cost < _BETTER:
            break
        tried = [(*problem.best(list(one)), list(one)) for one in combinations(every, count)]
        found = min(tried, key=lambda one: one[0])
        if cost - found[0] < _BETTER:
            break
        cost, values, free = found
        others = [(other, which, there) for other, there, which in tried
                  if which != free and other - cost < _AS_GOOD and problem.matters(which, there)]  # fmt: skip
    offsets = tuple(one for one in problem.offsets(free, values) if is_off(one)) if free else ()
    left = problem.differences_mm(values[None])[0]
    worst = int(np.argmax(np.abs(left) / problem.readings.hand_mm))
    others.sort(key=lambda one: one[0])
    return BenchFit(
        len(problem.readings.where),
        offsets,
        tuple(problem.offsets(which, there) for _, which, there in others) if offsets else (),
        float(-left[worst]),
        problem.readings.where[worst],
        problem.unseen(values),
    )


def is_off(offset: Offset) -> bool:
    """Whether a value is off by more than a hand can set."""
    return abs(offset.measured - offset.written) > _FINE[offset.value.unit]
