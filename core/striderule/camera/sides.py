"""From which side a camera sees the puppet, and which legs are therefore the near ones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.view import View
from ..solve.plan import Plan
from .lens import eye_mm

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

_CLEARLY = 1.5
"""A camera changes sides only where it is so many half widths of the puppet away from its midline."""


def camera_sides(plan: Plan, view: View) -> Whole:
    """(poses,) side of the puppet that the camera is on: +1 its left, -1 its right, 0 ahead of it, behind it, above.

    0 is a camera in line with the puppet, within its hips' width. A side is kept until the camera is clearly on
    another one, so that it does not flip to and fro at the border.
    """
    heading = np.radians(plan.heading_deg)
    left = np.stack([-np.sin(heading), np.cos(heading)], axis=1)
    away = eye_mm(view)[..., :2] - over_a_stride(plan, plan.body_mm[:, :2])
    aside = (away * left).sum(axis=1)
    width = half_width_mm(plan)
    clear = (np.abs(aside) >= _CLEARLY * width) | (np.abs(aside) <= width)
    sides = np.where(np.abs(aside) <= width, 0.0, np.sign(aside)).astype(np.int64)
    known = np.maximum.accumulate(np.where(clear, np.arange(len(sides)), -1))
    return np.where(known >= 0, sides[np.maximum(known, 0)], sides[np.argmax(clear)] if clear.any() else sides[0])


def near_legs(plan: Plan, view: View) -> npt.NDArray[np.bool_]:
    """(legs,) which legs are drawn as near ones, through the whole shot: those on the side where the camera is, where
    it changes sides those where it is longest.

    From straight ahead or behind no side is nearer: near are the legs on the `side` that the view's camera has in the
    shot, the puppet's right unless it says otherwise, so that a leg has the same colour as in the side-on view.
    """
    sides = camera_sides(plan, view)
    side = int(np.sign(sides.sum()))
    if side == 0:
        chosen = next((camera.side for camera in plan.shot.cameras if camera.name == view.name), "right")
        side = 1 if chosen == "left" else -1
    return np.array([leg.outward_side == side for leg in plan.shot.puppet.legs])


def half_width_mm(plan: Plan) -> float:
    """From the midline to the outside of the outermost hip, mm."""
    return max(abs(leg.hip_mm[1]) + 0.5 * leg.sole_width_mm for leg in plan.shot.puppet.legs)


def over_a_stride(plan: Plan, values: Floats) -> Floats:
    """Means (poses, n) of values (poses, n) over the stride around every pose; at the ends over what there is of it."""
    reach = plan.shot.walk.poses_per_step
    total = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])
    at = np.arange(len(values))
    first, last = np.maximum(at - reach, 0), np.minimum(at + reach + 1, len(values))
    return (total[last] - total[first]) / (last - first)[:, None]
