"""How standing feet share a puppet's weight, and how much of it a rig must take.

With one foot down it carries everything. With more, how they share it cannot be told: the joints hold where they are
set, and any share that balances may be the true one. If some share leaves every joint under what it holds, friction
finds it (the static theorem of plastic limit analysis, as for frames with plastic hinges, from memory); so the best
share says whether a pose holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from .centres import Parts
from .least import least
from .moments import Joint, bounds_of, of_push
from .support import Flags, Floats, Soles, dot, groups_by, hull_margin, most_of

_LENGTH_MM = 50.0  # what unknown places are counted in, so that all unknowns are about 1


@dataclass(frozen=True, eq=False)
class Standing:
    """What is needed to tell how feet carry: P poses, L legs, J joints.

    rows: of every joint (P, k, 4). tie_mm (P, L, 2) where each sole is tied. pull_n (P, L) what its tie-down holds:
    0 = nothing ties it, infinite = not known.
    """

    parts: Parts
    soles: Soles
    joints: tuple[Joint, ...]
    rows: tuple[Floats, ...]
    tie_mm: Floats
    pull_n: Floats

    def held(self, legs: tuple[int, ...]) -> list[int]:
        """Joints of these legs whose hold was measured."""
        return [i for i, one in enumerate(self.joints) if one.leg in legs and one.held_nmm is not None]

    def tips_nmm(self, push: Floats) -> Floats:
        """(P, L, 4) moments of these pushes (P, L, 3) about every sole's edges, N mm; 0 where it does not tip."""
        over = dot(self.soles.ways, push[:, :, None, 1:]) - self._reach() * push[:, :, None, 0]
        return np.maximum(over, 0.0)

    def pull_needed_n(self, push: Floats) -> Floats:
        """(P, L) the least pull on each sole's tie-down under these pushes (P, L, 3): the moment about the edge that it
        would tip over, over the tie's distance from that edge. Infinite where the tie is not inside it."""
        tie = self.tie_mm - self.parts.centre_mm[:, None, :2]
        tips = self.tips_nmm(push)
        inside = self._reach() - dot(self.soles.ways, tie[:, :, None])
        pull: Floats = np.where(tips > 1e-9, tips / np.where(inside > 1e-9, inside, 1e-300), 0.0)
        worst = most_of(pull)
        return np.where(worst < 1e12, worst, np.inf)

    def _reach(self) -> Floats:
        """(P, L, 4) how far each sole's edges are from the puppet's centre of mass."""
        return self.soles.reach - dot(self.soles.ways, self.parts.centre_mm[:, None, None, :2])


@dataclass(frozen=True, eq=False)
class Shared:
    """push (P, L, 3): N, X, Y of every foot, places from the centre of mass, N and N mm. stands (P,): False where no
    share keeps the puppet from tipping over; its push is then what it would be if its feet were tied."""

    push: Floats
    stands: Flags


def moments_nmm(standing: Standing, push: Floats) -> Floats:
    """(P, J) what every joint carries, N mm: about a hinge's axis with its sign, of a ball joint how much."""
    each = [of_push(row, push[:, one.leg]) for one, row in zip(standing.joints, standing.rows, strict=True)]
    return np.stack(each, axis=1) if each else np.zeros((len(push), 0))


def shared(standing: Standing, down: Flags, lift_n: Floats, point_mm: Floats) -> Shared:
    """The share with the least worst ratio of carried to held. down (P, L): feet that carry. lift_n (P,): a rig that
    lifts so much at point_mm (P, 2)."""
    push = np.zeros((*down.shape, 3))
    stands = np.zeros(len(down), dtype=bool)
    for legs, poses in groups_by(down):
        program = _Program(standing, legs, poses, point_mm, lift_n[poses])
        push[_at(poses, legs)], stands[poses] = program.best_share()
    return Shared(push, stands)


def share_range(standing: Standing, down: Flags) -> Floats:
    """(P, L, 2) the least and the greatest share of the weight that each foot may have while the puppet balances."""
    found = np.zeros((*down.shape, 2))
    still = np.zeros(len(down))
    for legs, poses in groups_by(down):
        program = _Program(standing, legs, poses, np.zeros((len(down), 2)), still[poses])
        found[_at(poses, legs)] = program.share_range()
    return found


def least_pulls_n(standing: Standing, push: Floats) -> Floats:
    """(P, L) what tie-downs must pull at least: of one foot alone that under its push (P, L, 3); of several that all of
    them share evenly."""
    pull = np.zeros(push.shape[:2])
    for legs, poses in groups_by(standing.soles.down):
        if len(legs) > 1:
            program = _Program(standing, legs, poses, standing.tie_mm[:, 0], np.zeros(len(poses)))
            at = _at(poses, legs)
            whole = standing.parts.whole_n
            pull[at] = np.where(standing.pull_n[at] > 0, (program.least_pull() * whole)[:, None], 0.0)
    alone = standing.soles.down.sum(axis=1) == 1
    pull[alone] = standing.pull_needed_n(push)[alone]
    return pull


def lifts(standing: Standing, down: Flags, margin: float, point_mm: Floats, most: bool) -> tuple[Floats, Flags]:
    """The least (most: the greatest) lift (P,) at point_mm (P, 2), newtons, with which every measured joint of the feet
    that are down carries no more than it holds over the margin and the puppet does not tip; and whether there is any
    that is not more than the puppet weighs."""
    lift = np.zeros(len(down))
    possible = np.zeros(len(down), dtype=bool)
    for legs, poses in groups_by(down):
        program = _Program(standing, legs, poses, point_mm, None)
        lift[poses], possible[poses] = program.lift(margin, most)
    return lift, possible


class _Program:
    """The linear programs of poses in which the same feet are down. Unknowns: first a ratio or the rig's lift, then N,
    X, Y of each foot but the last, which has what is left. Forces in weights of the puppet, lengths in _LENGTH_MM."""

    def __init__(self, standing: Standing, legs: tuple[int, ...], poses: npt.NDArray[np.int64], point_mm: Floats,
                 lift_n: Floats | None) -> None:  # fmt: skip
        self._of, self._legs, self._poses = standing, legs, poses
        self._whole = standing.parts.whole_n
        count, feet = len(poses), len(legs)
        self._unknown = 1 + 3 * (feet - 1)
        point = (point_mm[poses] - standing.parts.centre_mm[poses, :2]) / _LENGTH_MM
        per_lift = np.concatenate((np.ones((count, 1)), point), axis=1)  # N, X, Y that a lift of 1 takes off the floor
        self._factors = np.zeros((feet, count, 3, self._unknown))
        self._given = np.zeros((feet, count, 3))
        for foot in range(feet - 1):
            own = np.eye(self._unknown)[1 + 3 * foot : 4 + 3 * foot]
            self._factors[foot] = own
            self._factors[-1] -= own
        self._given[-1, :, 0] = 1.0
        if lift_n is None:
            self._factors[-1, :, :, 0] = -per_lift
        else:
            self._given[-1] -= per_lift * (lift_n / self._whole)[:, None]
        self._scale = self._whole * np.array([1.0, _LENGTH_MM, _LENGTH_MM])

    def best_share(self) -> tuple[Floats, Flags]:
        """(p, feet, 3) pushes of the least worst ratio, N and N mm, and (p,) whether the puppet stands."""
        if len(self._legs) == 1:
            push = self._pushes(np.zeros((len(self._poses), self._unknown)))
            pull = self._of.pull_n[self._poses, self._legs[0]]
            stands = self._pulls(push)[:, 0] <= pull * (1 + 1e-9) + 1e-9
            return push, stands
        rows, most = self._joint_rows()
        count = len(self._poses)
        rows[:, :, 0] = -1.0
        cost = np.eye(self._unknown)[0]
        soles, edges = self._sole_rows(self._ties())
        z, stands = least(cost, np.concatenate((rows, soles), axis=1), np.concatenate((most, edges), axis=1))
        if not stands.all():
            falls = ~stands
            soles, edges = self._sole_rows(np.full((count, len(self._legs)), 2.0), least_mm=10.0)
            z[falls], held = least(cost, np.concatenate((rows, soles), axis=1)[falls],
                                   np.concatenate((most, edges), axis=1)[falls])  # fmt: skip
            even = np.tile(np.array([1.0 / len(self._legs), 0.0, 0.0]), len(self._legs) - 1)
            z[np.flatnonzero(falls)[~held], 1:] = even
        return self._pushes(z.reshape(count, -1)), stands

    def share_range(self) -> Floats:
        """(p, feet, 2) least and greatest N of each foot, as shares of the weight."""
        count, feet = len(self._poses), len(self._legs)
        if feet == 1:
            return np.ones((count, 1, 2))
        soles, edges = self._sole_rows(np.where(self._balanced[:, None], 0.0, self._ties()))
        found = np.full((count, feet, 2), np.nan)
        for foot in range(feet):
            for side, sign in ((0, -1.0), (1, 1.0)):
                # the first unknown stands for the share: it is pressed against N of the foot from one side
                extra = sign * self._factors[foot, :, 0].copy()
                extra[:, 0] = -sign
                limit = -sign * self._given[foot, :, 0]
                z, possible = least(-sign * np.eye(self._unknown)[0],
                                    np.concatenate((soles, -extra[:, None]), axis=1),
                                    np.concatenate((edges, -limit[:, None]), axis=1))  # fmt: skip
                found[possible, foot, side] = np.clip(z[possible, 0], 0.0, 1.0)
        return found

    def lift(self, margin: float, most: bool) -> tuple[Floats, Flags]:
        rows, limits = self._joint_rows()
        limits = limits + 1.0 / margin
        soles, edges = self._sole_rows(self._ties())
        whole = np.zeros((len(self._poses), 1, self._unknown))
        whole[:, :, 0] = 1.0  # never more than lifts the puppet
        rows = np.concatenate((rows, soles, whole), axis=1)
        limits = np.concatenate((limits, edges, np.ones((len(self._poses), 1))), axis=1)
        if self._unknown == 1:
            low, high, possible = _between(rows[:, :, 0], limits)
            return (high if most else low) * self._whole, possible
        cost = np.eye(self._unknown)[0] * (-1.0 if most else 1.0)
        if most:  # never negative there either
            rows = np.concatenate((rows, -whole), axis=1)
            limits = np.concatenate((limits, np.zeros((len(self._poses), 1))), axis=1)
        z, possible = least(cost, rows, limits)
        return z[:, 0] * self._whole, possible

    def _pushes(self, z: Floats) -> Floats:
        push = np.einsum("fpiu,pu->pfi", self._factors, z) + self._given.swapaxes(0, 1)
        if len(self._legs) > 1:
            push = np.where(np.abs(push) < 1e-12, 0.0, push)
        return push * self._scale

    @cached_property
    def _balanced(self) -> Flags:
        """(p,) the centre of mass is inside the area that the feet stand on."""
        corners = self._of.soles.corners[_at(self._poses, self._legs)].reshape(len(self._poses), -1, 2)
        return hull_margin(corners - self._of.parts.centre_mm[self._poses, None, :2]) >= 0

    def least_pull(self) -> Floats:
        """(p,) the least pull, in weights of the puppet, with which the ties of all feet alike keep it from tipping
        over; infinite where none does."""
        tips = np.flatnonzero(~self._balanced)
        pull = np.zeros(len(self._poses))
        if len(tips):
            feet = range(len(self._legs))
            rows, limits = zip(*(self._sole(foot) for foot in feet), strict=True)
            every = np.concatenate(rows, axis=1)[tips]
            every[:, :, 0] = -np.concatenate([self._inside(foot) for foot in feet], axis=1)[tips]
            z, possible = least(np.eye(self._unknown)[0], every, np.concatenate(limits, axis=1)[tips])
            pull[tips] = np.where(possible, z[:, 0], np.inf)
        return pull

    def _pulls(self, push: Floats) -> Floats:
        every = np.zeros((len(self._of.soles.down), self._of.soles.down.shape[1], 3))
        every[_at(self._poses, self._legs)] = push
        return self._of.pull_needed_n(every)[_at(self._poses, self._legs)]

    def _joint_rows(self) -> tuple[Floats, Floats]:
        """Rows (p, m, unknowns) and their limits (p, m): each measured joint's moment over what it holds, from both
        sides, of everything but the first unknown's own meaning; limits are of moments to stay at or below 0."""
        rows: list[Floats] = []
        limits: list[Floats] = []
        for i in self._of.held(self._legs):
            joint = self._of.joints[i]
            every, factor = bounds_of(self._of.rows[i][self._poses])
            every = every / ((joint.held_nmm or 1.0) * factor)
            foot = self._legs.index(joint.leg)
            push = every[..., :3] * self._scale
            row = np.einsum("pki,piu->pku", push, self._factors[foot])
            rest = np.einsum("pki,pi->pk", push, self._given[foot]) + every[..., 3]
            rows += [row, -row]
            limits += [-rest, rest]
        count = len(self._poses)
        if not rows:
            return np.zeros((count, 0, self._unknown)), np.zeros((count, 0))
        return np.concatenate(rows, axis=1), np.concatenate(limits, axis=1)

    def _ties(self) -> Floats:
        """(p, feet) what each foot's tie-down may pull, in weights of the puppet. One of unknown strength counts for no
        more than the puppet weighs where other feet stand too."""
        pull = self._of.pull_n[_at(self._poses, self._legs)] / self._whole
        return np.minimum(pull, 1e3 if len(self._legs) == 1 else 1.0)

    def _sole_rows(self, pull: Floats, least_mm: float = 0.0) -> tuple[Floats, Floats]:
        """Rows and limits that keep every foot from tipping over its sole's edges, its tie-down pulling no more than
        pull (p, feet). least_mm: take every tie to be so far inside its sole."""
        rows: list[Floats] = []
        limits: list[Floats] = []
        for foot in range(len(self._legs)):
            row, limit = self._sole(foot)
            rows.append(row)
            limits.append(limit + pull[:, foot, None] * np.maximum(self._inside(foot), least_mm / _LENGTH_MM))
        return np.concatenate(rows, axis=1), np.concatenate(limits, axis=1)

    def _reach(self, foot: int) -> tuple[Floats, Floats]:
        """(p, 4, 2) normals of a sole's edges and (p, 4) their distances from the centre of mass."""
        of, poses, leg = self._of, self._poses, self._legs[foot]
        ways = of.soles.ways[poses, leg]
        own = dot(ways, of.parts.centre_mm[poses, None, :2])
        return ways, (of.soles.reach[poses, leg] - own) / _LENGTH_MM

    def _sole(self, foot: int) -> tuple[Floats, Floats]:
        """Four rows and limits that keep what pushes a foot inside its sole."""
        ways, reach = self._reach(foot)
        of_push = np.concatenate((-reach[..., None], ways), axis=2)
        return of_push @ self._factors[foot], -(of_push @ self._given[foot][:, :, None])[:, :, 0]

    def _inside(self, foot: int) -> Floats:
        """(p, 4) distances of a foot's tie-down from its sole's edges; 0 for none, and where it is not inside them."""
        of, poses, leg = self._of, self._poses, self._legs[foot]
        ways, reach = self._reach(foot)
        tie = (of.tie_mm[poses, leg] - of.parts.centre_mm[poses, :2]) / _LENGTH_MM
        tied = of.pull_n[poses, leg] > 0
        return np.maximum(reach - dot(ways, tie[:, None]), 0.0) * tied[:, None]


def _at(poses: npt.NDArray[np.int64], legs: tuple[int, ...]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Index of these legs in these poses."""
    return poses[:, None], np.array(legs, dtype=np.int64)


def _between(rows: Floats, limits: Floats) -> tuple[Floats, Floats, Flags]:
    """Least and greatest x >= 0 (p,) with rows x <= limits (p, m), and whether there is any."""
    up, down = rows > 1e-12, rows < -1e-12
    safe = np.where(up | down, rows, 1.0)
    high: Floats = np.where(up, limits / safe, np.inf).min(axis=1)
    low: Floats = np.maximum(np.where(down, limits / safe, -np.inf).max(axis=1), 0.0)
    level = np.all(up | down | (limits >= -1e-9), axis=1)
    return low, high, np.logical_and(level, low <= high + 1e-12)
