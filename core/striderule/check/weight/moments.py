"""What gravity asks of every joint of a leg, as a linear function of what the floor pushes back with under its foot.

The floor pushes straight up, N newtons, at a place; N and its first moments X = N x and Y = N y say all of it. Of a
joint at J with the parts D between it and the floor the body's side presses with N less their weight:

    moment about a way u through J = u_y (X - N J_x - sum w (x - J_x)) - u_x (Y - N J_y - sum w (y - J_y))

With one foot down N is the whole weight at the centre of mass, and the moment is that of everything on the body's side.
Forces along the floor, which feet that pull at each other could add, are left out: the best share without them is on
the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ...solve.plan import FootState, Plan
from .centres import Parts

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

BALL_WAYS = 8
"""A ball joint holds alike in every direction. Where forces are sought its circle is a polygon inside it with twice as
many corners: at most 2 % on the safe side."""


@dataclass(frozen=True, eq=False)
class Joint:
    """One joint of a leg in P poses.

    place_mm (P, 3). axis (P, 3): of a hinge; None: a ball joint, which carries the full moment. beyond: indices of the
    parts between it and the floor. bears (P,): False where the floor itself carries what lies on the joint. held_nmm:
    what it holds, None where that was not measured. hock: of a knee that a rod ties to a hock, the other joint and how
    many degrees it turns back for each of the knee; what bends both holds their moments together.
    """

    leg: int
    name: str
    place_mm: Floats
    axis: Floats | None
    beyond: tuple[int, ...]
    bears: Flags
    held_nmm: float | None
    hock: tuple[Joint, float] | None = None

    def rows(self, parts: Parts) -> Floats:
        """(P, k, 4) factors of N, X, Y and 1: the moment about the hinge's axis (k = 1), or along and across of a ball
        joint (k = 2), N mm; places are counted from the puppet's centre of mass."""
        at = self.place_mm[:, :2] - parts.centre_mm[:, :2]
        index = list(self.beyond)
        away = parts.places_mm[:, index, :2] - self.place_mm[:, None, :2]
        own = np.einsum("k,pki->pi", parts.weight_n[index], away)
        if self.axis is None:
            x = np.broadcast_to((1.0, 0.0), (len(at), 2))
            y = np.broadcast_to((0.0, 1.0), (len(at), 2))
            ways = (x, y)
        else:
            ways = (self.axis[:, :2],)
        rows = np.zeros((len(at), len(ways), 4))
        for i, way in enumerate(ways):
            rows[:, i, 0] = way[:, 0] * at[:, 1] - way[:, 1] * at[:, 0]
            rows[:, i, 1], rows[:, i, 2] = way[:, 1], -way[:, 0]
            rows[:, i, 3] = way[:, 0] * own[:, 1] - way[:, 1] * own[:, 0]
        if self.hock is not None:
            other, ratio = self.hock
            rows -= ratio * other.rows(parts)
        rows[~self.bears] = 0.0
        return rows


def joints_of(plan: Plan, parts: Parts) -> tuple[Joint, ...]:
    """Every joint of every leg, each leg's from the hip down. A hip that was also pulled sideways counts as two hinges,
    else as a ball; the toe joint carries only while the foot rolls on its toe; a hock is part of its knee."""
    found: list[Joint] = []
    always = np.ones(plan.poses, dtype=bool)
    for index, leg in enumerate(plan.shot.puppet.legs):
        below = parts.of_leg(index, "shank", "cannon", "foot")
        whole = parts.of_leg(index, "thigh", "shank", "cannon", "foot")
        hinge = plan.thigh_axes[:, index, :, 1]
        two = leg.held_nmm("hip_out") is not None
        places = (
            ("hip", plan.hip_mm, hinge if two else None, whole, always),
            *((("hip_out", plan.hip_mm, plan.body_axes[:, :, 0], whole, always),) if two else ()),
            ("knee", plan.knee_mm, hinge, below, always),
            ("ankle", plan.ankle_mm, None, parts.of_leg(index, "foot"), always),
        )
        found += [
            Joint(index, name, at[:, index], axis, tuple(beyond), bears, leg.held_nmm(name))
            for name, at, axis, beyond, bears in places
        ]
        if leg.cannon_mm is not None:
            beyond = tuple(parts.of_leg(index, "cannon", "foot"))
            hock = Joint(index, "hock", plan.hock_mm[:, index], hinge, beyond, always, None)
            found = [replace(one, hock=(hock, leg.hock_ratio)) if (one.leg, one.name) == (index, "knee") else one
                     for one in found]  # fmt: skip
        if leg.toe_mm > 0:
            rolls = plan.state[:, index] == int(FootState.TOE)
            axis = plan.foot_axes[:, index, :, 1]
            found.append(Joint(index, "toe", plan.ball_mm[:, index], axis, (), rolls, leg.held_nmm("toe")))
    return tuple(found)


def of_push(rows: Floats, push: Floats) -> Floats:
    """(P,) moment of a joint, N mm, from its rows (P, k, 4) and what the floor pushes with (P, 3): N, X, Y."""
    every: Floats = np.einsum("pki,pi->pk", rows[..., :3], push) + rows[..., 3]
    return every[:, 0] if rows.shape[1] == 1 else np.sqrt((every * every).sum(axis=1))


def bounds_of(rows: Floats) -> tuple[Floats, float]:
    """(P, n, 4) rows whose moments are to stay within plus and minus what the joint holds times the factor, so that it
    holds in every direction."""
    if rows.shape[1] == 1:
        return rows, 1.0
    turn = np.pi * np.arange(BALL_WAYS) / BALL_WAYS
    ways = np.stack((np.cos(turn), np.sin(turn)), axis=1)
    return ways @ rows, float(np.cos(np.pi / (2 * BALL_WAYS)))
