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

    An arm is furthest forward as the other side's foot lands, late by a share of the step. Its limits hold at the keys,
    and a curve between keys never leaves them: what is asked beyond a stop becomes a smooth, smaller swing.
    """
    times, swings, outs, elbows = _keys(steps, leg_sides)
    asked: list[Keys] = []
    had: list[Keys] = []
    at = np.arange(poses, dtype=float)
    for arm in arms:
        against = -arm.outward_side * swings * arm.swings
        forward = np.maximum(-arm.outward_side * elbows * arm.swings, 0.0)
        wanted = np.array((arm.rest_swing_deg + against, arm.rest_out_deg + outs[0],
                           arm.rest_elbow_deg + outs[1] + forward))  # fmt: skip
        stops = np.array((arm.limits.swing_deg, arm.limits.out_deg, arm.limits.elbow_deg))
        asked += [(times, one) for one in wanted]
        had += [(times, one) for one in np.clip(wanted, stops[:, :1], stops[:, 1:])]
    same = all(np.array_equal(a[1], b[1]) for a, b in zip(asked, had, strict=True))
    curves = monotone_cubics(had if same else [*asked, *had], at)
    angles = curves.reshape(-1, len(arms), 3, poses).transpose(0, 3, 1, 2)
    return ArmAngles(angles[0], angles[-1])


def _keys(steps: Steps, leg_sides: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Times (K,) and, for an arm that swings as a left leg would against it: swing, (out, bend), elbow swing (2, K)."""
    values: Floats = np.array(
        [
            (one.arm_swing_deg or 0.0, one.elbow_swing_deg or 0.0, one.arm_late or 0.0, one.arm_out_deg,
             one.elbow_bend_deg)
            for one in steps.kinds
        ]
    )[steps.kind].T  # fmt: skip
    landed = slice(steps.before - 2, len(steps.leg) - 1)
    side = leg_sides[steps.leg[landed]]
    swing, bend = values[0, landed] * side, values[1, landed] * side
    swing, bend = swing.copy(), np.where(values[0, landed] > 0, bend, 0.0)
    after = slice(steps.before - 1, None)
    late = values[2, landed] * steps.poses[landed]
    time: Floats = steps.land[landed].astype(np.float64) + late
    begin = steps.start[after].astype(float)
    held = values[3:, after]
    stop = steps.last + 1 - (steps.before - 1)  # the contact that ends the last step
    if steps.stands_last:
        swing[stop], bend[stop], time[stop] = 0.0, 0.0, float(steps.land[steps.last])
    waits = begin > steps.land[landed]
    if steps.even and not waits.any():
        return time, swing, held, bend
    times: Floats = np.concatenate((time, begin[waits] + late[waits]))
    rows = np.column_stack((np.array((swing, bend, *held)), np.array((swing, bend, *held))[:, waits]))
    if steps.stands_last:
        times, rows = _settled(steps, times, rows, values[0], swing[stop - 1])
    order = np.unique(times, return_index=True)[1]
    rows = rows[:, order]
    return times[order], rows[0], rows[2:], rows[1]


def _settled(steps: Steps, times: Floats, rows: Floats, swings: Floats, before: float) -> tuple[Floats, Floats]:
    """Keys with arms that swing past their rest at the stop and come back in halving moves, none smaller than hands
    set. before: their swing at the contact before it."""
    landed = float(steps.land[steps.last])
    size = PAST_REST * steps.overshoot * float(swings[steps.before : steps.last + 1].max())
    count = steps.settle
    while count > 0 and size * 0.5**count / (1.0 - 0.5**count) < HAND_DEG:
        count -= 1
    keep = (times < landed) | (times > landed + count)
    held = rows[2:, np.argmax(times >= landed)]
    k = np.arange(count + 1)
    back = size * (1.0 - (1.0 - 0.5**k) / (1.0 - 0.5**count)) if count else np.zeros(1)
    new = np.stack((-np.sign(before) * back, np.zeros(count + 1), *np.broadcast_to(held[:, None], (2, count + 1))))
    later: Floats = np.concatenate((times[keep], landed + k.astype(np.float64)))
    return later, np.column_stack((rows[:, keep], new))


def arm_places(arm: Arm, angles_deg: Floats, shoulder_mm: Floats, carrier: Floats) -> ArmPlaces:
    """An arm by its angles (P, 3) from its shoulder (P, 3), on a carrier's axes (P, 3, 3)."""
    swing, out, bend = np.radians(angles_deg).T
    upper = swung(tilted_out(carrier, arm.outward_side * out), swing)
    fore = swung(upper, arm.bend_side * bend)
    elbow = shoulder_mm - arm.upper_mm * upper[..., 2]
    wrist = elbow - arm.fore_mm * fore[..., 2]
    return ArmPlaces(shoulder_mm, elbow, wrist, wrist - arm.hand_mm * fore[..., 2], upper, fore)
