"""The rows that every sheet is made from: one a pose, with its frames, rounded places, feet and what to do.

Places are rounded, never moves: a printed move is the difference of two rounded places, so that roundings never add up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..export.timecode import timecodes
from ..model.groups import groups_of
from ..solve.plan import FootState, Plan
from .instructions import SetInstructions, stance_of

Floats = npt.NDArray[np.float64]
Triple = tuple[float, float, float]

GRAINS_MM = (0.5, 0.1)
"""What places may be printed to; the first is what a hand can set (common practice, no source)."""

STATE_WORDS = {
    FootState.PLANTED: "flat",
    FootState.HEEL: "on heel",
    FootState.TOE: "on toe",
    FootState.AIR: "free",
}


@dataclass(frozen=True)
class FreeFoot:
    """Of a foot that does not lie flat: heights over the floor under it, and how far its toe tip is ahead of the toe
    mark of the standing foot `beside` along the track; None where no foot stands."""

    knee_mm: float
    ankle_mm: float
    heel_mm: float
    toe_mm: float
    ahead_mm: float | None
    beside: str


@dataclass(frozen=True)
class FootRow:
    """One foot in one pose. hole: "" without a grid or where it is not tied."""

    leg: str
    state: str
    tied: bool
    hole: str
    free: FreeFoot | None


@dataclass(frozen=True)
class PaperRow:
    """One pose. place, move: of the reference point from the datum, along, across (left +), up; no move in pose 1.
    floor_move_mm: how far a floor that moves under the puppet goes, along and up; None where it lies still."""

    pose: int
    first_frame: int
    timecodes: tuple[str, ...]
    step: int
    key: str
    place_mm: Triple
    move_mm: Triple | None
    floor_move_mm: tuple[float, float] | None
    feet: tuple[FootRow, ...]
    do: tuple[str, ...]
    safe: bool
    focus_mm: float | None

    @property
    def frames(self) -> int:
        return len(self.timecodes)

    @property
    def is_key(self) -> bool:
        return self.key != "in-between"


def rounded(values: npt.ArrayLike, grain_mm: float) -> Floats:
    """To the nearest whole number of grains, halves up; -0 is 0."""
    count = np.floor(np.asarray(values, dtype=np.float64) / grain_mm + 0.5 + 1e-9)
    return np.round(count * grain_mm, 6) + 0.0


def rows_of(plan: Plan, instructions: SetInstructions, grain_mm: float = GRAINS_MM[0]) -> tuple[PaperRow, ...]:
    """A row a pose; lengths in mm, rounded to grain_mm."""
    place = rounded(plan.reference_mm, grain_mm)
    moves = np.round(np.diff(place, axis=0), 6) + 0.0
    floor = np.round(np.diff(rounded(plan.floor_shift_mm[:, [0, 2]], grain_mm), axis=0), 6) + 0.0
    codes = timecodes(np.arange(1, plan.frames + 1), plan.shot.rate)
    feet = _feet(plan, instructions, grain_mm)
    spot = plan.shot.walk.on_the_spot
    focus = instructions.focus_mm
    rows: list[PaperRow] = []
    for k, (first, last) in enumerate(zip(plan.first_frame.tolist(), plan.last_frame.tolist(), strict=True)):
        rows.append(
            PaperRow(
                k + 1,
                first,
                tuple(codes[first - 1 : last]),
                int(plan.step[k]),
                plan.keys[k],
                _triple(place[k]),
                _triple(moves[k - 1]) if k else None,
                (float(floor[k - 1, 0]), float(floor[k - 1, 1])) if spot and k else None,
                feet[k],
                instructions.do[k],
                bool(instructions.safe[k]),
                float(rounded(focus[k], 1.0)) if focus else None,
            )
        )
    return tuple(rows)


def _triple(values: Floats) -> Triple:
    x, y, z = values.tolist()
    return x, y, z


def toe_mark_mm(plan: Plan) -> Floats:
    """(footfalls, 2) where the toe tip of each footfall's flat foot lies, seen from above."""
    f, legs = plan.footing, plan.shot.puppet.legs
    front = np.array([leg.ball_ahead_mm + leg.toe_mm for leg in legs])[f.leg] * np.cos(np.radians(f.pitch_deg))
    turn = np.radians(f.heading_deg)
    return f.place_mm[:, :2] + front[:, None] * np.stack((np.cos(turn), np.sin(turn)), axis=1)


def _feet(plan: Plan, instructions: SetInstructions, grain_mm: float) -> list[tuple[FootRow, ...]]:
    heights = rounded(_heights_mm(plan), grain_mm).tolist()
    ahead, beside = _ahead(plan)
    ahead_mm = rounded(ahead, grain_mm).tolist()
    rows: list[tuple[FootRow, ...]] = []
    for k in range(plan.poses):
        feet: list[FootRow] = []
        for i, leg in enumerate(plan.legs):
            state = FootState(int(plan.state[k, i]))
            free = None
            if state != FootState.PLANTED:
                other = int(beside[k, i])
                knee, ankle, heel, toe = heights[k][i]
                ahead_of = (ahead_mm[k][i], plan.legs[other]) if other >= 0 else (None, "")
                free = FreeFoot(knee, ankle, heel, toe, *ahead_of)
            feet.append(FootRow(leg, STATE_WORDS[state], bool(instructions.tied[k, i]), instructions.hole[k][i], free))
        rows.append(tuple(feet))
    return rows


def _heights_mm(plan: Plan) -> Floats:
    """(poses, legs, 4) heights of knee, ankle, heel and toe tip over the floor under the foot."""
    legs = plan.shot.puppet.legs
    # the floor under the ankle lies on the line between the floor's places under heel and ball
    share = np.array([leg.heel_behind_mm / max(leg.heel_behind_mm + leg.ball_ahead_mm, 1e-9) for leg in legs])
    heel_floor = plan.heel_mm[..., 2] - plan.over_floor_mm[..., 0]
    ball_floor = plan.ball_mm[..., 2] - plan.over_floor_mm[..., 1]
    floor = heel_floor + np.clip(share, 0.0, 1.0) * (ball_floor - heel_floor)
    over = plan.over_floor_mm
    return np.stack((plan.knee_mm[..., 2] - floor, plan.ankle_mm[..., 2] - floor, over[..., 0], over[..., 2]), axis=-1)


def _ahead(plan: Plan) -> tuple[Floats, npt.NDArray[np.int64]]:
    """(poses, legs) how far a toe tip is ahead of a standing foot's toe mark along the track, and that foot; -1: none.

    The standing foot is the one of the same pair that lies flat, else one that stands at all, else another leg's that
    does, the latest to land first.
    """
    stance, marks = stance_of(plan), toe_mark_mm(plan)
    landed = np.where(stance >= 0, plan.footing.first[stance], -(10**6))
    rank = np.where(stance >= 0, landed + 10.0**7 * (plan.state == FootState.PLANTED), -np.inf)
    mates = np.zeros((len(plan.legs),) * 2)
    for group in groups_of(plan.shot.puppet, plan.shot.settled_walk):
        for one in group.legs:
            mates[one, list(group.legs)] = 1e9
    choice = rank[:, None, :] + mates[None]
    choice[:, range(len(plan.legs)), range(len(plan.legs))] = -np.inf
    other = choice.argmax(axis=2)
    found = np.isfinite(np.take_along_axis(choice, other[..., None], axis=2)[..., 0])
    mark = marks[np.take_along_axis(stance, other, axis=1)]
    toe = plan.toe_mm[..., :2] - plan.floor_shift_mm[:, None, :2]
    turn = np.radians(plan.heading_deg)[:, None]
    away = toe - mark
    ahead: Floats = away[..., 0] * np.cos(turn) + away[..., 1] * np.sin(turn)
    return np.where(found, ahead, 0.0), np.where(found, other, -1)
