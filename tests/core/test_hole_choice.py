"""One place for every footfall: the dynamic programme against trying every way."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from striderule.adjust.hole_choice import chosen, cost_of


def made(seed, footfalls, most):
    """Random candidates, which pairs are allowed, further costs."""
    number = np.random.default_rng(seed)
    moved = [number.uniform(-20, 20, (number.integers(1, most + 1), 3)) for _ in range(footfalls)]
    allowed = [number.random((len(a), len(b))) < 0.75 for a, b in itertools.pairwise(moved)]
    also = [number.uniform(0, 50, len(one)) for one in moved]
    return moved, allowed, also


def by_trying(moved, allowed, also):
    """(path, cost) of the cheapest allowed way, by looking at every one."""
    best = None
    for path in itertools.product(*(range(len(one)) for one in moved)):
        if all(mask[a, b] for mask, (a, b) in zip(allowed, itertools.pairwise(path), strict=True)):
            cost = cost_of(moved, path) + sum(float(one[k]) for one, k in zip(also, path, strict=True))
            if best is None or cost < best[1]:
                best = (list(path), cost)
    return best


@pytest.mark.parametrize("seed", range(120))
def test_it_finds_what_trying_every_way_finds(seed):
    moved, allowed, also = made(seed, random.Random(seed).randint(1, 6), 4)
    asked = by_trying(moved, allowed, also)
    found = chosen(moved, allowed, also)
    if asked is None:
        assert found is None
    else:
        assert found is not None
        assert found[0] == asked[0]
        assert found[1] == pytest.approx(asked[1])


@pytest.mark.parametrize("seed", range(40))
def test_it_is_never_worse_than_going_step_by_step(seed):
    moved, _, also = made(seed, 12, 9)
    allowed = [np.ones((len(a), len(b)), dtype=bool) for a, b in itertools.pairwise(moved)]
    also = [np.zeros(len(one)) for one in also]
    path = []
    for k in range(len(moved)):
        path.append(min(range(len(moved[k])), key=lambda c: cost_of(moved[: k + 1], [*path, c])))
    found = chosen(moved, allowed, also)
    assert found is not None
    assert found[1] <= cost_of(moved, path) + 1e-9
    assert found[1] == pytest.approx(cost_of(moved, found[0]))
