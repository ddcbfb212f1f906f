"""One place for every footfall out of several, chosen for the whole walk at once: dynamic programming over pairs of
neighbouring footfalls (Bellman, Dynamic Programming, 1957)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Weights:
    """What a changed mm costs, each squared: of a step's length, of a stride's (two steps: in a walk on two legs the
    same foot's), of the step's width; of the toe's way where the foot is turned; and, so that a walk does not wander
    off, of a footfall's place."""

    step: float = 1.0
    stride: float = 0.5
    width: float = 0.5
    turn: float = 1.0
    place: float = 0.03


WEIGHTS = Weights()


def own_cost(moved: Floats, weights: Weights = WEIGHTS) -> Floats:
    """(C,) what candidates cost by themselves. moved (C, 3): mm ahead, mm to the left, mm that the toe turns."""
    place = moved[:, 0] ** 2 + moved[:, 1] ** 2
    return weights.place * place + weights.turn * moved[:, 2] ** 2


def pair_cost(before: Floats, after: Floats, weights: Weights = WEIGHTS) -> Floats:
    """(A, B) what a step from each of `before` (A, 3) to each of `after` (B, 3) costs."""
    change = after[None, :, :2] - before[:, None, :2]
    return weights.step * change[..., 0] ** 2 + weights.width * change[..., 1] ** 2


def stride_cost(first: Floats, third: Floats, weights: Weights = WEIGHTS) -> Floats:
    """(A, C) what two steps from each of `first` (A, 3) to each of `third` (C, 3) cost."""
    return weights.stride * (third[None, :, 0] - first[:, None, 0]) ** 2


def chosen(
    moved: Sequence[Floats], allowed: Sequence[Flags], also: Sequence[Floats], weights: Weights = WEIGHTS
) -> tuple[list[int], float] | None:
    """The candidate of every footfall (indices) that together cost least, and what they cost; None where none are
    allowed.

    moved: (C_k, 3) per footfall in order of landing. allowed: (C_(k-1), C_k) which pairs of neighbours may be, one
    fewer than footfalls. also: (C_k,) further costs. Of equal ones the first candidates are taken.
    """
    own = [own_cost(one, weights) + more for one, more in zip(moved, also, strict=True)]
    if len(moved) == 1:
        best = int(own[0].argmin())
        return [best], float(own[0][best])
    barred = [np.where(one, 0.0, np.inf) for one in allowed]
    # least[a, b]: of all beginnings that end in candidates a and b
    least: Floats = own[0][:, None] + own[1] + pair_cost(moved[0], moved[1], weights) + barred[0]
    back: list[Whole] = []
    for k in range(2, len(moved)):
        through = least[:, :, None] + stride_cost(moved[k - 2], moved[k], weights)[:, None, :]
        best = through.argmin(axis=0)
        back.append(best)
        least = np.take_along_axis(through, best[None], axis=0)[0]
        least = least + pair_cost(moved[k - 1], moved[k], weights) + own[k] + barred[k - 1]
    if not np.isfinite(least.min()):
        return None
    at = np.unravel_index(int(least.argmin()), least.shape)
    path = [int(at[1]), int(at[0])]
    for best in reversed(back):
        path.append(int(best[path[-1], path[-2]]))
    return path[::-1], float(least.min())


def cost_of(moved: Sequence[Floats], path: Sequence[int], weights: Weights = WEIGHTS) -> float:
    """What a choice costs, whether it is allowed or not."""
    rows = [one[k : k + 1] for one, k in zip(moved, path, strict=True)]
    total = sum(float(own_cost(one, weights)[0]) for one in rows)
    total += sum(float(pair_cost(a, b, weights)[0, 0]) for a, b in pairwise(rows))
    return total + sum(float(stride_cost(a, c, weights)[0, 0]) for a, c in zip(rows, rows[2:], strict=False))
