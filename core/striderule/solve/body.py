"""The trunk: its travel, the hip line's height, sway, turn, drop and lean, and the chest that turns against the
pelvis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from ..model.stage import Stage
from .curves import monotone_cubic
from .footfalls import Footfalls, hip_centre, sides
from .rotations import trunk_axes
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
    body_rad = np.stack(
        (
            _turn(steps, at, inside, puppet),
            np.interp(at, steps.start, steps.lean_rad),
            _drop(steps, at, inside, puppet),
        ),
        axis=-1,
    )
    axes = trunk_axes(body_rad[:, 0], body_rad[:, 1], body_rad[:, 2])
    height = _hip_line(steps, at, inside)
    centre = axes @ hip_centre(puppet)
    reference = axes @ np.array(puppet.body.reference_mm)
    reference_along = stage.start_mm[0] + np.interp(at, steps.start, footfalls.reached_mm)
    floor = footfalls.place_mm[2, now]
    body = np.stack(
        (
            reference_along - reference[:, 0],
            stage.start_mm[1] + _sway(steps, footfalls, at, inside, now, stage) - centre[:, 1],
            floor + height - centre[:, 2],
        ),
        axis=-1,
    )
    return Trunk(body, body_rad, axes, body + reference, height)


def _through(steps: Steps, at: Floats, inside: slice, *keys: tuple[npt.NDArray[Any], Floats]) -> Floats:
    """The smooth curve through (times, values) keys of every step inside; a key that is not later than the one
    before it,
    or not before the next contact, is left out (very short steps)."""
    times = np.stack([key[0][inside] for key in keys], axis=-1).astype(float)
    values = np.stack([key[1][inside] for key in keys], axis=-1)
    keep = times < steps.land[inside][:, None]
    keep[:, 1:-1] &= times[:, 1:-1] < times[:, 2:]
    keep[:, 1:] &= times[:, 1:] > times[:, :1]
    return monotone_cubic(times[keep], values[keep], at)


def _hip_line(steps: Steps, at: Floats, inside: slice) -> Floats:
    """One bottom and one top a step, at its down and up poses."""
    start = steps.start
    return _through(
        steps,
        at,
        inside,
        (start, steps.hip_contact_mm),
        (start + steps.down, steps.hip_down_mm),
        (start + steps.passing, steps.hip_passing_mm),
        (start + steps.up, steps.hip_up_mm),
    )


def _sway(steps: Steps, footfalls: Footfalls, at: Floats, inside: slice, now: Whole, stage: Stage) -> Floats:
    """One wave a stride toward the feet that stand: greatest at passing, where it dwells, 0 at contact."""
    place = footfalls.place_mm[1] - stage.start_mm[1]
    step = np.arange(len(place))
    others = np.mean([place[np.maximum(step - back, 0)] for back in range(1, steps.legs)], axis=0)
    toward = np.sign(others)
    quarter = _through(steps, at, inside, (steps.start, np.zeros(len(place))), (steps.start + steps.passing, toward))
    return steps.sway[now] * np.abs(others[now]) * np.sin(0.5 * np.pi * quarter)


def _turn(steps: Steps, at: Floats, inside: slice, puppet: Puppet) -> Floats:
    """Pelvis yaw: at every contact the side of the foot that just landed is forward."""
    landed = np.roll(sides(puppet)[steps.leg], 1)
    return _through(steps, at, inside, (steps.start, -landed * steps.turn_rad))


def _drop(steps: Steps, at: Floats, inside: slice, puppet: Puppet) -> Floats:
    """Body roll: the side of the free leg drops early in its swing and is level again before it lands."""
    side = sides(puppet)[steps.leg]
    start, n = steps.start.astype(float), steps.poses
    level = np.zeros(len(start))
    return _through(
        steps, at, inside, (start, level), (start + DROP_AT * n, -side * steps.drop_rad), (start + DROP_GONE * n, level)
    )
