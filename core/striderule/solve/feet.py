"""The foot as a rigid sole with a toe: its own measures, and how it stands: landing on the heel, flat, rolling off
on the toe."""

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
"""The heel rises as time to this power: softly off the floor, fast at lift-off, so that the swing has something to
carry on."""


@dataclass(frozen=True, eq=False)
class FootMeasures:
    """Measures of feet in mm, all of one shape that broadcasts over whatever they are used with; out_side + where
    outward is the puppet's left."""

    ankle_up: Floats
    heel_behind: Floats
    ball_ahead: Floats
    toe: Floats
    width: Floats
    out_side: Floats

    def of(self, leg: Whole) -> FootMeasures:
        """The measures of the given legs; needs (L,) measures."""
        return FootMeasures(self.ankle_up[leg], self.heel_behind[leg], self.ball_ahead[leg], self.toe[leg],
                            self.width[leg], self.out_side[leg])  # fmt: skip

    def column(self) -> FootMeasures:
        """(L, 1) of (L,) measures, to go with (L, P) arrays."""
        return FootMeasures(self.ankle_up[:, None], self.heel_behind[:, None], self.ball_ahead[:, None],
                            self.toe[:, None], self.width[:, None], self.out_side[:, None])  # fmt: skip


def foot_measures(puppet: Puppet) -> FootMeasures:
    """(L,) measures of all feet."""
    legs = puppet.legs
    return FootMeasures(
        np.array([leg.ankle_up_mm for leg in legs]),
        np.array([leg.heel_behind_mm for leg in legs]),
        np.array([leg.ball_ahead_mm for leg in legs]),
        np.array([leg.toe_mm for leg in legs]),
        np.array([leg.sole_width_mm for leg in legs]),
        np.array([float(leg.outward_side) for leg in legs]),
    )


def turned(along: Floats, up: Floats, pitch: Floats) -> tuple[Floats, Floats]:
    """(along, up) of a sole turned toe-up by `pitch`, in the foot's own upright plane."""
    c, s = np.cos(pitch), np.sin(pitch)
    return along * c - up * s, along * s + up * c


def on_heel(feet: FootMeasures, pitch: Floats) -> tuple[Floats, Floats]:
    """Ankle (along, up) from the footfall's place while the heel's back edge stays and the toe is `pitch` up."""
    along, up = turned(feet.heel_behind, feet.ankle_up, pitch)
    return along - feet.heel_behind, up


def on_ball(feet: FootMeasures, pitch: Floats) -> tuple[Floats, Floats]:
    """Ankle (along, up) from the footfall's place while ball and toe stay and the heel is up (pitch negative)."""
    along, up = turned(-feet.ball_ahead, feet.ankle_up, pitch)
    return along + feet.ball_ahead, up


def _share(x: Floats) -> Floats:
    """x kept in 0..1."""
    return np.maximum(np.minimum(x, 1.0), 0.0)


@dataclass(frozen=True, eq=False)
class Standing:
    """Feet on their footfalls at some time (...,): state, pitch and roll on the stage, and the ankle's place (3,
    ...). Roll: None where the floor is level across."""

    state: npt.NDArray[np.int8]
    pitch_rad: Floats
    roll_rad: Floats | None
    ankle_mm: Floats


def standing(steps: Steps, footfalls: Footfalls, feet: FootMeasures, footfall: Whole, pose: Floats) -> Standing:
    """How the foot of `footfall` (...,) stands at `pose`; past its lift-off it is kept as at lift-off. `feet` fit
    footfall."""
    leaving = footfall + steps.legs
    strike = np.where(steps.flat_after > 0, steps.strike_rad, 0.0)[footfall]
    heel_off = np.where(steps.toe_roll > 0, steps.heel_off_rad, 0.0)[leaving]
    landing = _share((pose - steps.land[footfall]) / np.maximum(steps.flat_after, 1)[footfall])
    up = strike * (1.0 - landing) ** 2
    rolling = _share((pose - steps.roll_from[footfall]) / np.maximum(steps.toe_roll, 1)[leaving])
    down = heel_off * rolling**ROLL_POWER
    pitch = up - down
    on_its_heel = up > 0
    state = np.full(pitch.shape, int(FootState.PLANTED), dtype=np.int8)
    state[down > 0], state[on_its_heel] = FootState.TOE, FootState.HEEL
    pivot = np.where(on_its_heel, feet.heel_behind, -feet.ball_ahead)  # from the ankle back to what stays, along
    heading = footfalls.heading_rad
    ankle = footfalls.place_mm.take(footfall, axis=1)
    if footfalls.level:
        along, height = turned(pivot, feet.ankle_up, pitch)
        along = along - pivot
        roll = None
    else:
        # what stays lies on the floor as it slopes; from there the foot stands as its pitch and roll have it
        floor, roll = footfalls.pitch_rad[footfall], footfalls.roll_rad[footfall]
        pitch = pitch + floor
        upright = feet.ankle_up * np.cos(roll)
        along, height = turned(pivot, upright, pitch)
        along = along - pivot * np.cos(floor)
        height = height - pivot * np.sin(floor)
        aside = -feet.ankle_up * np.sin(roll)
        ankle[0] -= aside * np.sin(heading)[footfall]
        ankle[1] += aside * np.cos(heading)[footfall]
    ankle[0] += along * np.cos(heading)[footfall]
    ankle[1] += along * np.sin(heading)[footfall]
    ankle[2] += height
    return Standing(state, pitch, roll, ankle)


@dataclass(frozen=True, eq=False)
class Soles:
    """Points of the soles (3, ...): back edge of the heel, ball, toe tip."""

    heel_mm: Floats
    ball_mm: Floats
    toe_mm: Floats


@dataclass(frozen=True, eq=False)
class FootTurn:
    """Sines and cosines of feet's heading and pitch (...,): each is needed more than once. Roll: None where every sole
    is level across."""

    cos_heading: Floats
    sin_heading: Floats
    cos_pitch: Floats
    sin_pitch: Floats
    cos_roll: Floats | None = None
    sin_roll: Floats | None = None

    @staticmethod
    def of(heading: Floats, pitch: Floats, roll: Floats | None = None) -> FootTurn:
        across = () if roll is None else (np.cos(roll), np.sin(roll))
        return FootTurn(np.cos(heading), np.sin(heading), np.cos(pitch), np.sin(pitch), *across)

    def upright(self) -> tuple[Floats, Floats, Floats]:
        """The soles' upright on the stage, three of (...,)."""
        along, up = -self.sin_pitch, self.cos_pitch
        x, y = along * self.cos_heading, along * self.sin_heading
        if self.cos_roll is None or self.sin_roll is None:
            return x, y, up
        return (x * self.cos_roll + self.sin_roll * self.sin_heading,
                y * self.cos_roll - self.sin_roll * self.cos_heading, up * self.cos_roll)  # fmt: skip


def soles(feet: FootMeasures, ankle: Floats, turn: FootTurn, toe_pitch: Floats) -> Soles:
    """Sole points of feet with their ankles at `ankle` (3, ...); turn, toe_pitch (...,) on the stage, `feet` fit
    them."""

    def from_point(point: Floats, along: Floats, up: Floats) -> Floats:
        moved = np.empty_like(point)
        np.add(point[0], along * turn.cos_heading, out=moved[0])
        np.add(point[1], along * turn.sin_heading, out=moved[1])
        np.add(point[2], up, out=moved[2])
        return moved

    rise, lean = feet.ankle_up * turn.cos_pitch, feet.ankle_up * turn.sin_pitch
    if turn.cos_roll is not None and turn.sin_roll is not None:
        rise, lean = rise * turn.cos_roll, lean * turn.cos_roll
        aside = feet.ankle_up * turn.sin_roll
        ankle = ankle.copy()
        ankle[0] -= aside * turn.sin_heading
        ankle[1] += aside * turn.cos_heading

    def from_ankle(along: Floats) -> Floats:
        return from_point(ankle, along * turn.cos_pitch + lean, along * turn.sin_pitch - rise)

    ball = from_ankle(feet.ball_ahead)
    return Soles(from_ankle(-feet.heel_behind), ball,
                 from_point(ball, feet.toe * np.cos(toe_pitch), feet.toe * np.sin(toe_pitch)))  # fmt: skip


def lowest_of_sole(feet: FootMeasures, ankle_up: Floats, pitch: Floats, toe_pitch: Floats) -> Floats:
    """Height (...,) of the lowest of the points that `soles` gives, of ankles at the heights `ankle_up` (...,)."""
    along = np.sin(pitch)
    under = ankle_up - feet.ankle_up * np.cos(pitch)
    ball = under + feet.ball_ahead * along
    return np.minimum(np.minimum(under - feet.heel_behind * along, ball), ball + feet.toe * np.sin(toe_pitch))
