"""Third bones against scipy's root finders, and the margin over the feet against shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.optimize import brentq, minimize_scalar

from striderule.check.centre import support_of
from striderule.check.weight.support import margin_mm, soles_of
from striderule.model.bones import bend_of, crossing, drop_at, length_of, most_bend
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import solve


def test_a_bend_is_the_one_that_scipy_s_brentq_finds():
    rng = np.random.default_rng(1973)
    every = np.column_stack((rng.uniform(5, 150, (150, 3)), rng.uniform(-0.8, 1.5, 150)))
    for thigh, shank, cannon, turn in every.tolist():
        bones = [np.array(one) for one in (thigh, shank, cannon, turn)]
        most = float(most_bend(bones[3]))
        length = float(length_of(*bones, np.array(rng.uniform(0.02, 0.98) * most)))
        found = brentq(lambda b, bones=bones, length=length: float(length_of(*bones, np.array(b))) - length, 0, most,
                       xtol=1e-14)  # fmt: skip
        ours = float(bend_of(*bones, np.array(length)))
        assert ours == pytest.approx(found, abs=1e-9)


def test_a_straight_leg_is_the_longest_that_scipy_finds():
    bones = [np.array(one) for one in (50.0, 48.0, 36.0, -0.1)]
    best = minimize_scalar(lambda b: -float(length_of(*bones, np.array(b))), bounds=(0, 3), method="bounded",
                           options={"xatol": 1e-10})  # fmt: skip
    assert -best.fun == pytest.approx(134.0, abs=1e-6)


def test_where_a_stop_is_met_is_where_scipy_s_brentq_meets_it():
    bones = tuple(np.array(one) for one in (50.0, 48.0, 36.0, -0.3))
    for ahead in np.linspace(-40, 40, 9):
        for of_last in (False, True):

            def stands(bend, ahead=ahead, of_last=of_last):
                b = np.array(bend)
                aside = 48 * np.sin(b) - 36 * np.sin(-0.3 * b)
                along = 50 + 48 * np.cos(b) + 36 * np.cos(-0.3 * b)
                line = np.arctan2(ahead, np.sqrt(aside**2 + along**2 - ahead**2))
                return float(line + np.arctan2(aside, along) + (-0.3 * b if of_last else 0.0))

            middle = 0.5 * (stands(0.3) + stands(1.7))
            bend = brentq(lambda b, s=stands, m=middle: s(b) - m, 0.3, 1.7, xtol=1e-14)
            expected = np.sqrt(float(length_of(*bones, np.array(bend))) ** 2 - ahead**2)
            ends = np.array(0.3), np.array(1.7)
            ours = drop_at(bones, np.array(1.0), np.array(ahead), ends, np.array(middle), of_last)
            assert float(ours) == pytest.approx(expected, abs=1e-9)


def test_crossings_are_scipy_s():
    slope = np.linspace(0.1, 9, 50)
    found = crossing(lambda x: np.cos(x) - slope * x, np.zeros(50), np.full(50, 1.5))
    expected = [brentq(lambda x, k=k: np.cos(x) - k * x, 0, 1.5, xtol=1e-14) for k in slope.tolist()]
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-11)


def test_the_margin_over_the_feet_is_shapely_s_distance_to_their_hull():
    plan = solve(load_shot(starter_paths()["tapir"]))
    support, soles = support_of(plan), soles_of(plan)
    moved = support.centre_mm[:, :2] + np.random.default_rng(3).uniform(-90, 90, (plan.poses, 2))
    for points in (support.centre_mm[:, :2], moved):
        ours = margin_mm(soles, points)
        for pose in range(plan.poses):
            corners = soles.corners[pose][soles.down[pose]].reshape(-1, 2)
            hull, point = shapely.MultiPoint(corners).convex_hull, shapely.Point(points[pose])
            away = hull.exterior.distance(point)
            expected = away if hull.contains(point) else -away
            assert ours[pose] == pytest.approx(expected, abs=1e-9)
