"""The curves that walks are made of."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from striderule.solve.curves import minimum_jerk_through, monotone_cubic, smooth_share, travel


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.1, 9.0), st.floats(-50, 50)), min_size=3, max_size=12))
def test_a_monotone_cubic_meets_its_keys_and_never_overshoots(keys: list[tuple[float, float]]) -> None:
    times = np.cumsum([gap for gap, _ in keys])
    values = np.array([value for _, value in keys])
    np.testing.assert_allclose(monotone_cubic(times, values, times), values, atol=1e-9)
    at = np.linspace(times[0], times[-1], 400)
    curve = monotone_cubic(times, values, at)
    i = np.minimum(np.searchsorted(times[1:], at, side="right"), len(times) - 2)
    assert (curve <= np.maximum(values[i], values[i + 1]) + 1e-9).all()
    assert (curve >= np.minimum(values[i], values[i + 1]) - 1e-9).all()


@settings(max_examples=60, deadline=None)
@given(st.floats(0.15, 0.85), st.floats(0, 3), st.floats(0.1, 1.0), st.floats(0, 3))
def test_the_travel_meets_start_speed_via_point_and_end(
    via: float, start_speed: float, at_via: float, end_speed: float
) -> None:
    one = np.array([via])
    c = minimum_jerk_through(one, np.array([start_speed]), np.array([at_via]), np.array([1.3]), np.array([end_speed]))

    def at(s: float) -> float:
        return float(travel(c, one, np.array([s]))[0])

    h = 1e-5
    assert abs(at(0.0)) < 1e-9
    assert abs(at(via) - at_via) < 1e-9
    assert abs(at(1.0) - 1.3) < 1e-9
    assert abs((at(h) - at(0)) / h - start_speed) < 1e-2
    assert abs((at(1) - at(1 - h)) / h - end_speed) < 1e-2
    assert abs((at(via + h) - at(via)) - (at(via) - at(via - h))) < 1e-7  # no corner at the via-point


def test_the_travel_has_the_least_jerk_of_all_that_meet_the_same_ends() -> None:
    """Added to it, any wiggle that keeps place, speed and acceleration where they are given makes the jerk larger."""
    via = np.array([0.4])
    c = minimum_jerk_through(via, np.array([0.5]), np.array([0.45]), np.array([1.0]), np.array([0.1]))
    s = np.linspace(0, 1, 4001)
    path = np.array([travel(c, via, np.array([x]))[0] for x in s])
    wiggle = s**2 * (1 - s) ** 3 * (s - 0.4)

    def jerk(curve: np.ndarray) -> float:
        return float((np.diff(curve, 3) ** 2).sum())

    assert jerk(path) < jerk(path + 0.01 * wiggle)
    assert jerk(path) < jerk(path - 0.01 * wiggle)


def test_a_smooth_share_rests_at_both_ends() -> None:
    s = np.array([0.0, 1e-4, 0.5, 1 - 1e-4, 1.0])
    share = smooth_share(s)
    np.testing.assert_allclose(share[[0, 2, 4]], [0, 0.5, 1])
    assert share[1] < 1e-10
    assert 1 - share[3] < 1e-10
