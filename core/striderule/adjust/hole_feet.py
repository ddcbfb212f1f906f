"""Where a walk's feet are before they are put over holes, and the holes that each of them may be put over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..check.feet import GAP_MM, outline_gap
from ..check.stage import off_stage_mm, on_obstacle_mm
from ..model.edits import FootfallEdit
from ..model.groups import edits_of, groups_of
from ..model.holes import holes_mm, holes_within, is_missing
from ..model.puppet import Leg
from ..model.shot import Shot
from ..model.stage import HoleGrid
from ..model.track import track_of
from ..solve.footfalls import footfalls_of
from ..solve.ground import Ground, ground_of
from ..solve.prints import from_above, sole_corners_mm
from ..solve.timing import steps_of

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int64]

TURNS_DEG = (0.0, 4.0, -4.0, 8.0, -8.0)
"""How far a foot may be turned to come nearer to a hole, where its tie-down is far enough from the ankle for it."""
LEAST_TIE_MM = 7.0
"""From here on 8 degrees move the ankle by a mm."""
MOST_CANDIDATES = 36


@dataclass(frozen=True, eq=False)
class Feet:
    """The footfalls (F,) of one group of legs that touch a pose of the shot, in order of landing.

    leg: index in the puppet. place (F, 2), heading, pitch, roll, travel (F,) as solve.footfalls has them; progress (F,)
    along the track; first, last (F,): poses. edit: the person's row for each, None where there is none. pinned (F,).
    """

    legs: tuple[Leg, ...]
    leg: Whole
    step: Whole
    first: Whole
    last: Whole
    place_mm: Floats
    heading_rad: Floats
    pitch_rad: Floats
    roll_rad: Floats
    travel_rad: Floats
    progress_mm: Floats
    edit: tuple[FootfallEdit | None, ...]
    pinned: Flags

    @property
    def names(self) -> list[str]:
        which: list[int] = self.leg.tolist()
        return [self.legs[leg].name for leg in which]


@dataclass(frozen=True, eq=False)
class Candidates:
    """Places (C,) that one footfall may have: hole (C, 2), ankle (C, 2), turn in degrees, moved (C, 3) as
    `hole_choice` reads it, corners (C, 4, 2) of the sole there."""

    hole: Whole
    place_mm: Floats
    turn_deg: Floats
    moved: Floats
    corners_mm: Floats


def feet_of(shot: Shot) -> tuple[Feet, ...]:
    """The footfalls of every group of legs, as the shot places them. Raises ModelError as `solve` does."""
    puppet, walk = shot.puppet, shot.settled_walk
    spot = (walk.step_mm or 0.0) / (walk.turn_per_step_deg or 1.0)
    track, ground = track_of(shot.path, shot.stage.start_mm, spot), ground_of(shot.floor)
    found: list[Feet] = []
    groups = groups_of(puppet, walk)
    mean_delay = sum(group.delay for group in groups) / len(groups)
    for group in groups:
        steps = steps_of(shot, group)
        own = edits_of(shot.edits.footfalls, group, groups)
        falls = footfalls_of(steps, group.puppet, shot, track, ground, puppet, (group.delay, mean_delay), own)
        land = steps.land[: steps.stances]
        at = np.flatnonzero((steps.off >= 0) & (land < shot.poses))
        at = at[np.argsort(land[at], kind="stable")]
        leg = np.array(group.legs)[steps.leg[at]]
        step = at - steps.before + 1
        which: list[int] = leg.tolist()
        names = [puppet.legs[k].name for k in which]
        edits = tuple(_edit_of(own, k, name) for k, name in zip(step.tolist(), names, strict=True))
        pinned = np.array([one is not None and one.at_mm is not None and one.hole_turn_deg is None for one in edits])
        found.append(
            Feet(puppet.legs, leg, step, land[at], steps.off[at], falls.place_mm[:2, at].T, falls.heading_rad[at],
                 falls.pitch_rad[at], falls.roll_rad[at], falls.travel_rad[at], falls.progress_mm[at], edits, pinned)
        )  # fmt: skip
    return tuple(found)


def _edit_of(edits: tuple[FootfallEdit, ...], step: int, leg: str) -> FootfallEdit | None:
    """The row, of a group's, that has the last word on where a footfall is."""
    rows = [one for one in edits if one.step == step and one.leg in (None, leg)]
    placed = [one for one in rows if one.at_mm is not None]
    return (placed or rows or [None])[-1]


class Floorplan:
    """What of a shot's stage says where feet may stand."""

    def __init__(self, shot: Shot, grid: HoleGrid) -> None:
        self._grid, self._stage, self._obstacles = grid, shot.stage, shot.obstacles
        self._ground: Ground = ground_of(shot.floor)
        self._soles = sole_corners_mm(shot.puppet.legs)

    def candidates(self, feet: Feet, k: int, reach: float, turns: bool = True) -> Candidates:
        """Places of footfall k over holes, at most `reach` pitches from where it is, nearest first; a pinned one stays.
        Further away where nothing is allowed there; (0,) where nothing is within reach of the leg at all."""
        if feet.pinned[k]:
            return self._at(feet, k, np.zeros((1, 2)), np.zeros((1, 2), dtype=np.int64), np.zeros(1))
        leg, edit = feet.legs[int(feet.leg[k])], feet.edit[k]
        free = turns and float(np.hypot(*leg.tie_mm)) >= LEAST_TIE_MM and (edit is None or edit.turn_deg is None)
        most = 0.75 * leg.straight_mm
        radius = reach * self._grid.pitch_mm
        while True:
            found = self._within(feet, k, radius, TURNS_DEG if free else (0.0,))
            if len(found.turn_deg) or radius >= most:
                return found
            radius *= 1.6

    def _within(self, feet: Feet, k: int, radius: float, turns: tuple[float, ...]) -> Candidates:
        leg = feet.legs[int(feet.leg[k])]
        turn = np.array(turns)
        tie = self._turned(feet, k, np.broadcast_to(np.array(leg.tie_mm), (len(turn), 2)), turn)
        hole, _ = holes_within(self._grid, feet.place_mm[k] + tie, radius)
        away = holes_mm(self._grid, hole) - tie[:, None] - feet.place_mm[k]
        near = (np.hypot(away[..., 0], away[..., 1]) <= radius) & ~is_missing(self._grid, hole)
        found = self._at(feet, k, away[near], hole[near], np.broadcast_to(turn[:, None], near.shape)[near])
        fine = off_stage_mm(self._stage, found.corners_mm) == 0
        for one in self._obstacles:
            fine &= on_obstacle_mm(one, found.corners_mm) == 0
        fine &= ~self._over_edge(feet, k, found.moved[:, 0]) | self._over_edge(feet, k, np.zeros(1))
        order = np.argsort((found.moved**2).sum(axis=1), kind="stable")
        order = order[fine[order]][:MOST_CANDIDATES]
        return Candidates(found.hole[order], found.place_mm[order], found.turn_deg[order], found.moved[order],
                          found.corners_mm[order])  # fmt: skip

    def _at(self, feet: Feet, k: int, away: Floats, hole: Whole, turn: Floats) -> Candidates:
        leg = feet.legs[int(feet.leg[k])]
        c, s = np.cos(feet.travel_rad[k]), np.sin(feet.travel_rad[k])
        toe = np.radians(turn) * (leg.ball_ahead_mm + leg.toe_mm)
        moved = np.stack((away[:, 0] * c + away[:, 1] * s, away[:, 1] * c - away[:, 0] * s, toe), axis=1)
        place = feet.place_mm[k] + away
        soles = np.broadcast_to(self._soles[int(feet.leg[k])], (len(turn), 4, 2))
        return Candidates(hole, place, turn, moved, place[:, None] + self._turned(feet, k, soles, turn))

    @staticmethod
    def _turned(feet: Feet, k: int, points: Floats, turn_deg: Floats) -> Floats:
        heading = feet.heading_rad[k] + np.radians(turn_deg)
        pitch, roll = np.full(len(heading), feet.pitch_rad[k]), np.full(len(heading), feet.roll_rad[k])
        return from_above(points, heading, pitch, roll)

    def _over_edge(self, feet: Feet, k: int, ahead: Floats) -> Flags:
        """Whether the sole lies over an edge of the floor, moved ahead by so much."""
        leg = feet.legs[int(feet.leg[k])]
        at = feet.progress_mm[k] + ahead
        return self._ground.edge_between(at - leg.heel_behind_mm, at + leg.ball_ahead_mm + leg.toe_mm)


def apart(one: Candidates, other: Candidates) -> Flags:
    """(A, B) True where the soles of two footfalls keep GAP_MM between each other."""
    a, b = one.corners_mm, other.corners_mm
    middle = np.linalg.norm(a.mean(axis=1)[:, None] - b.mean(axis=1)[None], axis=2)
    reach = _half_diagonal(a) + _half_diagonal(b) + GAP_MM
    fine = middle >= reach
    near = np.argwhere(~fine)
    if len(near):
        fine[near[:, 0], near[:, 1]] = outline_gap(a[near[:, 0]], b[near[:, 1]]) >= GAP_MM - 1e-6
    return fine


def _half_diagonal(corners: Floats) -> float:
    return float(np.linalg.norm(corners - corners.mean(axis=1, keepdims=True), axis=2).max(initial=0.0))
