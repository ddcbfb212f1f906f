"""Least squares by the method of Levenberg and Marquardt, on numpy alone.

Source: Marquardt, An algorithm for least-squares estimation of nonlinear parameters, 1963; the damping's change follows
Nielsen, Damping parameter in Marquardt's method, 1999.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
State = TypeVar("State")


@dataclass(frozen=True, eq=False)
class Descent(Generic[State]):
    """Where a descent ended. cost: sum of squared residuals; normal: J^T J there (p, p); settled: whether it came to
    rest before its rounds were used up."""

    state: State
    cost: float
    normal: Floats
    rounds: int
    settled: bool


def descend(
    slopes: Callable[[State], tuple[Floats, Floats] | None],
    moved: Callable[[State, Floats], State],
    start: State,
    rounds: int = 100,
) -> Descent[State]:
    """Descend from `start`. slopes: residuals (m,) and their Jacobian (m, p), None where a state has none (a point
    behind the camera). moved: a state after a step (p,). Raises ValueError where `start` itself has none."""
    found = slopes(start)
    if found is None:
        raise ValueError("a start without residuals")
    residuals, jacobian = found
    state, cost = start, float(residuals @ residuals)
    normal, gradient = jacobian.T @ jacobian, jacobian.T @ residuals
    damping, growth = 1e-3, 2.0
    for count in range(rounds):
        # scaled by the steepest slopes there are, so that pixels, radians and mm may stand side by side
        steepest = np.diag(normal)
        scale = np.maximum(steepest, 1e-12 * max(float(steepest.max()), 1e-300))
        step = np.linalg.solve(normal + damping * np.diag(scale), -gradient).astype(np.float64)
        foreseen = float(-step @ (2 * gradient + normal @ step))
        if foreseen <= 1e-13 * cost + 1e-22:
            return Descent(state, cost, normal, count, True)
        ahead = moved(state, step)
        found = slopes(ahead)
        new = float(found[0] @ found[0]) if found else np.inf
        if found and new < cost:
            gain = (cost - new) / foreseen
            damping = max(damping * max(1 / 3, 1 - (2 * gain - 1) ** 3), 1e-15)
            growth = 2.0
            state, cost = ahead, new
            normal, gradient = found[1].T @ found[1], found[1].T @ found[0]
        else:
            damping, growth = damping * growth, growth * 2
            if damping > 1e16:
                return Descent(state, cost, normal, count, True)
    return Descent(state, cost, normal, rounds, False)
