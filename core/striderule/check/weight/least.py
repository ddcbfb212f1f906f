"""Many small linear programs at once: the least cost . z with rows z <= most, one program a pose.

A dual simplex method (Lemke, Naval Research Logistics Quarterly 1 (1954) 36, from memory): it goes from corner to
corner of what the rows allow, each time taking in the row that is broken most, until none is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

FAR = 1e4
"""No unknown is looked for further out; callers scale theirs to about 1."""

_TOLERANCE = 1e-11
_MOST = 400


def least(cost: Floats, rows: Floats, most: Floats) -> tuple[Floats, Flags]:
    """z (P, n) of the least cost and (P,) whether there is any z at all.

    cost (n,): an unknown with a cost above 0 is never negative, one with a cost below 0 never above FAR.
    rows (P, m, n), most (P, m).
    """
    poses, _, n = rows.shape
    sign = np.where(cost > 0, -1.0, 1.0)
    start: Floats = np.where(cost > 0, 0.0, FAR)
    inverse = np.broadcast_to(np.diag(sign), (poses, n, n)).copy()  # of the rows that meet in the corner
    edge = np.broadcast_to(start, (poses, n)).copy()  # their right-hand sides
    # what one more of each would save: in cost, and where that is the same in a small cost of its own for each unknown,
    # without which programs with many best corners would be gone round in circles
    own = np.array([1.0 + 0.6180339887 * k % 1.0 for k in range(n)])
    price = np.broadcast_to(np.stack((np.abs(cost), own), axis=1), (poses, n, 2)).copy()
    active = np.broadcast_to(np.diag(sign), (poses, n, n)).copy()
    possible = np.ones(poses, dtype=bool)
    left: npt.NDArray[np.int64] = np.arange(poses, dtype=np.int64)
    for _ in range(_MOST):
        if not len(left):
            break
        z = (inverse[left] @ edge[left][:, :, None])[:, :, 0]
        over = (rows[left] @ z[:, :, None])[:, :, 0] - most[left]
        taken = over.argmax(axis=1)
        at = np.arange(len(left))
        broken = over[at, taken] > _TOLERANCE
        left, taken = left[broken], taken[broken]
        new = rows[left, taken]
        parts = (new[:, None] @ inverse[left])[:, 0]
        helps = parts > 1e-10
        rates: Floats = np.where(helps[:, :, None], price[left] / np.where(helps, parts, 1.0)[:, :, None], np.inf)
        first: Floats = rates[:, :, 0].min(axis=1)
        alike = rates[:, :, 0] <= (first + 1e-12 * (1.0 + np.abs(first)))[:, None]
        leaving = np.where(alike, rates[:, :, 1], np.inf).argmin(axis=1)
        at = np.arange(len(left))
        step = rates[at, leaving]
        stuck = ~np.isfinite(step[:, 0])
        possible[left[stuck]] = False
        if stuck.any():
            left, taken, new, parts = left[~stuck], taken[~stuck], new[~stuck], parts[~stuck]
            leaving, step, at = leaving[~stuck], step[~stuck], np.arange(len(left))
        pivot = parts[at, leaving]
        column = inverse[left, :, leaving] / pivot[:, None]
        changed = parts.copy()
        changed[at, leaving] -= 1.0
        inverse[left] -= column[:, :, None] * changed[:, None, :]
        price[left] -= step[:, None] * parts[:, :, None]
        price[left, leaving] = step
        edge[left, leaving] = most[left, taken]
        active[left, leaving] = new
    possible[left] = False
    z = np.zeros((poses, n))
    z[possible] = np.linalg.solve(active[possible], edge[possible][:, :, None])[:, :, 0]
    return z, possible
