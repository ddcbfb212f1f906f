"""Where the feet stand: one place and heading for every step's landing, and which footfall each leg is at in each
pose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.defaults import FEET_AHEAD
from ..model.puppet import Puppet
from ..model.stage import Stage
from .plan import Footing
from .timing import Steps

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Footfalls:
    """Footfall v is where step v's foot lands. place_mm (3, E): the floor under the ankle of the flat foot; heading_rad
    (E,): the foot's; travel_rad (E,): the track's. reached_mm (E,): how far the body has come at the step's start."""

    place_mm: Floats
    heading_rad: Floats
    travel_rad: Floats
    reached_mm: Floats


def sides(puppet: Puppet) -> Floats:
    """(L,) +1 where a leg's outward side is the puppet's left, -1 where it is its right."""
    return np.array([float(leg.outward_side) for leg in puppet.legs])


def hip_centre(puppet: Puppet) -> Floats:
    """(3,) middle of all hip pivots from the body's centre."""
    legs = puppet.legs
    return np.array([sum(leg.hip_mm[i] for leg in legs) / len(legs) for i in range(3)])


def footfalls_of(steps: Steps, puppet: Puppet, stage: Stage) -> Footfalls:
    """Footfalls of a straight track on a flat floor: every foot stands half of its stance ahead of its hip and half
    behind, but for FEET_AHEAD.

    The reference point stands over stage.start_mm at pose 0; with a lean it is not above the hips, and the feet are
    placed for the hips.
    """
    reached = np.zeros(len(steps.leg))
    reached[1:] = steps.length_mm[:-1].cumsum()
    reached -= reached[steps.before]
    last = len(reached) - 1
    here = np.arange(len(reached))
    after, end = np.minimum(here + 1, last), np.minimum(here + steps.legs, last)
    middle = 0.5 * (reached[after] + reached[end]) + FEET_AHEAD * steps.length_mm
    centre = hip_centre(puppet)
    from_reference = centre - np.array(puppet.body.reference_mm)
    lean = steps.lean_rad
    hips_ahead = from_reference[0] * np.cos(lean) + from_reference[2] * np.sin(lean)
    home = np.array([leg.hip_mm[0] for leg in puppet.legs]) - centre[0]
    side = sides(puppet)[steps.leg]
    place = np.zeros((3, len(reached)))
    place[0] = stage.start_mm[0] + middle + hips_ahead + home[steps.leg]
    place[1] = stage.start_mm[1] + 0.5 * side * steps.width_mm
    return Footfalls(place, side * steps.toe_out_rad, np.zeros(len(reached)), reached)


def footfall_of_pose(steps: Steps, poses: int) -> Whole:
    """(L, P) the footfall each leg stands on or has last left."""
    pose = np.arange(poses)
    found = np.empty((steps.legs, poses), dtype=np.int64)
    land = steps.land[: steps.stances]
    for leg in range(steps.legs):
        own = np.flatnonzero(steps.leg[: steps.stances] == leg)
        found[leg] = own[np.searchsorted(land[own], pose, side="right") - 1]
    return found


def footing_of(steps: Steps, footfalls: Footfalls, poses: int) -> Footing:
    """The footfalls that touch at least one pose of the shot, in order of landing."""
    off, land = steps.off, steps.land[: steps.stances]
    touching = np.flatnonzero((off >= 0) & (land < poses))
    return Footing(
        steps.leg[touching],
        land[touching],
        off[touching],
        footfalls.place_mm.take(touching, axis=1).T,
        np.degrees(footfalls.heading_rad[touching]),
    )
