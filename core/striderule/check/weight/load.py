"""Plan -> Weight: what every joint and tie-down of a puppet carries in every pose, and what a rig must take of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np

from ...model.weight import GRAVITY
from ...solve.plan import Plan
from .centres import Parts, parts_of
from .moments import Joint, joints_of
from .rig import Lift, lift_of, rig_of, rig_point_mm, worst_ratio
from .sharing import Standing, least_pulls_n, moments_nmm, share_range, shared
from .support import Flags, Floats, Soles, margin_mm, most_of, soles_of
from .ties import Ties, ties_of

CAUTION = (
    "These are estimates for light table-top puppets. Fix rigs so that nothing can fall on a person; follow your "
    "workshop's rules and local codes for drilling, hot lights, mains and anything overhead."
)
"""Said wherever a load is shown."""


@dataclass(frozen=True, eq=False)
class Weight:
    """P poses, L legs, J joints of `joints` (each leg's from the hip down).

    margin_mm (P,): the centre of mass inside the area of support (outside: -). push (P, L, 3): what the floor pushes
    each foot up with, N, and its moments about the centre of mass along and across, N mm; with more than one foot down
    the best share. stands (P,): False where nothing keeps the puppet from tipping over. torque_nmm (P, J): what each
    joint carries; ratio (P, J): over what it holds, NaN where that was not measured. worst (P,): the greatest of those.
    tip_nmm (P, L): the moment with which a foot that stands alone would tip over its sole's edge. pull_n (P, L): the
    least pull on its tie-down that keeps the puppet up; of several feet, what all their ties share evenly.
    """

    plan: Plan
    parts: Parts
    soles: Soles
    ties: Ties
    standing: Standing
    margin_mm: Floats
    push: Floats
    stands: Flags
    torque_nmm: Floats
    ratio: Floats
    worst: Floats
    tip_nmm: Floats
    pull_n: Floats

    @property
    def joints(self) -> tuple[Joint, ...]:
        return self.standing.joints

    @property
    def measured(self) -> bool:
        """True where any joint's hold is known."""
        return any(one.held_nmm is not None for one in self.joints)

    @cached_property
    def lift(self) -> Lift:
        """What a rig must lift, pose by pose."""
        own = worst_ratio(self.standing, self.torque_nmm, self.soles.down)
        return lift_of(self.plan, self.standing, own, self.stands)

    @cached_property
    def share_range(self) -> Floats:
        """(P, L, 2) the least and the greatest share of the weight that each foot may have while the puppet
        balances."""
        return share_range(self.standing, self.soles.down)

    @cached_property
    def safe_to_leave(self) -> Flags:
        """(P,) every standing foot is tied, and either nothing is carried beyond its margin or a rig carries it."""
        rig = rig_of(self.plan)
        held = np.logical_and(self.worst <= 1.0 / rig.margin + 1e-9, self.stands)
        if rig.carries:
            held = np.logical_or(held, self.lift.helps)
        return np.logical_and(self.ties.all_tied, held)

    @cached_property
    def level(self) -> Floats:
        """(P,) 0 = holds with its margin, 1 = holds with less, 2 = a joint carries more than it holds, or it falls."""
        over = np.logical_or(self.worst > 1.0 + 1e-9, ~self.stands)
        near = self.worst > 1.0 / rig_of(self.plan).margin + 1e-9
        level: Floats = np.where(over, 2.0, np.where(near, 1.0, 0.0))
        return level


_WEIGHED: WeakKeyDictionary[Plan, Weight | None] = WeakKeyDictionary()


def weigh(plan: Plan) -> Weight | None:
    """The weight of a plan; None where a part's mass is not known. Worked out once for each plan."""
    if plan not in _WEIGHED:
        parts = parts_of(plan)
        _WEIGHED[plan] = None if parts is None else _weight(plan, parts)
    return _WEIGHED[plan]


def standing_of(plan: Plan, parts: Parts, ties: Ties) -> Standing:
    """What the shares are worked out from."""
    joints = joints_of(plan, parts)
    holds = np.array(
        [np.inf if leg.tie_holds_g is None else leg.tie_holds_g / 1000 * GRAVITY for leg in plan.shot.puppet.legs]
    )
    pull: Floats = np.where(ties.tied, holds, 0.0)
    rows = tuple(joint.rows(parts) for joint in joints)
    return Standing(parts, soles_of(plan), joints, rows, plan.tie_mm[..., :2], pull)


def _weight(plan: Plan, parts: Parts) -> Weight:
    ties = ties_of(plan)
    standing = standing_of(plan, parts, ties)
    share = shared(standing, standing.soles.down, np.zeros(plan.poses), rig_point_mm(plan)[:, :2])
    torque = moments_nmm(standing, share.push)
    alone = (standing.soles.down.sum(axis=1) == 1)[:, None]
    held = np.array([np.nan if one.held_nmm is None else one.held_nmm for one in standing.joints])
    return Weight(
        plan=plan,
        parts=parts,
        soles=standing.soles,
        ties=ties,
        standing=standing,
        margin_mm=margin_mm(standing.soles, parts.centre_mm[:, :2]),
        push=share.push,
        stands=share.stands,
        torque_nmm=torque,
        ratio=np.abs(torque) / held,
        worst=worst_ratio(standing, torque),
        tip_nmm=most_of(standing.tips_nmm(share.push)) * alone,
        pull_n=least_pulls_n(standing, share.push),
    )
