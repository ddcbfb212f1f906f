"""The trunk: its travel, the hip line's height, sway, turn, drop and lean, and the chest that turns against the
pelvis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from ..model.stage import Stage
from .curves import monotone_cubics
from .footfalls import Footfalls, hip_centre, sides
from .rotations import on_axes, trunk_axes
from .timing import Steps

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

DROP_AT, DROP_GONE = 0.2, 0.75
"""Shares of a step at which the free side hangs lowest and is level again (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Trunk:
    """Per pose: angles (P, 3) yaw, pitch, roll in radians, places (P, 3), axes (P, 3, 3), hip line (P,)."""

    body_mm: Floats
    body_rad: Floats
    body_axes: Floats
    reference_mm: Floats
    hip_line_mm: Floats


def trunk_of(steps: Steps, footfalls: Footfalls, puppet: Puppet, stage: Stage, poses: int) -> Trunk:
    """The trunk of every pose. The reference point moves evenly along; height and sway are the hip line's."""
    at = np.arange(poses, dtype=float)
    inside = slice(steps.before - 1, len(steps.leg) - steps.legs)
    now = np.searchsorted(steps.start, np.arange(poses), side="right") - 1
    others = _others(steps, footfalls, stage)
    yaw, roll, height, quarter = monotone_cubics(
        (
            _turn(steps, inside, puppet),
            _drop(steps, inside, puppet),
            _hip_line(steps, inside),
            _keys(steps, inside, (steps.start, np.zeros(len(others))), (steps.start + steps.passing, np.sign(others))),
        ),
        at,
    )
    # one wave a stride toward the feet that stand: greatest at passing, where it dwells, 0 at contact
    sway = steps.sway[now] * np.abs(others)[now] * np.sin(0.5 * np.pi * quarter)
    body_rad = np.empty((poses, 3))
    body_rad[:, 0], body_rad[:, 1], body_rad[:, 2] = yaw, np.interp(at, steps.start, steps.lean_rad), roll
    axes = trunk_axes(body_rad[:, 0], body_rad[:, 1], body_rad[:, 2])
    centre = on_axes(axes, hip_centre(puppet))
    reference = on_axes(axes, np.array(puppet.body.reference_mm))
    reference_along = stage.start_mm[0] + np.interp(at, steps.start, footfalls.reached_mm)
    floor = footfalls.place_mm[2, now]
    body = np.empty((poses, 3))
    body[:, 0] = reference_along - reference[:, 0]
    body[:, 1] = stage.start_mm[1] + sway - centre[:, 1]
    body[:, 2] = floor + height - centre[:, 2]
    return Trunk(body, body_rad, axes, body + reference, height)


def _keys(steps: Steps, inside: slice, *keys: tuple[npt.NDArray[Any], Floats]) -> tuple[Floats, Floats]:
    """Times and values (K,), rising, of keys that every step has; a key that is not later than the one before it, or
    not before the next contact, is left out (very short steps)."""
    land = steps.land[inside]
    times, values = np.empty((len(land), len(keys))), np.empty((len(land), len(keys)))
    for i, (time, value) in enumerate(keys):
        times[:, i], values[:, i] = time[inside], value[inside]
    if (times[:, 1:] > times[:, :-1]).all() and (times[:, -1] < land).all():
        return times.ravel(), values.ravel()
    keep = times < land[:, None]
    keep[:, 1:-1] &= times[:, 1:-1] < times[:, 2:]
    keep[:, 1:] &= times[:, 1:] > times[:, :1]
    return times[keep], values[keep]


def _hip_line(steps: Steps, inside: slice) -> tuple[Floats, Floats]:
    """Keys of the hip line: one bottom and one top a step, at its down and up poses."""
    start = steps.start
    return _keys(steps, inside, (start, steps.hip_contact_mm), (start + steps.down, steps.hip_down_mm),
                 (start + steps.passing, steps.hip_passing_mm), (start + steps.up, steps.hip_up_mm))  # fmt: skip


def _others(steps: Steps, footfalls: Footfalls, stage: Stage) -> Floats:
    """(E,) mean place across, from the middle of the track, of the feet that stand while a step's foot swings."""
    place = footfalls.place_mm[1] - stage.start_mm[1]
    step = np.arange(len(place))
    total = place[np.maximum(step - 1, 0)]
    for back in range(2, steps.legs):
        total = total + place[np.maximum(step - back, 0)]
    return total / (steps.legs - 1)


def _turn(steps: Steps, inside: slice, puppet: Puppet) -> tuple[Floats, Floats]:
    """Keys of the pelvis yaw: at every contact the side of the foot that just landed is forward."""
    landed = np.empty(len(steps.leg))
    landed[1:] = sides(puppet)[steps.leg[:-1]]
    landed[0] = 0.0
    return _keys(steps, inside, (steps.start, -landed * steps.turn_rad))


def _drop(steps: Steps, inside: slice, puppet: Puppet) -> tuple[Floats, Floats]:
    """Keys of the body roll: the side of the free leg drops early in its swing and is level again before it lands."""
    side = sides(puppet)[steps.leg]
    start, n = steps.start, steps.poses
    level = np.zeros(len(start))
    return _keys(steps, inside, (start, level), (start + DROP_AT * n, -side * steps.drop_rad),
                 (start + DROP_GONE * n, level))  # fmt: skip
