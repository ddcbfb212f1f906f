"""Where a function of one value is 0, for functions that are found by solving a walk anew: some dozens of calls."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

LOOKS = 20
"""Values looked at, evenly spaced, before the search narrows down."""

DIPS = 3
"""Where no look shows a zero, so many places that come nearest to one are looked at closely."""

SMALL = 1e-4
"""What counts as 0."""


def nearest_zero(of: Callable[[float], float], low: float, high: float, wish: float) -> float:
    """The zero of `of` between low and high that is nearest to `wish`; where there is none, about where it comes
    nearest to 0. `of` may rise, fall and be level; a zero that it only touches between two looks may be missed."""
    at = sorted({low + (high - low) * i / (LOOKS - 1) for i in range(LOOKS)} | {min(max(wish, low), high)})
    looks = [(x, of(x)) for x in at]
    zeros = _zeros(of, looks)
    if not zeros:
        size = [abs(value) for _, value in looks]
        dips = [i for i in range(len(at)) if size[i] == min(size[max(i - 1, 0) : i + 2])]
        close = sorted(dips, key=lambda i: size[i])[:DIPS]
        looks += [_nearest_between(of, at[max(i - 1, 0)], at[min(i + 1, len(at) - 1)]) for i in close]
        zeros = _zeros(of, sorted(looks))
    if zeros:
        return min(zeros, key=lambda x: abs(x - wish))
    return min(looks, key=lambda look: abs(look[1]))[0]


def _zeros(of: Callable[[float], float], looks: list[tuple[float, float]]) -> list[float]:
    """Every zero that the looks (value, of(value)), rising, show: hit, or lying between two of unlike sign."""
    zeros = [x for x, value in looks if abs(value) < SMALL]
    zeros += [_zero_between(of, *one, *two) for one, two in pairwise(looks) if one[1] * two[1] < 0]
    return zeros


def _zero_between(of: Callable[[float], float], low: float, at_low: float, high: float, at_high: float) -> float:
    """The zero between two values of unlike sign, by the Illinois form of the rule of false position (Dowell and
    Jarratt 1971, from memory)."""
    side = 0
    for _ in range(60):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = of(middle)
        if abs(value) < SMALL or abs(high - low) < 1e-7:
            return middle
        if value * at_low > 0:
            low, at_low = middle, value
            at_high, side = (at_high / 2 if side < 0 else at_high), -1
        else:
            high, at_high = middle, value
            at_low, side = (at_low / 2 if side > 0 else at_low), 1
    return (low + high) / 2


def _nearest_between(of: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Where the size of `of` is least between low and high, by golden section (Kiefer 1953, from memory), and its
    value there."""
    share = (5**0.5 - 1) / 2
    one, two = high - share * (high - low), low + share * (high - low)
    at_one, at_two = of(one), of(two)
    for _ in range(16):
        if abs(at_one) < abs(at_two):
            high, two, at_two = two, one, at_one
            one = high - share * (high - low)
            at_one = of(one)
        else:
            low, one, at_one = one, two, at_two
            two = low + share * (high - low)
            at_two = of(two)
    return (one, at_one) if abs(at_one) < abs(at_two) else (two, at_two)
