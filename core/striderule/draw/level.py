"""The level mark: two short lines through the chest of a walk that keeps its top level, along and across it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..camera.clipping import paths_from_stage
from ..camera.lens import pixels_from_stage
from ..model.puppet import Puppet
from ..model.view import View
from ..solve.plan import Plan
from .drawing import Item, Line
from .palette import Palette

Floats = npt.NDArray[np.float64]

LEAST_SHARE = 0.5
"""How level a step must keep the top for the mark to be shown: more level than turning."""


class LevelMark:
    """The level mark of a plan in one view; nothing for a walk whose chest turns."""

    def __init__(self, plan: Plan, view: View, palette: Palette) -> None:
        self._plan, self._view, self._palette = plan, view, palette
        cross = _cross_mm(plan.shot.puppet)
        self._lines: Floats = plan.on_part("chest", cross) if plan.asked.level is not None else np.empty((0, 4, 3))

    def shown(self, pose: int) -> bool:
        level = self._plan.asked.level
        return level is not None and bool(level[pose] >= LEAST_SHARE)

    def items(self, pose: int) -> list[Item]:
        """Both lines in a pose."""
        if not self.shown(pose):
            return []
        view = self._view.at(pose)
        ink = replace(self._palette.mark, width=0.9 * self._palette.mark.width)
        ends = self._lines[pose]
        return [Line(path, ink) for pair in (ends[:2], ends[2:]) for path in paths_from_stage(view, pair)]

    def words(self, pose: int) -> str:
        """How level the top is: its lean and tilt on the stage."""
        lean, tilt = (round(float(angle), 1) + 0.0 for angle in self._plan.chest_deg[pose, 1:])
        return f"top: lean {lean:.1f}, tilt {tilt:.1f} degrees"

    def place_px(self, pose: int) -> Floats:
        """(2,) the middle of the mark; NaN behind the camera."""
        return pixels_from_stage(self._view.at(pose), self._lines[pose].mean(axis=0))[0]


def _cross_mm(puppet: Puppet) -> Floats:
    """(4, 3) ends of the line along and of the one across, from the body's centre in the zero pose: through the
    shoulders of the arms, else three quarters of the way from waist to neck."""
    body = puppet.body
    half = max(abs(leg.hip_mm[1]) for leg in puppet.legs)
    middle = 0.25 * np.array(body.waist_mm) + 0.75 * np.array(body.neck_mm)
    shoulders = np.array([arm.shoulder_mm for arm in puppet.arms if arm.part == "chest"])
    if len(shoulders):
        middle, half = shoulders.mean(axis=0), float(np.abs(shoulders[:, 1]).max())
    half = max(1.25 * half, 1.0)
    return middle + half * np.array([(-1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 1.0, 0.0)])
