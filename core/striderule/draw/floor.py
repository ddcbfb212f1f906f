"""The floor in a picture: footprints with toe joint and tie-down, the datum, the track, a faint grid, the stage."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..camera.clipping import many_paths_from_stage, paths_from_stage, polygon_from_stage
from ..camera.lens import pixels_from_stage
from ..camera.sides import over_a_stride
from ..camera.solids import sole_outline_mm
from ..model.view import View
from ..solve.ground import surface_mm
from ..solve.plan import Plan
from ..solve.rotations import foot_axes
from .drawing import Area, Dot, Item, Line
from .palette import Palette
from .stage_marks import StageMarks

Floats = npt.NDArray[np.float64]

GRID_STEPS_MM = (10.0, 25.0, 50.0, 100.0, 250.0, 500.0, 1000.0)
_LEAST_GRID_PX = 40.0
_LEAST_ROW_PX = 6.0
_PRINT_FILL = 0.28


class Floor:
    """What lies on the floor of a plan, as one view shows it."""

    def __init__(self, plan: Plan, view: View, palette: Palette, near_legs: npt.NDArray[np.bool_]) -> None:
        self._view, self._palette, self._near = view, palette, near_legs
        puppet = plan.shot.puppet
        self._legs = puppet.legs
        self._stances = [one for one in plan.stances if one.last >= 0 and one.first < plan.poses]
        self._places = np.array([one.place_mm for one in self._stances], float).reshape(-1, 3)
        self._outlines, self._joints, self._ties = self._prints()
        self._track = _track_mm(plan)
        self._shift = plan.floor_shift_mm
        width = 0.5 * (plan.shot.settled_walk.width_mm or 0.0) + 2 * max(leg.sole_width_mm for leg in self._legs)
        self._boards = [board[[0, 1, 2, 3, 0]] for board in surface_mm(plan.shot, 0.0, width)]
        self._around = 1.2 * float(plan.hip_line_mm.max())
        near = 1.2 * max(leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm for leg in self._legs)
        self._stage = StageMarks(plan.shot, self._ties, near, palette)

    def _prints(self) -> tuple[list[Floats], list[Floats], Floats]:
        """Stage places of every print's outline (n, 3), its toe joint (2, 3), and all tie-down points (prints, 3)."""
        outlines: list[Floats] = []
        joints: list[Floats] = []
        ties = np.zeros((len(self._stances), 3))
        soles = [sole_outline_mm(leg) for leg in self._legs]
        for k, stance in enumerate(self._stances):
            leg = self._legs[stance.leg]
            axes = foot_axes(*(np.radians([turn]) for turn in (stance.heading_deg, stance.pitch_deg, stance.roll_deg)))
            half = 0.5 * leg.sole_width_mm
            joint = np.array([(leg.ball_ahead_mm, half), (leg.ball_ahead_mm, -half)])
            flat = np.concatenate([soles[stance.leg], joint, np.array([leg.tie_mm])])
            placed = self._places[k] + flat @ axes[0, :, :2].T
            outlines.append(placed[:-3])
            joints.append(placed[-3:-1])
            ties[k] = placed[-1]
        return outlines, joints, ties

    def items(self, pose: int, reach_mm: float | None) -> list[Item]:
        """The floor as seen in a pose. reach_mm: only what lies so far along from the pose's place; None: all of it."""
        still = self._view.at(pose)
        # what lies on a floor that has moved is seen as by a camera that has moved the other way
        view = replace(still, translation_mm=still.translation_mm + still.rotation @ self._shift[pose])
        low, high = self._track[:, 0].min() - self._around, self._track[:, 0].max() + self._around
        chosen = range(len(self._stances))
        if reach_mm is not None:
            eye = float((-view.rotation.T @ view.translation_mm)[0])
            low, high = max(low, eye - reach_mm), min(high, eye + reach_mm)
            chosen = np.flatnonzero(np.abs(self._places[:, 0] - eye) <= reach_mm).tolist()
        items = self._grid(view, low, high)
        track = self._track
        if len(track) == 2:
            track = np.concatenate([np.clip(track[:, :1], low, high), track[:, 1:]], axis=1)
        items.extend(Line(path, self._palette.floor_line) for path in paths_from_stage(view, track))
        for board in self._boards:
            items.extend(Line(path, self._palette.floor_line) for path in paths_from_stage(view, board))
        marks = self._stage.items(view, low, high)
        return items + marks + self._footprints(view, list(chosen)) + self._datum(still)

    def _footprints(self, view: View, chosen: list[int]) -> list[Item]:
        outlines = many_paths_from_stage(view, [self._outlines[k] for k in chosen], True)
        joints = many_paths_from_stage(view, [self._joints[k] for k in chosen])
        ties, _ = pixels_from_stage(view, self._ties[chosen])
        items: list[Item] = []
        for k, paths, joint, tie in zip(chosen, outlines, joints, ties, strict=True):
            leg = self._stances[k].leg
            look = self._palette.near_leg if self._near[leg] else self._palette.far_leg
            whole = len(paths) == 1 and bool((paths[0][0] == paths[0][-1]).all())
            polygon = paths[0][:-1] if whole else polygon_from_stage(view, self._outlines[k])
            if len(polygon) >= 3:
                items.append(Area((polygon,), look.outline.colour, _PRINT_FILL))
            items.extend(Line(path[:-1] if whole else path, self._palette.print_line, whole) for path in paths)
            if self._legs[leg].toe_mm > 0:
                items.extend(Line(path, self._palette.floor_line) for path in joint)
            if -0.5 <= tie[0] <= view.width - 0.5 and -0.5 <= tie[1] <= view.height - 0.5:
                items.append(Dot(float(tie[0]), float(tie[1]), 2.6 * self._palette.scale, self._palette.datum))
        return items

    def _datum(self, view: View) -> list[Item]:
        arm = 0.08 * self._around
        items: list[Item] = []
        for ends in (((-arm, 0.0, 0.0), (arm, 0.0, 0.0)), ((0.0, -arm, 0.0), (0.0, arm, 0.0))):
            items.extend(Line(path, self._palette.datum) for path in paths_from_stage(view, np.array(ends)))
        return items

    def _grid(self, view: View, low: float, high: float) -> list[Item]:
        """Lines of a round step, far enough apart to be told from each other where the walk's middle is.

        None where no step is, as from a camera that almost lies on the floor.
        """
        right, left = self._track[:, 1].min(), self._track[:, 1].max()
        middle = np.array([(low + high) / 2, (right + left) / 2, 0.0])
        _, depth = pixels_from_stage(view, middle)
        if depth <= 0:
            return []
        ahead = view.rotation[2] * (1.0, 1.0, 0.0)
        level = math.hypot(float(ahead[0]), float(ahead[1]))
        # a floor mm seen along the line of sight is shorter than one across it by the sine of the camera's height
        rise = abs(float((-view.rotation.T @ view.translation_mm)[2])) / float(depth) if level > 1e-9 else 1.0
        per_mm = view.fy / float(depth)
        least = max(_LEAST_GRID_PX, _LEAST_ROW_PX / max(min(rise, 1.0), 1e-9)) * self._palette.scale
        step = next((one for one in GRID_STEPS_MM if one * per_mm >= least), None)
        if step is None or step > 0.6 * self._around:
            return []
        first, last = math.floor(low / step), math.ceil(high / step)
        side = math.ceil(self._around / step)
        lowest, highest = round(right / step) - side, round(left / step) + side
        if last - first > 400 or highest - lowest > 400:
            return []
        items: list[Item] = []
        ends: list[tuple[tuple[float, float, float], tuple[float, float, float]]] = [
            ((x * step, lowest * step, 0.0), (x * step, highest * step, 0.0)) for x in range(first, last + 1)
        ]
        ends += [((first * step, y * step, 0.0), (last * step, y * step, 0.0)) for y in range(lowest, highest + 1)]
        lines = many_paths_from_stage(view, [np.array(pair) for pair in ends])
        items.extend(Line(path, self._palette.grid) for paths in lines for path in paths)
        return items


def _track_mm(plan: Plan) -> Floats:
    """(n, 3) where the walk goes over the floor as it lies at pose 1: the ends of a straight and level one, else a
    place a pose."""
    reference = plan.reference_mm - plan.floor_shift_mm
    ends = np.array([reference[0], reference[-1]])
    if not plan.heading_deg.any() and not plan.floor_mm.any():
        ends[:, 1], ends[:, 2] = plan.shot.stage.start_mm[1], 0.0
        return ends
    height = plan.floor_mm - plan.floor_shift_mm[:, 2]
    return np.concatenate([over_a_stride(plan, reference[:, :2]), height[:, None]], axis=1)
