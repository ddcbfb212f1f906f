"""The hip curve of a fit against SciPy's bounded least squares."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from striderule.adjust.hip_curve import hip_curve


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_the_hip_curve_is_the_one_of_scipys_bounded_least_squares_to_a_thousandth_of_a_millimetre(seed, closed):
    rng = np.random.default_rng(seed)
    poses = int(rng.integers(3, 120))
    asked = 120.0 + 2.0 * np.sin(np.arange(poses) * rng.uniform(0.3, 1.2)) + rng.normal(0.0, 0.3, poses)
    middle = 119.0 + np.cumsum(rng.normal(0.0, 0.3, poses))
    half = rng.uniform(0.0, 2.0, poses)
    low, high = middle - half - 1e-6, middle + half + 1e-6
    high[rng.random(poses) < 0.2] = np.inf
    weight = float(10.0 ** rng.uniform(-1.0, 3.0))
    one = np.eye(poses)
    bend = np.roll(one, 1, axis=0) - 2.0 * one + np.roll(one, -1, axis=0) if closed else np.diff(one, 2, axis=0)
    rows = np.vstack((np.sqrt(weight) * bend, one))
    theirs = lsq_linear(rows, rows @ asked, (low, high), method="bvls", tol=1e-14, max_iter=5000)
    assert theirs.success
    np.testing.assert_allclose(hip_curve(asked, low, high, weight, closed), theirs.x, atol=1e-3)
