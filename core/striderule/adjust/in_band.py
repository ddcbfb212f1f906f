"""A walk whose hips stay inside every pose's working band, by the hip curve; and what no curve can make up for."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from ..model.shot import Shot
from ..solve.plan import FootState, Plan
from .hip_curve import hip_curve

Floats = npt.NDArray[np.float64]

MARGIN_MM = 0.3
"""The curve keeps so far inside the band where there is room: less than this no hand sets hips to."""
PLACES = 2
"""Decimals of the curve's offsets in mm."""
LEAST_MM = 0.005


def with_curve(plan: Plan) -> Shot:
    """The plan's shot with the hip curve that keeps it in its band: the smoothest departure that stays closest to the
    line as it is. Every stride of a walk that repeats gets the same."""
    shot = plan.shot
    low, high = _allowed(plan)
    asked = plan.hip_line_mm
    stride = shot.walk.poses_per_step * (2 if len(plan.legs) % 2 == 0 else len(plan.legs))
    closed = shot.repeats and plan.poses > stride
    phase = np.arange(plan.poses)
    if closed:
        phase %= stride
        lows, highs = np.full(stride, -np.inf), np.full(stride, np.inf)
        np.maximum.at(lows, phase, low)
        np.minimum.at(highs, phase, high)
        low, high, asked = lows, highs, asked[:stride]
    # the departure fades over a sixth of a step to either side
    weight = max(shot.walk.poses_per_step / 6.0, 1.0) ** 4
    up = np.round(hip_curve(asked, low, high, weight, closed) - asked, PLACES)[phase]
    before = np.zeros(plan.poses)
    old = shot.edits.hips_up_mm[: plan.poses]
    before[: len(old)] = old
    if not (np.abs(up) > LEAST_MM).any():
        return shot
    total = tuple(round(float(one), PLACES) + 0.0 for one in before + up)
    with suppress(ModelError):
        return replace(shot, edits=replace(shot.edits, hips_up_mm=total))
    return shot


def _allowed(plan: Plan) -> tuple[Floats, Floats]:
    """Lowest and highest hip line of every pose, a margin inside what it may be."""
    low, high, _ = _ends(plan)
    room = np.minimum(0.5 * np.maximum(high - low, 0.0), MARGIN_MM)
    room = np.where(np.isfinite(room), room, MARGIN_MM)
    return low + room, high - room


def lack_of(plan: Plan) -> Floats:
    """(P,) mm that no hip curve can make up for: what the band lacks, and feet too far ahead at any height."""
    low, high, beyond = _ends(plan)
    return np.maximum(low - high, 0.0) + beyond


def _ends(plan: Plan) -> tuple[Floats, Floats, Floats]:
    """Lowest and highest hip line (P,): the working band, and the height from which a free leg still reaches its foot,
    which the band does not ask about; and (P,) mm by which feet are too far ahead at any height."""
    beyond = np.zeros(plan.poses)
    low, high = plan.band.lowest_mm, plan.band.highest_mm.copy()
    for index, leg in enumerate(plan.shot.puppet.legs):
        longest = leg.bones_mm
        to = plan.ankle_mm[:, index] - plan.hip_mm[:, index]
        length = np.maximum(np.linalg.norm(to, axis=1), 1e-9)
        to = to * (1.0 + plan.gap_mm[:, index] / length)[:, None]
        beside2 = to[:, 0] ** 2 + to[:, 1] ** 2
        rise = np.sqrt(np.maximum(longest * longest - beside2, 0.0)) + to[:, 2]
        free = plan.state[:, index] == FootState.AIR
        high = np.where(free, np.minimum(high, plan.hip_line_mm + rise), high)
        beyond = np.maximum(beyond, np.sqrt(beside2) - longest)
    return low, high, beyond
