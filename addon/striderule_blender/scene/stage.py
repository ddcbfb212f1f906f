"""What a stage holds: holes near the prints, rings about those that are used, obstacles, the board's edges."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from striderule.draw.stage_marks import stage_edges_mm, stage_holes
from striderule.solve.ground import floor_height_mm
from striderule.solve.plan import Plan

from .. import bridge
from . import look
from .marks import flat, laid, move_with_floor, size_mm
from .owned import OwnedSet

Floats = npt.NDArray[np.float64]


def _circle(corners: int) -> Floats:
    around = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
    return np.column_stack([np.cos(around), np.sin(around)])


_DISC = _circle(12)


def build(owned: OwnedSet, plan: Plan) -> None:
    """Write the stage's things, one mesh a kind; none where a shot's stage has none of them."""
    shot, scale, radius = plan.shot, bridge.units_per_mm(owned.scene), size_mm(plan)
    legs, lift = shot.puppet.legs, 0.15 * radius
    ties = np.array([laid(one, np.array([legs[one.leg].tie_mm]), 0.0)[0] for one in plan.stances]).reshape(-1, 3)
    near = 1.2 * max(leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm for leg in legs)
    places, used, gone = stage_holes(shot, ties, near)
    hole = min(0.7 * radius, 0.2 * shot.grid.pitch_mm) if shot.grid else 0.0
    things = {
        "holes": ([_disc(at, hole, 0.4 * lift) for at in places[~gone]], look.HOLE),
        "used holes": ([part for at in places[used] for part in _ring(at, 3.2 * hole, 3.2 * lift)], look.REFERENCE),
        "missing holes": ([part for at in places[gone] for part in _cross(at, 1.6 * hole, 0.4 * lift)], look.HOLE),
        "obstacles": ([], look.OBSTACLE),
        "stage edges": ([_strip(ends, 0.5 * radius, 0.4 * lift) for ends in stage_edges_mm(shot, ties, 4.0 * near)],
                        look.RULER),
    }  # fmt: skip
    for one in shot.obstacles:
        around = np.array(one.at_mm) + one.radius_mm * _circle(32)
        things["obstacles"][0].append(np.column_stack([around, floor_height_mm(shot, around) + 2.0 * lift]))
    for role, (rings, colour) in things.items():
        if rings:
            thing = flat(owned, role, rings, look.material(owned, role, colour), scale)
            move_with_floor(owned, thing, role, plan)


def _disc(at: Floats, radius: float, up: float) -> Floats:
    return np.column_stack([at[:2] + radius * _DISC, np.full(len(_DISC), at[2] + up)])


def _ring(at: Floats, radius: float, up: float) -> list[Floats]:
    """A ring as quads, counter-clockwise from above."""
    outer, inner = _disc(at, radius, up), _disc(at, 0.7 * radius, up)
    following = [*range(1, len(outer)), 0]
    return [np.array([inner[k], outer[k], outer[n], inner[n]]) for k, n in enumerate(following)]


def _cross(at: Floats, arm: float, up: float) -> list[Floats]:
    """Two strips across each other."""
    ends = ((-arm, -arm), (arm, arm)), ((-arm, arm), (arm, -arm))
    return [_strip(np.column_stack([at[:2] + np.array(pair), np.full(2, at[2])]), 0.25 * arm, up) for pair in ends]


def _strip(ends: Floats, half: float, up: float) -> Floats:
    """A line (2, 3) as a strip of some width, counter-clockwise from above."""
    way = ends[1, :2] - ends[0, :2]
    along = way / max(float(np.hypot(*way)), 1e-9)
    right = half * np.array([along[1], -along[0], 0.0])
    corners = np.array([ends[0] + right, ends[1] + right, ends[1] - right, ends[0] - right])
    corners[:, 2] += up
    return corners
