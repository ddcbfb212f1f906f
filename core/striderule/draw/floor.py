"""The floor in a picture: footprints with toe joint and tie-down, the datum, the track, a faint grid."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from ..camera.clipping import paths_from_stage, polygon_from_stage
from ..camera.lens import pixels_from_stage
from ..camera.solids import sole_outline_mm
from ..model.view import View
from ..solve.plan import Plan
from .drawing import Area, Dot, Item, Line
from .palette import Palette

Floats = npt.NDArray[np.float64]

GRID_STEPS_MM = (10.0, 25.0, 50.0, 100.0, 250.0, 500.0, 1000.0)
_LEAST_GRID_PX = 40.0


class Floor:
    """What lies on the floor of a plan, as one view shows it."""

    def __init__(self, plan: Plan, view: View, palette: Palette, near_legs: npt.NDArray[np.bool_]) -> None:
        self._view, self._palette, self._near = view, palette, near_legs
        puppet = plan.shot.puppet
        self._soles = [sole_outline_mm(leg) for leg in puppet.legs]
        self._legs = puppet.legs
        self._stances = [one for one in plan.stances if one.last >= 0 and one.first < plan.poses]
        self._places = np.array([one.place_mm for one in self._stances], float).reshape(-1, 3)
        self._track = np.array([plan.reference_mm[0], plan.reference_mm[-1]])
        self._track[:, 1] = plan.shot.stage.start_mm[1]
        self._track[:, 2] = 0.0
        self._around = 1.2 * float(plan.hip_line_mm.max())

    def items(self, pose: int, reach_mm: float | None) -> list[Item]:
        """The floor as seen in a pose. reach_mm: only what lies so far along from the pose's place; None: all of it."""
        view = self._view.at(pose)
        low, high = self._track[0, 0] - self._around, self._track[1, 0] + self._around
        chosen = range(len(self._stances))
        if reach_mm is not None:
            eye = float((-view.rotation.T @ view.translation_mm)[0])
            low, high = max(low, eye - reach_mm), min(high, eye + reach_mm)
            chosen = np.flatnonzero(np.abs(self._places[:, 0] - eye) <= reach_mm).tolist()
        items = self._grid(view, low, high)
        track = self._track.copy()
        track[:, 0] = np.clip(track[:, 0], low, high)
        items.extend(Line(path, self._palette.floor_line) for path in paths_from_stage(view, track))
        for index in chosen:
            items.extend(self._footprint(view, index))
        return items + self._datum(view)

    def _footprint(self, view: View, index: int) -> list[Item]:
        stance, leg = self._stances[index], self._legs[self._stances[index].leg]
        heading = math.radians(stance.heading_deg)
        turn = np.array([(math.cos(heading), math.sin(heading)), (-math.sin(heading), math.cos(heading))])

        def placed(local: Floats) -> Floats:
            flat = np.atleast_2d(local) @ turn
            return self._places[index] + np.concatenate([flat, np.zeros((len(flat), 1))], axis=1)

        look = self._palette.near_leg if self._near[stance.leg] else self._palette.far_leg
        outline = placed(self._soles[stance.leg])
        items: list[Item] = []
        polygon = polygon_from_stage(view, outline)
        if len(polygon) >= 3:
            items.append(Area((polygon,), look.outline.colour, 0.28))
        items.extend(
            Line(path, self._palette.print_line, _shut(path)) for path in paths_from_stage(view, outline, True)
        )
        if leg.toe_mm > 0:
            half = 0.5 * leg.sole_width_mm
            joint = placed(np.array([(leg.ball_ahead_mm, half), (leg.ball_ahead_mm, -half)]))
            thin = self._palette.floor_line
            items.extend(Line(path, thin) for path in paths_from_stage(view, joint))
        tie = placed(np.array(leg.tie_mm))
        at, _ = pixels_from_stage(view, tie[0])
        if np.isfinite(at).all() and -0.5 <= at[0] <= view.width - 0.5 and -0.5 <= at[1] <= view.height - 0.5:
            items.append(Dot(float(at[0]), float(at[1]), 2.6 * self._palette.scale, self._palette.datum))
        return items

    def _datum(self, view: View) -> list[Item]:
        arm = 0.08 * self._around
        items: list[Item] = []
        for ends in (((-arm, 0.0, 0.0), (arm, 0.0, 0.0)), ((0.0, -arm, 0.0), (0.0, arm, 0.0))):
            items.extend(Line(path, self._palette.datum) for path in paths_from_stage(view, np.array(ends)))
        return items

    def _grid(self, view: View, low: float, high: float) -> list[Item]:
        """Lines of a round step, at least 40 pixels (of a picture 1080 high) apart where the walk's middle is."""
        middle = np.array([((low + high) / 2, self._track[0, 1], 0.0)])
        _, depth = pixels_from_stage(view, middle)
        if depth[0] <= 0:
            return []
        per_mm = view.fy / float(depth[0])
        step = next((one for one in GRID_STEPS_MM if one * per_mm >= _LEAST_GRID_PX * self._palette.scale), None)
        if step is None:
            return []
        first, last = math.floor(low / step), math.ceil(high / step)
        side = math.ceil(self._around / step)
        centre = round(self._track[0, 1] / step)
        if last - first > 400:
            return []
        items: list[Item] = []
        ends: list[tuple[tuple[float, float, float], tuple[float, float, float]]] = [
            ((x * step, (centre - side) * step, 0.0), (x * step, (centre + side) * step, 0.0))
            for x in range(first, last + 1)
        ]
        ends += [
            ((first * step, y * step, 0.0), (last * step, y * step, 0.0))
            for y in range(centre - side, centre + side + 1)
        ]
        for pair in ends:
            items.extend(Line(path, self._palette.grid) for path in paths_from_stage(view, np.array(pair)))
        return items


def _shut(path: Floats) -> bool:
    """True where a closed outline came back whole: its last place is its first."""
    return len(path) > 2 and bool(np.allclose(path[0], path[-1], atol=1e-9))
