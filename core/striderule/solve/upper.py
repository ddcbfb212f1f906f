"""Chest and head: what a walk asks of them, what waist and neck can take of it, and where they are then."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ..model.fields import Pair
from ..model.puppet import Body
from .curves import monotone_cubic
from .rotations import angles_from_axes, on_axes, trunk_axes
from .timing import Steps

Floats = npt.NDArray[np.float64]
Limits = tuple[Pair | None, Pair | None, Pair | None]


@dataclass(frozen=True, eq=False)
class Asked:
    """What a walk asks of chest and head in every pose (P,): the chest turned against the pelvis as a share of its
    turn; how level it is kept (0 = it turns, 1 = level and steady); the share of the chest's turning that the head goes
    along with, and its nod, down +. None: nothing of it in any pose."""

    counter_turn: Floats
    level: Floats | None = None
    follows: Floats | None = None
    nod_deg: Floats | None = None
    chest_deg: Floats | None = None
    """(P, 3) of a chest that carries legs, as these ask for it: its yaw, pitch, roll on the stage."""


def asked_of(steps: Steps, step: npt.NDArray[np.int64]) -> Asked:
    """What the steps ask. step (P,): index of each pose's. A change from step to step is spread over a step."""
    at = np.arange(len(step), dtype=float)

    def through(values: list[float]) -> Floats | None:
        each = np.array(values)[steps.kind]
        return np.interp(at, steps.start, each) if each.any() else None

    nods = np.array([one.head_nod_deg for one in steps.kinds])[steps.kind]
    return Asked(
        counter_turn=steps.chest_counter_turn[step],
        level=through([float(one.top == "level") for one in steps.kinds]),
        follows=through([one.head_follows for one in steps.kinds]),
        nod_deg=_nods(steps, nods, at) if nods.any() else None,
    )


def _nods(steps: Steps, nods: Floats, at: Floats) -> Floats:
    """(P,) the head is down as the hips are lowest, up as they are highest."""
    times = np.stack((steps.start + steps.down, steps.start + steps.up), axis=1).astype(float)
    values = np.stack((nods, -nods), axis=1)
    keep = (times < steps.land[:, None]) & (times > np.column_stack((steps.start, times[:, 0])))
    times, values = times[keep], values[keep]
    if len(times) < 2:
        return np.full(len(at), values[0] if len(values) else 0.0)
    return monotone_cubic(times, values, np.clip(at, times[0], times[-1]))


@dataclass(frozen=True, eq=False)
class Upper:
    """Chest and head of P poses on a given body: places (P, 3) in mm, axes (P, 3, 3) with columns = turned axes, angles
    (P, 3) yaw, pitch, roll on the stage or turn, lean, tilt of a joint, in degrees, signs of the body's.

    All of it is worked out when first asked for.
    """

    body: Body
    body_mm: Floats
    body_deg: Floats
    body_axes: Floats
    heading_deg: Floats
    asked: Asked

    @cached_property
    def chest_asked_deg(self) -> Floats:
        """(P, 3) the chest as the walk wants it: it turns against the pelvis, leans with it, stays upright sideways;
        kept level it looks along the track, upright."""
        if self.asked.chest_deg is not None:
            return self.asked.chest_deg
        turned = self.heading_deg - self.asked.counter_turn * (self.body_deg[:, 0] - self.heading_deg)
        lean = self.body_deg[:, 1]
        level = self.asked.level
        if level is not None:
            turned = np.where(level < 1.0, turned + level * (self.heading_deg - turned), self.heading_deg)
            lean = (1.0 - level) * lean
        return np.stack((turned, lean, np.zeros(len(lean))), axis=-1)

    @cached_property
    def _chest(self) -> tuple[Floats, Floats, Floats]:
        """Chest angles, and the waist's as asked and as taken."""
        return _jointed(self.body_axes, self.chest_asked_deg, self.body.limits_deg("waist"))

    @property
    def chest_deg(self) -> Floats:
        """(P, 3) the chest's own yaw, pitch, roll on the stage."""
        return self._chest[0] if any(self.body.limits_deg("waist")) else self.chest_asked_deg

    @property
    def waist_asked_deg(self) -> Floats:
        """(P, 3) turn, lean, tilt of the chest against the body that the walk asks for."""
        return self._chest[1]

    @property
    def waist_deg(self) -> Floats:
        """(P, 3) turn, lean, tilt of the chest against the body, inside the waist's limits."""
        return self._chest[2]

    @cached_property
    def chest_axes(self) -> Floats:
        """(P, 3, 3) chest axes."""
        return trunk_axes(*np.radians(self.chest_deg).T)

    @cached_property
    def waist_mm(self) -> Floats:
        """(P, 3) where the chest turns on the body."""
        return self.body_mm + self.body_axes @ np.array(self.body.waist_mm)

    @property
    def chest_frame(self) -> tuple[Floats, Floats]:
        """Where the body's centre would be if it hung on the chest (P, 3), and the chest's axes: what chest legs are
        carried by."""
        return self.waist_mm - on_axes(self.chest_axes, np.array(self.body.waist_mm)), self.chest_axes

    @cached_property
    def head_asked_deg(self) -> Floats:
        """(P, 3) the head as the walk wants it: it looks along the track, level, but for its share of the chest's
        turning and its nod."""
        level = np.zeros(len(self.heading_deg))
        steady = np.stack((self.heading_deg, level, level), axis=-1)
        follows, nod = self.asked.follows, self.asked.nod_deg
        if follows is not None:
            steady = steady + follows[:, None] * (self.chest_deg - steady)
        if nod is not None:
            steady = steady + np.stack((level, nod, level), axis=-1)
        return steady

    @cached_property
    def _head(self) -> tuple[Floats, Floats, Floats]:
        return _jointed(self.chest_axes, self.head_asked_deg, self.body.limits_deg("neck"))

    @property
    def head_deg(self) -> Floats:
        """(P, 3) the head's own yaw, pitch, roll on the stage."""
        return self._head[0] if any(self.body.limits_deg("neck")) else self.head_asked_deg

    @property
    def neck_asked_deg(self) -> Floats:
        """(P, 3) turn, lean, tilt of the head against the chest that the walk asks for."""
        return self._head[1]

    @property
    def neck_deg(self) -> Floats:
        """(P, 3) turn, lean, tilt of the head against the chest, inside the neck's limits."""
        return self._head[2]

    @cached_property
    def head_axes(self) -> Floats:
        """(P, 3, 3) head axes."""
        return trunk_axes(*np.radians(self.head_deg).T)

    @cached_property
    def neck_mm(self) -> Floats:
        """(P, 3) where the head turns on the chest."""
        away = np.array(self.body.neck_mm) - np.array(self.body.waist_mm)
        return self.waist_mm + on_axes(self.chest_axes, away)


def _jointed(carrier: Floats, asked_deg: Floats, limits: Limits) -> tuple[Floats, Floats, Floats]:
    """A part that turns on a carrier (P, 3, 3): its angles on the stage, its joint's as asked and inside the limits.

    Where the limits allow what is asked, the part is exactly as asked; else the joint is at its stop and the part takes
    what is left of the carrier's turning.
    """
    wanted = carrier.swapaxes(-1, -2) @ trunk_axes(*np.radians(asked_deg).T)
    joint = np.degrees(angles_from_axes(wanted))
    taken = joint.copy()
    for i, limit in enumerate(limits):
        if limit is not None:
            taken[:, i] = np.clip(joint[:, i], *limit)
    beyond = (taken != joint).any(axis=1)
    if not beyond.any():
        return asked_deg, joint, joint
    had = np.degrees(angles_from_axes(carrier[beyond] @ trunk_axes(*np.radians(taken[beyond]).T)))
    had[:, 0] += 360.0 * np.round((asked_deg[beyond, 0] - had[:, 0]) / 360.0)
    angles = asked_deg.copy()
    angles[beyond] = had
    return angles, joint, taken
