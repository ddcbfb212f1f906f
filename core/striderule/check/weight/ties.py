"""What to tie and untie, plug and uncover, pose by pose: a foot is set down, laid flat, tied, and only then is the
other untied. A foot on its heel is not tied; one that rolls is tied through its toe or not at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...solve.plan import FootState, Plan
from ..feet import held
from .support import Flags

Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Ties:
    """P poses, L legs; what is to be done on the way into a pose, before its picture, in this order: uncover, (set the
    foot,) tie, untie, plug.

    tied (P, L) while the picture is taken. carried (P,): no foot is tied, so that a rig must carry. loose_move (P,): on
    the way into the pose there is a moment in which no foot is tied. all_tied (P,): every foot that stands is tied.
    """

    tied: Flags
    tie: Flags
    untie: Flags
    plug: Flags
    uncover: Flags
    carried: Flags
    loose_move: Flags
    all_tied: Flags

    @property
    def needs_rig(self) -> Flags:
        """(P,) only a rig keeps the puppet in this pose, or on the way into it."""
        return np.logical_or(self.carried, self.loose_move)


def ties_of(plan: Plan) -> Ties:
    """The ties of every pose. In pose 1 whatever can be tied is."""
    bound = np.array([leg.tie != "nothing" for leg in plan.shot.puppet.legs])
    down = plan.state != int(FootState.AIR)
    tied = np.logical_and(held(plan), bound)
    before, was_down = np.zeros_like(tied), np.zeros_like(down)
    before[1:], was_down[1:] = tied[:-1], down[:-1]
    # a foot that is tied in both poses but on another print was let go in between, when all others were tied
    moved = np.logical_and(_moved(plan), before)
    others = np.logical_and(np.logical_or(before, tied), ~moved)
    return Ties(
        tied=tied,
        tie=np.logical_and(tied, ~before | moved),
        untie=np.logical_and(before, ~tied | moved),
        plug=np.logical_and(bound, (was_down & ~down) | moved),
        uncover=np.logical_and(bound, (down & ~was_down) | moved),
        carried=~np.any(tied, axis=1),
        loose_move=np.logical_and(np.any(moved, axis=1), ~np.any(others, axis=1)),
        all_tied=np.logical_and(np.all(tied | ~down, axis=1), np.any(down, axis=1)),
    )


def _moved(plan: Plan) -> Flags:
    """(P, L) True where a foot stands on another print than in the pose before, as when it has no pose in the air."""
    print_of = np.full(plan.state.shape, -1)
    for number, stance in enumerate(plan.stances):
        print_of[max(stance.first, 0) : max(stance.last + 1, 0), stance.leg] = number
    moved = np.zeros(print_of.shape, dtype=bool)
    moved[1:] = (print_of[1:] != print_of[:-1]) & (print_of[1:] >= 0) & (print_of[:-1] >= 0)
    return moved
