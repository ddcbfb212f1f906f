"""How high the hips may be: where a walk is not even, straight and flat, hips that nobody typed come down as far as the
legs must reach."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..model.defaults import half_up
from ..model.shot import Shot
from .body import Trunk
from .legs import LegMeasures, carrier

Floats = npt.NDArray[np.float64]

LEAST_BEND_DEG = 8.5
"""Knees keep so much bend: nearer to straight 1 mm of hip turns a knee by 10 degrees, which shows as a pop."""
ABOVE_STOP_DEG = 1.5
"""And so much more than their own least bend."""
MOST_DOWN = 0.1
"""Hips come down by at most this share of a leg: a foot that asks for more is out of reach, and is told of."""


def open_hips(shot: Shot) -> bool:
    """True where no hip height is typed, of the walk or of a step."""
    hips = shot.walk.hips
    if any(value is not None for value in (hips.contact_mm, hips.down_mm, hips.passing_mm, hips.up_mm)):
        return False
    return not any(key.startswith("hips.") for change in shot.step_changes for key, _ in change.values)


def under_ceiling(
    shot: Shot, trunk: Trunk, legs: LegMeasures, ankle_mm: Floats, body_mm: Floats, body_axes: Floats
) -> Trunk:
    """The trunk (of P poses), lowered smoothly where a leg, of a foot at ankle_mm (3, L, P), would be too straight.
    body_mm, body_axes: what carries the legs, as `legs.reach` has it.

    What edits add to the hips is added to the lowered line: it is a wish.
    """
    short = -_room(shot, legs, ankle_mm, body_mm, body_axes)
    if trunk.edited_mm is not None:
        short = short - trunk.edited_mm
    if short.max() <= 1e-9:
        return trunk
    short = np.minimum(np.maximum(short, 0.0), MOST_DOWN * max(leg.straight_mm for leg in shot.puppet.legs))
    down = _smoothed(short, max(1, half_up(shot.walk.poses_per_step / 3)))
    body, reference = trunk.body_mm.copy(), trunk.reference_mm.copy()
    body[:, 2] -= down
    reference[:, 2] -= down
    return replace(trunk, body_mm=body, reference_mm=reference, hip_line_mm=trunk.hip_line_mm - down)


def _room(shot: Shot, legs: LegMeasures, ankle_mm: Floats, body_mm: Floats, body_axes: Floats) -> Floats:
    """(P,) mm that the hips may rise until a leg is as straight as it may be; negative: must come down."""
    longest = [leg.length_mm(max(LEAST_BEND_DEG, leg.knee_range_deg[0] + ABOVE_STOP_DEG)) for leg in shot.puppet.legs]
    longest2 = np.square(longest)[:, None]
    axes, origin = carrier(body_mm, body_axes)
    hip = origin + (axes * legs.hip_mm[None]).sum(axis=1)
    x, y, z = ankle_mm - hip
    return (np.sqrt(np.maximum(longest2 - x * x - y * y, 0.0)) + z).min(axis=0)


def _smoothed(short: Floats, radius: int) -> Floats:
    """A smooth line nowhere under `short` (P,): the greatest of the poses about each, then their weighted mean."""
    window = 2 * radius + 1
    most = np.lib.stride_tricks.sliding_window_view(np.pad(short, 2 * radius, mode="edge"), window).max(axis=-1)
    weight = 1.0 - np.cos(2.0 * np.pi * np.arange(1, window + 1) / (window + 1))
    return np.lib.stride_tricks.sliding_window_view(most, window) @ (weight / weight.sum())
