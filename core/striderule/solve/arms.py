"""Arms: they swing opposite to the legs and a little later, each about how the puppet carries it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.upper import Arm
from .curves import monotone_cubics
from .rotations import swung, tilted_out
from .timing import Steps

Floats = npt.NDArray[np.float64]
Keys = tuple[Floats, Floats]

HAND_DEG = 1.0
"""Smallest turn that hands set (common practice, no source): a settling has no smaller ones."""

PAST_REST = 4.0
"""At a stop arms swing past their rest by so many times the body's overshoot share, as a share of their swing."""


@dataclass(frozen=True, eq=False)
class ArmAngles:
    """(P, A, 3) swing, out, elbow of A arms in degrees: as the walk asks, and as the arms' limits allow."""

    asked_deg: Floats
    deg: Floats


@dataclass(frozen=True, eq=False)
class ArmPlaces:
    """One arm on what carries it: places (P, 3), axes (P, 3, 3) of upper arm and forearm, each hanging along -z."""

    shoulder_mm: Floats
    elbow_mm: Floats
    wrist_mm: Floats
    hand_mm: Floats
    upper_axes: Floats
    fore_axes: Floats


def arm_angles(steps: Steps, leg_sides: Floats, arms: tuple[Arm, ...], poses: int) -> ArmAngles:
    """Every arm's joints in every pose. leg_sides (L,): +1 left, -1 right, of the group of legs nearest to the arms.

    An arm is furthest forward as the other side's foot lands, late by a share of the step. A joint that would pass its
    stop in some pose has its keys inside its limits instead, and a curve between keys never leaves them: what is asked
    beyond the stop becomes a smooth, smaller swing.
    """
    keys = _keys(steps, leg_sides)
    asked: list[Keys] = []
    for arm in arms:
        times, swing, bend, out, more = keys if not steps.stands_last else _settled(steps, keys, arm.swings)
        forward = np.maximum(-arm.outward_side * bend * arm.swings, 0.0)
        asked += [(times, arm.rest_swing_deg - arm.outward_side * swing * arm.swings),
                  (times, arm.rest_out_deg + out), (times, arm.rest_elbow_deg + more + forward)]  # fmt: skip
    at = np.arange(poses, dtype=float)
    wanted = monotone_cubics(asked, at)
    stops = np.array([limit for arm in arms for limit in (arm.limits.swing_deg, arm.limits.out_deg,
                                                          arm.limits.elbow_deg)])  # fmt: skip
    beyond = ((wanted < stops[:, :1]) | (wanted > stops[:, 1:])).any(axis=1)
    had = wanted
    if beyond.any():
        had = wanted.copy()
        for k in np.flatnonzero(beyond).tolist():
            had[k] = monotone_cubics(((asked[k][0], np.clip(asked[k][1], *stops[k])),), at)[0]
    shape = (len(arms), 3, poses)
    return ArmAngles(wanted.reshape(shape).transpose(2, 0, 1), had.reshape(shape).transpose(2, 0, 1))


def _keys(steps: Steps, leg_sides: Floats) -> Floats:
    """(5, K) keys of an arm that swings as a left leg would against it: times, swing, the swing's bend of the elbow,
    out, further bend."""
    values: Floats = np.array(
        [
            (one.arm_swing_deg or 0.0, one.elbow_swing_deg or 0.0, one.arm_late or 0.0, one.arm_out_deg,
             one.elbow_bend_deg)
            for one in steps.kinds
        ]
    )[steps.kind].T  # fmt: skip
    landed, after = slice(steps.before - 2, len(steps.leg) - 1), slice(steps.before - 1, None)
    side = leg_sides[steps.leg[landed]]
    late = values[2, landed] * steps.poses[landed]
    time, begin = steps.land[landed].astype(np.float64) + late, steps.start[after].astype(float)
    bend = np.where(values[0, landed] > 0, values[1, landed], 0.0)
    keys: Floats = np.array((time, values[0, landed] * side, bend * side, *values[3:, after]))
    if steps.even:
        return keys
    waits = begin > steps.land[landed]  # held as they are until the next step begins
    held = keys[:, waits]
    held[0] = begin[waits] + late[waits]
    return _rising(np.column_stack((keys, held)))


def _settled(steps: Steps, keys: Floats, share: float) -> Floats:
    """Keys (5, K) of an arm that takes a share of the swing, past its rest at the stop: it comes back in halving moves,
    none smaller than hands set."""
    landed, last = float(steps.land[steps.last]), steps.last
    swings = np.array([one.arm_swing_deg or 0.0 for one in steps.kinds])[steps.kind[steps.before : last + 1]]
    size = PAST_REST * steps.overshoot * float(swings.max())
    count = steps.settle
    while count > 0 and share * size * 0.5**count / (1.0 - 0.5**count) < HAND_DEG:
        count -= 1
    back = size * (1.0 - (1.0 - 0.5 ** np.arange(count + 1)) / (1.0 - 0.5**count)) if count else np.zeros(1)
    before = keys[:, keys[0] < landed]
    new = np.zeros((5, count + 2))  # and one at rest, long after
    new[0] = landed + np.arange(count + 2)
    new[0, -1] = max(float(keys[0, -1]), landed + count + 1.0)
    new[1, : count + 1] = -np.sign(before[1, -1]) * back
    new[3:] = keys[3:, -1:]
    return np.column_stack((before, new))


def _rising(keys: Floats) -> Floats:
    """Keys (5, K) in order of time, one at a time."""
    return keys[:, np.unique(keys[0], return_index=True)[1]]


def arm_places(arm: Arm, angles_deg: Floats, shoulder_mm: Floats, carrier: Floats) -> ArmPlaces:
    """An arm by its angles (P, 3) from its shoulder (P, 3), on a carrier's axes (P, 3, 3)."""
    swing, out, bend = np.radians(angles_deg).T
    upper = swung(tilted_out(carrier, arm.outward_side * out), swing)
    fore = swung(upper, arm.bend_side * bend)
    elbow = shoulder_mm - arm.upper_mm * upper[..., 2]
    wrist = elbow - arm.fore_mm * fore[..., 2]
    return ArmPlaces(shoulder_mm, elbow, wrist, wrist - arm.hand_mm * fore[..., 2], upper, fore)
