"""The foot as a rigid sole with a toe: its own measures, and how it stands: landing on the heel, flat, rolling off on the toe."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from .footfalls import Footfalls
from .plan import FootState
from .timing import Steps

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

ROLL_POWER = 2.4
"""The heel rises as time to this power: softly off the floor, fast at lift-off, so that the swing has something to carry on."""


@dataclass(frozen=True, eq=False)
class FootMeasures:
    """(L,) each, mm."""

    ankle_up: Floats
    heel_behind: Floats
    ball_ahead: Floats
    toe: Floats
    width: Floats


def foot_measures(puppet: Puppet) -> FootMeasures:
    legs = puppet.legs
    return FootMeasures(
        np.array([leg.ankle_up_mm for leg in legs]), np.array([leg.heel_behind_mm for leg in legs]),
        np.array([leg.ball_ahead_mm for leg in legs]), np.array([leg.toe_mm for leg in legs]),
        np.array([leg.sole_width_mm for leg in legs]),
    )


def turned(along: Floats, up: Floats, pitch: Floats) -> tuple[Floats, Floats]:
    """(along, up) of a sole turned toe-up by `pitch`, in the foot's own upright plane."""
    c, s = np.cos(pitch), np.sin(pitch)
    return along * c - up * s, along * s + up * c


def on_heel(feet: FootMeasures, leg: Whole, pitch: Floats) -> tuple[Floats, Floats]:
    """Ankle (along, up) from the footfall's place while the heel's back edge stays and the toe is `pitch` up."""
    heel = feet.heel_behind[leg]
    along, up = turned(heel, feet.ankle_up[leg], pitch)
    return along - heel, up


def on_ball(feet: FootMeasures, leg: Whole, pitch: Floats) -> tuple[Floats, Floats]:
    """Ankle (along, up) from the footfall's place while ball and toe stay and the heel is up (pitch negative)."""
    ball = feet.ball_ahead[leg]
    along, up = turned(-ball, feet.ankle_up[leg], pitch)
    return along + ball, up


@dataclass(frozen=True, eq=False)
class Standing:
    """A foot on its footfall at some time: state, pitch, and the ankle's stage place (..., 3)."""

    state: npt.NDArray[np.int8]
    pitch_rad: Floats
    ankle_mm: Floats


def standing(steps: Steps, footfalls: Footfalls, feet: FootMeasures, footfall: Whole, pose: Floats) -> Standing:
    """How the foot of `footfall` stands at `pose` (both of one shape); past its lift-off it is kept as at lift-off."""
    leg = steps.leg[footfall]
    strike, heel_off = steps.strike_rad[footfall], steps.heel_off_rad[footfall + steps.legs]
    lie = np.maximum(steps.flat_after[footfall], 1)
    landing = np.clip((pose - steps.land[footfall]) / lie, 0.0, 1.0)
    up = strike * (1.0 - landing) ** 2
    toe_roll = np.maximum(steps.toe_roll[footfall + steps.legs], 1)
    rolling = np.clip((pose - steps.roll_from[footfall]) / toe_roll, 0.0, 1.0)
    down = heel_off * rolling**ROLL_POWER
    up = np.where(steps.flat_after[footfall] > 0, up, 0.0)
    down = np.where(steps.toe_roll[footfall + steps.legs] > 0, down, 0.0)
    pitch = up - down
    state = np.where(up > 0, FootState.HEEL, np.where(down > 0, FootState.TOE, FootState.PLANTED)).astype(np.int8)
    heel_along, heel_up = on_heel(feet, leg, up)
    ball_along, ball_up = on_ball(feet, leg, -down)
    along = np.where(up > 0, heel_along, ball_along)
    ankle = footfalls.place_mm[footfall].copy()
    heading = footfalls.heading_rad[footfall]
    ankle[..., 0] += along * np.cos(heading)
    ankle[..., 1] += along * np.sin(heading)
    ankle[..., 2] += np.where(up > 0, heel_up, ball_up)
    return Standing(state, pitch, ankle)


@dataclass(frozen=True, eq=False)
class Soles:
    """Points of the soles (..., 3): back edge of the heel, ball, toe tip, tie-down."""

    heel_mm: Floats
    ball_mm: Floats
    toe_mm: Floats


def soles(feet: FootMeasures, leg: Whole, ankle: Floats, heading: Floats, pitch: Floats, toe_bend: Floats) -> Soles:
    """Sole points of feet with their ankles at `ankle` (..., 3); leg, heading, pitch, toe_bend (...,)."""
    c, s = np.cos(heading), np.sin(heading)

    def from_point(point: Floats, along: Floats, up: Floats) -> Floats:
        moved = np.empty_like(point)
        moved[..., 0] = point[..., 0] + along * c
        moved[..., 1] = point[..., 1] + along * s
        moved[..., 2] = point[..., 2] + up
        return moved

    down = -feet.ankle_up[leg]
    heel = from_point(ankle, *turned(-feet.heel_behind[leg], down, pitch))
    ball = from_point(ankle, *turned(feet.ball_ahead[leg], down, pitch))
    toe_pitch = pitch + toe_bend
    toe = from_point(ball, feet.toe[leg] * np.cos(toe_pitch), feet.toe[leg] * np.sin(toe_pitch))
    return Soles(heel, ball, toe)
