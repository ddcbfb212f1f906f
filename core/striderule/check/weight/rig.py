"""What a rig has to lift: the least in every pose, before a foot may be untied, and one value a step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...model.weight import GRAVITY, Rig
from ...solve.plan import FootState, Plan
from .sharing import Standing, lifts, moments_nmm, shared
from .support import Flags, Floats

HAND_MM = 0.5
"""The rig's places are rounded to this; its moves are their differences, so that roundings never add up."""


@dataclass(frozen=True)
class StepLift:
    """One lift for all poses of a step (first, last: from 1), grams: 0 = none is needed, None = no one value serves."""

    step: int
    first: int
    last: int
    grams: float | None


@dataclass(frozen=True, eq=False)
class Lift:
    """P poses. point_mm (P, 3) where the rig holds; moves_mm (P, 3) from the pose before: along, across, up.

    least_g (P,): the least that it must lift in the pose; helps (P,): False where no lift there brings every joint
    under what it may carry. untie_g (P,): before a foot of this pose may be let go for the next one, where the
    others would not hold as they stand;
    untie_helps, untie_ratio (P,) of that moment. steps: one constant value for each step.
    """

    name: str
    margin: float
    point_mm: Floats
    moves_mm: Floats
    least_g: Floats
    helps: Flags
    untie_g: Floats
    untie_helps: Flags
    untie_ratio: Floats
    steps: tuple[StepLift, ...]

    @property
    def needed(self) -> Flags:
        """(P,) the rig must carry in this pose."""
        return np.logical_or(self.least_g > 0, ~self.helps)


def grams_of(newtons: Floats) -> Floats:
    """The mass that weighs so much."""
    return newtons * (1000.0 / GRAVITY)


def rig_of(plan: Plan) -> Rig:
    """The shot's rig; one that holds the reference point, and is not there, where the shot has none."""
    return plan.shot.rig or Rig()


def rig_point_mm(plan: Plan) -> Floats:
    """(P, 3) where the rig holds the puppet."""
    rig = rig_of(plan)
    if rig.point_mm is None:
        return plan.reference_mm
    return plan.on_part(rig.part, np.array(rig.point_mm))


def rig_point_name(plan: Plan) -> str:
    rig, body = rig_of(plan), plan.shot.puppet.body
    if rig.point_name:
        return rig.point_name
    return body.reference_name if rig.point_mm is None else "rig point"


def worst_ratio(standing: Standing, moments: Floats, down: Flags | None = None) -> Floats:
    """(P,) the greatest of carried over held in these moments (P, J); 0 where nothing was measured. down (P, L): only
    joints of legs that are down."""
    worst = np.zeros(len(moments))
    for i, joint in enumerate(standing.joints):
        if joint.held_nmm is not None:
            ratio = np.abs(moments[:, i]) / joint.held_nmm
            worst = np.maximum(worst, ratio if down is None else ratio * down[:, joint.leg])
    return worst


def lift_of(plan: Plan, standing: Standing, worst: Floats, stands: Flags) -> Lift:
    """worst (P,): the worst ratio of the legs that stand, without a rig; stands (P,): False where the puppet falls."""
    rig, point = rig_of(plan), rig_point_mm(plan)
    at, down = point[:, :2], standing.soles.down
    strained = np.logical_or(worst > 1.0 / rig.margin + 1e-9, ~stands)
    least, helps = _least(standing, down, strained, rig.margin, at)
    free = _next_free(plan)
    stays = np.logical_and(down, ~free)
    asked = np.any(free, axis=1) & np.any(stays & (plan.state != int(FootState.HEEL)), axis=1)
    without = np.logical_and(stays, asked[:, None])
    share = shared(standing, without, np.zeros(plan.poses), at)
    ratio = worst_ratio(standing, moments_nmm(standing, share.push), without)
    loose = np.logical_and(asked, np.logical_or(ratio > 1.0 + 1e-9, ~share.stands))
    untie, untie_helps = _least(standing, without, loose, rig.margin, at)
    steps = _steps(plan, standing, rig.margin, at, np.maximum(least, untie), (down, helps), (without, untie_helps))
    rounded = np.round(point / HAND_MM) * HAND_MM
    return Lift(
        name=rig_point_name(plan),
        margin=rig.margin,
        point_mm=point,
        moves_mm=np.diff(rounded, axis=0, prepend=rounded[:1]),
        least_g=grams_of(least),
        helps=helps,
        untie_g=grams_of(untie),
        untie_helps=untie_helps,
        untie_ratio=ratio,
        steps=steps,
    )


def _least(standing: Standing, down: Flags, asked: Flags, margin: float, at: Floats) -> tuple[Floats, Flags]:
    """The least lift (P,) of the poses that ask for one, and where there is one; elsewhere 0, and True."""
    lift, possible = lifts(standing, np.logical_and(down, asked[:, None]), margin, at, most=False)
    return lift, np.logical_or(possible, ~asked)


def _next_free(plan: Plan) -> Flags:
    """(P, L) feet that are down and in the air in the next pose."""
    down = plan.state != int(FootState.AIR)
    free = np.zeros_like(down)
    free[:-1] = down[:-1] & ~down[1:]
    return free


def _steps(plan: Plan, standing: Standing, margin: float, at: Floats, least: Floats, *cases: tuple[Flags, Flags],
           ) -> tuple[StepLift, ...]:  # fmt: skip
    """One value a step: the greatest of its least lifts, where no pose of the step is lifted too much by it. cases:
    feet that carry, and the poses in which a rig can help at all."""
    of_step: npt.NDArray[np.int64] = plan.step
    numbers = np.unique(of_step)
    needed = np.array([least[of_step == one].max() for one in numbers.tolist()])
    poses = np.isin(of_step, numbers[needed > 0])
    most = np.full(plan.poses, np.inf)
    can = np.ones(plan.poses, dtype=bool)
    for down, helps in cases:
        asked = np.logical_and(down, (poses & helps)[:, None])
        lift, possible = lifts(standing, asked, margin, at, most=True)
        here = np.any(asked, axis=1)
        most = np.where(here & possible, np.minimum(most, lift), most)
        can &= helps & (possible | ~here)
    found: list[StepLift] = []
    for one, newtons in zip(numbers.tolist(), needed.tolist(), strict=True):
        own = np.flatnonzero(of_step == one)
        serves = bool(can[own].all()) and newtons <= float(most[own].min()) * (1 + 1e-9)
        grams = newtons * 1000.0 / GRAVITY
        found.append(StepLift(one, int(own[0]) + 1, int(own[-1]) + 1, grams if serves else None))
    return tuple(found)
