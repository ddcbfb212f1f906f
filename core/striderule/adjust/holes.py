"""Put a walk's feet over the holes of the stage's grid: Shot -> Shot, written as `[[edit.footfall]]`.

A choice for the whole walk at once (`hole_choice`): of all ways to put every foot's tie-down over a hole near where the
walk wants it, the one that changes step lengths, strides, widths and headings least. Then it is solved, and where legs
do not follow, the step that is to blame is barred and the choice made again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..check import findings_of
from ..model.holes import hole_name, off_holes
from ..model.puppet import Leg
from ..model.shot import Shot
from ..model.stage import HoleGrid
from ..solve import solve
from ..solve.plan import Plan
from ..solve.prints import from_above
from .hole_choice import chosen
from .hole_feet import Candidates, Feet, Floorplan, apart, feet_of
from .hole_reach import Bars, new_trouble, steps_to_bar, trouble_by_pose
from .hole_rows import tied_shot, without_ties

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

MOST_UNEVEN = 0.1
"""Steps that are changed by shares of a step that differ by more than this limp (common practice, no source)."""

_REACHES = ((1.25, True), (2.25, True), (3.5, False))
"""How far holes are looked for, in pitches, and whether feet may be turned: further out where nearer ones do not do."""
_ROUNDS = 6
_ALONG_WITH = 0.3
"""Weight of the feet of one pair moving as those behind them do, so that they do not pull the trunk apart."""


@dataclass(frozen=True)
class Tied:
    """One footfall: where the walk wants the ankle and where it stands now, mm from the datum; how far that is ahead
    and to the left, and how much longer that makes the step that ends in it (0 for the first); the hole it is tied at,
    "" = none (pinned elsewhere)."""

    step: int
    leg: str
    hole: str
    ij: tuple[int, int] | None
    old_mm: tuple[float, float]
    new_mm: tuple[float, float]
    ahead_mm: float
    left_mm: float
    longer_mm: float
    turn_deg: float
    pinned: bool


@dataclass(frozen=True)
class Snapped:
    """shot: with its feet over holes, the given one where that cannot be. tied: every footfall, () without a grid.
    uneven: by how much the changes of step lengths differ, as a share of the walk's step. why: what forbids it, in
    words, empty where it fits."""

    shot: Shot
    tied: tuple[Tied, ...]
    uneven: float
    why: tuple[str, ...] = ()

    @property
    def fits(self) -> bool:
        return not self.why

    @property
    def limps(self) -> bool:
        return self.uneven > MOST_UNEVEN + 1e-9

    @property
    def lengths_mm(self) -> tuple[float, float]:
        """How much the step that loses most and the one that gains most are longer than asked."""
        longer = [one.longer_mm for one in self.tied] or [0.0]
        return min(longer), max(longer)


def snap_to_holes(shot: Shot) -> Snapped:
    """The shot with every foot that touches a pose of it over a hole, as `[[edit.footfall]]` with at_mm and
    hole_turn_deg; rows whose at_mm a person typed stay, and snapping again gives the same.

    A stage without a grid (magnets hold anywhere) leaves the shot as it is. Raises ModelError as `solve` does.
    """
    grid = shot.grid
    if grid is None:
        return Snapped(shot, (), 0.0)
    bare = without_ties(shot)
    before = trouble_by_pose(solve(bare))
    feet = feet_of(bare)
    floorplan = Floorplan(bare, grid)
    why: tuple[str, ...] = ()
    bars = [Bars.none() for _ in feet]
    for reach, turns in _REACHES:
        tried = _Choice(feet, floorplan, reach, turns, bars)
        if tried.nowhere:
            why = tried.nowhere
            continue
        for _ in range(_ROUNDS):
            found = tried.choose()
            if found is None:
                why = why or (_NO_WAY,)
                break
            new = tied_shot(bare, grid, feet, found)
            plan = solve(new)
            bad = new_trouble(before, plan)
            if not bad.any():
                return _snapped(new, grid, feet, found)
            if not why or why == (_NO_WAY,):
                why = _why(plan)
            if not tried.bar(bad, found):
                break
    return Snapped(shot, (), 0.0, why)


def _why(plan: Plan) -> tuple[str, ...]:
    """What the checks say of a choice that does not do."""
    said = [one for one in findings_of(plan, with_cures=False) if one.severity != "note"]
    worst = [one.text for one in said if one.severity == "impossible"]
    return tuple(worst or [one.text for one in said if one.code == "soles-close"]) or (_NO_WAY,)


_NO_WAY = "No choice of holes keeps the soles apart and every step within the legs' reach."


class _Choice:
    """The holes about every footfall, and which steps between them may be taken."""

    def __init__(
        self, feet: Sequence[Feet], floorplan: Floorplan, reach: float, turns: bool, bars: Sequence[Bars]
    ) -> None:
        self._feet = feet
        self._holes = [[floorplan.candidates(one, k, reach, turns) for k in range(len(one.leg))] for one in feet]
        self._bars = bars
        self.nowhere = tuple(
            f"No hole is left for the {name} foot of step {step}: the nearest ones are missing, over the stage's edge, "
            "on an obstacle, or out of its leg's reach."
            for one, holes in zip(feet, self._holes, strict=True)
            for name, step, some in zip(one.names, one.step.tolist(), holes, strict=True)
            if not len(some.turn_deg)
        )
        if not self.nowhere:
            self._apart = [
                [_walkable(one, holes, k) for k in range(1, len(holes))]
                for one, holes in zip(feet, self._holes, strict=True)
            ]

    def choose(self) -> list[list[Candidates]] | None:
        """The chosen candidate of every footfall of every group, one each; None where there is no choice."""
        found: list[list[Candidates]] = []
        for g, holes in enumerate(self._holes):
            allowed = [
                mask & self._bars[g].fine(k, holes[k - 1], holes[k]) for k, mask in enumerate(self._apart[g], start=1)
            ]
            also = [self._beside(g, k, found) for k in range(len(holes))]
            choice = chosen([one.moved for one in holes], allowed, also)
            if choice is None or not np.isfinite(choice[1]):
                return None
            found.append([_only(one, index) for one, index in zip(holes, choice[0], strict=True)])
        return found

    def _beside(self, g: int, k: int, others: list[list[Candidates]]) -> Floats:
        """(C,) what candidates cost for the feet of groups that are chosen already: none may be on their prints."""
        own, feet = self._holes[g][k], self._feet[g]
        cost = np.zeros(len(own.turn_deg))
        for other, prints in zip(self._feet, others, strict=False):
            together = (other.first <= feet.last[k]) & (other.last >= feet.first[k])
            for at in np.flatnonzero(together).tolist():
                if not (feet.pinned[k] and other.pinned[at]):
                    cost[~apart(own, prints[at])[:, 0]] = np.inf
            ahead = np.array([one.moved[0, 0] for one in prints])
            beside = float(np.interp(float(feet.first[k]), other.first, ahead))
            cost = cost + _ALONG_WITH * (own.moved[:, 0] - beside) ** 2
        return cost

    def bar(self, bad: Floats, found: list[list[Candidates]]) -> bool:
        """Bar the steps that are to blame for bad poses (P,); False where none can be."""
        moved = [np.array([one.moved[0, :2] for one in prints]) for prints in found]
        steps = steps_to_bar(bad, list(zip(self._feet, moved, strict=True)))
        for g, k in steps:
            self._bars[g].bar(k, found[g][k - 1], 0, found[g][k], 0)
        return bool(steps)


def _only(one: Candidates, index: int) -> Candidates:
    at = slice(index, index + 1)
    return Candidates(one.hole[at], one.place_mm[at], one.turn_deg[at], one.moved[at], one.corners_mm[at])


def _walkable(feet: Feet, holes: list[Candidates], k: int) -> Flags:
    """(A, B) True where a foot on a candidate of k keeps clear of one on k - 1, and does not cross over it."""
    before, after = holes[k - 1], holes[k]
    if feet.pinned[k - 1] and feet.pinned[k]:
        return np.ones((1, 1), dtype=bool)
    fine = apart(before, after)
    side = feet.legs[int(feet.leg[k])].outward_side
    if side != feet.legs[int(feet.leg[k - 1])].outward_side:
        normal = side * np.array((-np.sin(feet.travel_rad[k]), np.cos(feet.travel_rad[k])))
        asked = float((feet.place_mm[k] - feet.place_mm[k - 1]) @ normal)
        fine &= (after.place_mm[None] - before.place_mm[:, None]) @ normal >= min(asked, 0.0) - 1e-6
    return fine


def _snapped(new: Shot, grid: HoleGrid, feet: Sequence[Feet], found: Sequence[Sequence[Candidates]]) -> Snapped:
    tied: list[tuple[int, int, Tied]] = []
    changes: list[float] = []
    after = feet_of(new)
    for g, (one, now, prints) in enumerate(zip(feet, after, found, strict=True)):
        ahead = [float(prints[k].moved[0, 0]) for k in range(len(prints))]
        for k, (step, leg) in enumerate(zip(one.step.tolist(), one.names, strict=True)):
            longer = ahead[k] - ahead[k - 1] if k else 0.0
            if k and not one.pinned[k - 1 : k + 1].all():
                changes.append(longer)
            pick = prints[k]
            ij = (int(pick.hole[0, 0]), int(pick.hole[0, 1]))
            at = _hole_at(grid, now, k, one.legs[int(one.leg[k])]) if one.pinned[k] else ij
            (ox, oy), (nx, ny) = one.place_mm[k].tolist(), now.place_mm[k].tolist()
            tied.append((int(one.first[k]), g, Tied(
                step, leg, hole_name(grid, *at) if at else "", at, (ox, oy), (nx, ny), ahead[k],
                float(pick.moved[0, 1]), longer, float(pick.turn_deg[0]), bool(one.pinned[k]),
            )))  # fmt: skip
    tied.sort(key=lambda row: row[:2])
    step_mm = new.settled_walk.step_mm or max(leg.straight_mm for leg in new.puppet.legs)
    uneven = (max(changes) - min(changes)) / step_mm if changes else 0.0
    return Snapped(new, tuple(row for _, _, row in tied), uneven)


def _hole_at(grid: HoleGrid, feet: Feet, k: int, leg: Leg) -> tuple[int, int] | None:
    """The hole under a pinned foot's tie-down, None where there is none."""
    turn = (feet.heading_rad[k : k + 1], feet.pitch_rad[k : k + 1], feet.roll_rad[k : k + 1])
    tie = feet.place_mm[k : k + 1] + from_above(np.array([leg.tie_mm], dtype=np.float64), *turn)
    hole, away = off_holes(grid, tie)
    return (int(hole[0, 0]), int(hole[0, 1])) if away[0] <= 0.5 else None
