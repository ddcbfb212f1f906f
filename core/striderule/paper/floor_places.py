"""What lies on the floor, in mm from the datum as seen from above: prints, tie-downs, the track, holes.

Of a floor that moves under the puppet: as it lies at pose 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.solids import sole_outline_mm
from ..solve.plan import Plan
from ..solve.rotations import foot_axes
from .grid_holes import Hole, holes_in, names_at
from .instructions import leg_words

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Print:
    """One footfall. number: in the order of landing. outline (n, 2), joint (2, 2) the toe joint or None, tie, ankle and
    toe (2,); height of the floor there; first, last: poses from 1 in which it stands. hole: "" without one."""

    number: int
    leg: str
    side: int
    outline: Floats
    joint: Floats | None
    tie: Floats
    ankle: Floats
    toe: Floats
    height_mm: float
    heading_deg: float
    first: int
    last: int
    hole: str

    @property
    def name(self) -> str:
        return f"{self.number} {leg_words(self.leg)}"


@dataclass(frozen=True, eq=False)
class FloorPlaces:
    """prints in the order of landing; reference (poses, 2) under the reference point; heading_deg (poses,) of the
    track; holes of the grid around them all; low, high (2,): corners of the box around prints, track and datum."""

    prints: tuple[Print, ...]
    reference: Floats
    heading_deg: Floats
    holes: tuple[Hole, ...]
    low: Floats
    high: Floats

    @property
    def extent_mm(self) -> float:
        return float((self.high - self.low).max())


def floor_places(plan: Plan) -> FloorPlaces:
    """Places of every footfall that touches the shot."""
    legs, grid = plan.shot.puppet.legs, plan.shot.grid
    prints: list[Print] = []
    stances = [one for one in plan.stances if one.last >= 0 and one.first < plan.poses]
    soles = [sole_outline_mm(leg, 49) for leg in legs]
    for number, stance in enumerate(stances, 1):
        leg = legs[stance.leg]
        turns = (np.radians([turn]) for turn in (stance.heading_deg, stance.pitch_deg, stance.roll_deg))
        flat = foot_axes(*turns)[0, :2, :2]
        place, half = np.array(stance.place_mm[:2]), 0.5 * leg.sole_width_mm
        local = np.array([leg.tie_mm, (leg.ball_ahead_mm + leg.toe_mm, 0.0), (leg.ball_ahead_mm, half),
                          (leg.ball_ahead_mm, -half)])  # fmt: skip
        marks = place + local @ flat.T
        prints.append(
            Print(
                number, leg.name, leg.outward_side, place + soles[stance.leg] @ flat.T,
                marks[2:] if leg.toe_mm > 0 else None, marks[0], place, marks[1], stance.place_mm[2],
                stance.heading_deg, max(stance.first, 0) + 1, min(stance.last, plan.poses - 1) + 1,
                names_at(grid, marks[:1])[0] if grid else "",
            )
        )  # fmt: skip
    reference = plan.reference_mm[:, :2] - plan.floor_shift_mm[:, :2]
    every = np.concatenate([*(one.outline for one in prints), reference, np.zeros((1, 2))])
    low, high = every.min(axis=0), every.max(axis=0)
    holes = tuple(holes_in(grid, low - 0.6 * grid.pitch_mm, high + 0.6 * grid.pitch_mm)) if grid else ()
    return FloorPlaces(tuple(prints), reference, plan.heading_deg, holes, low, high)


def tie_hole_names(plan: Plan) -> tuple[str, ...]:
    """The hole's name of every footfall of `plan.footing`; () without a grid."""
    grid, f = plan.shot.grid, plan.footing
    if grid is None:
        return ()
    ties = np.array([leg.tie_mm for leg in plan.shot.puppet.legs])[f.leg]
    axes = foot_axes(*np.radians((f.heading_deg, f.pitch_deg, f.roll_deg)))[:, :2, :2]
    return names_at(grid, f.place_mm[:, :2] + np.einsum("fij,fj->fi", axes, ties))
