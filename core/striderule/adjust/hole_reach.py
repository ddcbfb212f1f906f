"""Whether legs still do what they did once feet are over holes: new trouble by pose, and the steps that bring it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..check.feet import FLOOR_MM, GAP_MM, sole_gaps
from ..check.limits import HAND_DEG, HAND_MM, LEAST_GAP_MM, excesses
from ..solve.plan import Plan
from .hole_feet import Candidates, Feet

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int64]

_MORE = 0.05
"""So much more of a trouble, mm or degrees, is none of ours: arithmetic, or what was there before."""


def trouble_by_pose(plan: Plan) -> Floats:
    """(5, P) what makes poses impossible, each beyond what is allowed: reach, hip height, joints, floor; and soles that
    are nearer to each other than they should be."""
    gap = plan.gap_mm.max(axis=1)
    band = plan.band
    hips = np.maximum(plan.hip_line_mm - band.highest_mm, band.lowest_mm - plan.hip_line_mm)
    joints = np.max([one.amount_deg for one in excesses(plan)], axis=0)
    soles = GAP_MM - np.min([one for _, _, one in sole_gaps(plan)], axis=0)
    floor = -plan.over_floor_mm.min(axis=(1, 2))
    amounts = (gap - LEAST_GAP_MM, np.where(gap > LEAST_GAP_MM, 0.0, hips - HAND_MM), joints - HAND_DEG, soles,
               floor - FLOOR_MM)  # fmt: skip
    return np.maximum(np.array(amounts), 0.0)


def new_trouble(before: Floats, plan: Plan) -> Floats:
    """(P,) how much more of its worst trouble each pose has than the walk had anywhere before."""
    more = trouble_by_pose(plan) - before.max(axis=1, keepdims=True) - _MORE
    return np.maximum(more.max(axis=0), 0.0)


@dataclass
class Bars:
    """Steps of one group that may not be taken: at footfall k those whose change goes as far as one that failed, or
    further; and single pairs of candidates by place and turn."""

    beyond: dict[int, list[tuple[Floats, float]]]
    pairs: dict[int, set[tuple[bytes, bytes]]]

    @staticmethod
    def none() -> Bars:
        return Bars({}, {})

    def fine(self, k: int, before: Candidates, after: Candidates) -> Flags:
        """(A, B) True where the step from footfall k - 1 to k is not barred."""
        mask = np.ones((len(before.turn_deg), len(after.turn_deg)), dtype=bool)
        change = after.moved[None, :, :2] - before.moved[:, None, :2]
        for direction, amount in self.beyond.get(k, ()):
            mask &= change @ direction < amount - 1e-6
        for a, b in self.pairs.get(k, ()):
            rows = [i for i in range(mask.shape[0]) if _mark(before, i) == a]
            columns = [i for i in range(mask.shape[1]) if _mark(after, i) == b]
            mask[np.ix_(rows, columns)] = False
        return mask

    def bar(self, k: int, before: Candidates, a: int, after: Candidates, b: int) -> None:
        """Let a step not be taken again, nor any that changes it further the same way."""
        change = after.moved[b, :2] - before.moved[a, :2]
        size = float(np.hypot(*change))
        if size > 0.5:
            self.beyond.setdefault(k, []).append((change / size, size))
        else:
            self.pairs.setdefault(k, set()).add((_mark(before, a), _mark(after, b)))


def _mark(one: Candidates, index: int) -> bytes:
    return one.place_mm[index].tobytes() + one.turn_deg[index].tobytes()


def steps_to_bar(bad: Floats, groups: list[tuple[Feet, Floats]]) -> set[tuple[int, int]]:
    """(group, footfall k) of the step from k - 1 to k that is to blame for each run of bad poses (P,): of those that
    stand or go then the one that was changed most. groups: feet, and how far each was moved (F, 2)."""
    found: set[tuple[int, int]] = set()
    edges = np.flatnonzero(np.diff(np.concatenate(([False], bad > 0, [False])).astype(np.int8))).reshape(-1, 2)
    for first, end in edges.tolist():
        pose = first + int(bad[first:end].argmax())
        blamed: list[tuple[float, int, int]] = []
        for g, (feet, moved) in enumerate(groups):
            landed = int(np.searchsorted(feet.first, pose, side="right")) - 1
            blamed += [
                (float(np.hypot(*(moved[k] - moved[k - 1]))), g, k)
                for k in (landed, landed + 1)
                if 1 <= k < len(moved) and not feet.pinned[k - 1 : k + 1].all()
            ]
        if blamed:
            _, g, k = max(blamed, key=lambda one: (round(one[0], 6), -one[1], -one[2]))
            found.add((g, k))
    return found
