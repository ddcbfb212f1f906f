"""The range test's own least squares against scipy's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from striderule.check.bench import flat_band, foot_distances
from striderule.check.bench_fit import HAND_MM, bench_fit
from striderule.check.bench_model import values_of
from striderule.model.bench import Measured
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot

SLIP_HANDS, DRAWN_MM, DRAWN_DEG = 3.0, 4.0, 8.0


def leg_of(leg, values):
    v = np.asarray(values, float).tolist()
    limits = replace(leg.limits, knee_deg=(v[3], v[4]), ankle_deg=(v[5], v[6]), hip_swing_deg=(v[7], v[8]))
    return replace(leg, thigh_mm=v[0], shank_mm=v[1], ankle_up_mm=v[2], limits=limits)


def heights(leg, foot):
    band = flat_band(leg, foot)
    return np.concatenate((band.lowest_mm, band.highest_mm))


@pytest.mark.parametrize("name", ["heron", "lamplighter"])
@pytest.mark.parametrize(("value", "by"), [(0, 1.8), (1, -2.2), (2, 2.0)])
def test_the_value_found_is_the_one_where_scipy_ends_from_a_guess_of_its_own(name, value, by):
    """The same deviations, put together here from the sheet's heights, minimised by scipy's trust region method."""
    written = load_shot(starter_paths()[name]).puppet.legs[0]
    start = values_of(written)[1]
    foot = np.array(foot_distances(written))
    real = start.copy()
    real[value] += by
    read = heights(leg_of(written, real), foot) + np.random.default_rng(7).uniform(-HAND_MM, HAND_MM, 2 * len(foot))
    lows, highs = np.sort(read.reshape(2, -1), axis=0)
    lines = [Measured(foot_mm=float(u), lowest_mm=float(a), highest_mm=float(b))
             for u, a, b in zip(foot, lows, highs, strict=True)]  # fmt: skip
    fit = bench_fit(replace(written, measured=tuple(lines)))
    assert [one.value for one in fit.offsets] == [values_of(written)[0][value]]

    steep = heights(written, foot + HAND_MM) - heights(written, foot - HAND_MM)
    hand = HAND_MM * np.hypot(1.0, steep / (2 * HAND_MM))
    drawn = DRAWN_MM if value < 3 else DRAWN_DEG
    readings = np.concatenate((lows, highs))

    def deviations(guess):
        guessed = start.copy()
        guessed[value] = guess[0]
        away = (heights(leg_of(written, guessed), foot) - readings) / hand
        calmed = np.copysign(SLIP_HANDS * np.sqrt(np.log1p((away / SLIP_HANDS) ** 2)), away)
        return np.append(calmed, (guess[0] - start[value]) / drawn)

    found = least_squares(deviations, [start[value] + 0.3 * by], diff_step=1e-6, xtol=1e-12, ftol=1e-12)
    assert fit.offsets[0].measured == pytest.approx(found.x[0], abs=2e-3)
    give = 1.0 / np.sqrt((found.jac.T @ found.jac)[0, 0])
    assert fit.offsets[0].give == pytest.approx(give, rel=0.02)
