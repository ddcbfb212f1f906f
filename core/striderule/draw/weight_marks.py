"""The layer `weight`: the centre of mass dropped to the floor, the area that the puppet stands on, and what a rig lifts
where."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..camera.clipping import paths_from_stage, polygon_from_stage
from ..camera.lens import pixels_from_stage
from ..check.weight.load import Weight, weigh
from ..check.weight.support import hull
from ..check.weight.words import lifted_words
from ..model.view import View
from ..solve.plan import FootState, Plan
from .drawing import Area, Dot, Item, Label, Line, Ring
from .font import text_width
from .labelling import Box, NotePlacer
from .palette import YELLOW, Palette

Floats = npt.NDArray[np.float64]

SHORT_CAUTION = "estimates: fix rigs so that nothing can fall on a person"
_CAUTION_SIZE = 18.0
_RADIUS = 9.0  # of the mark at the centre of mass
_ARROW = 58.0  # length of the rig's arrow, and how far it stands off the point
_OFF = 20.0


class WeightMarks:
    """What a plan's weight has to show in one view; nothing where its puppet was not weighed."""

    def __init__(self, plan: Plan, view: View, palette: Palette) -> None:
        self._plan, self._view, self._palette = plan, view, palette

    @property
    def weight(self) -> Weight | None:
        return weigh(self._plan)

    def items(self, pose: int, placer: NotePlacer, taken: Sequence[Box]) -> list[Item]:
        """The layer in a pose. placer: finds room for its words. taken: boxes of pixels that the caution keeps off."""
        weight = self.weight
        if weight is None:
            return []
        view = self._view.at(pose)
        items = self._area(view, weight, pose)
        centre = weight.parts.centre_mm[pose]
        foot = centre.copy()
        foot[2] = self._floor_mm(pose)
        for path in paths_from_stage(view, np.array([centre, foot])):
            items.append(Line(path, self._palette.dropped))
        (at, below), depth = pixels_from_stage(view, np.array([centre, foot]))
        if depth[0] > 0:
            items += self._mark(at)
        if depth[1] > 0:
            s = self._palette.scale
            items.append(Dot(float(below[0]), float(below[1]), 4.5 * s, self._palette.mark))
            items += placer.note(self._margin_words(weight, pose), below)
        if weight.measured:
            items += self._rig(view, weight, pose, placer)
        return items + self._caution(view, taken)

    def _floor_mm(self, pose: int) -> float:
        return float(self._plan.floor_mm[pose])

    def _area(self, view: View, weight: Weight, pose: int) -> list[Item]:
        """The hull of the soles that are down, each corner at its own height."""
        corners = self._corners(pose)
        if not len(corners):
            return []
        edge = hull(corners[:, :2])
        near = np.linalg.norm(edge[:, None] - corners[None, :, :2], axis=-1).argmin(axis=1)
        outline = corners[near]
        items: list[Item] = []
        if len(outline) > 2:
            polygon = polygon_from_stage(view, outline)
            if len(polygon) > 2:
                items.append(Area((polygon,), YELLOW, 0.22))
        ring = np.concatenate((outline, outline[:1]))
        ink = self._palette.area if weight.margin_mm[pose] >= 0 else self._palette.left_area
        items += [Line(path, ink) for path in paths_from_stage(view, ring)]
        return items

    def _corners(self, pose: int) -> Floats:
        """(n, 3) corners of what touches the floor."""
        plan, found = self._plan, list[Floats]()
        for index, leg in enumerate(plan.shot.puppet.legs):
            state = int(plan.state[pose, index])
            if state == int(FootState.AIR):
                continue
            back = plan.ball_mm if state == int(FootState.TOE) else plan.heel_mm
            front = plan.heel_mm if state == int(FootState.HEEL) else plan.toe_mm
            side = 0.5 * leg.sole_width_mm * plan.foot_axes[pose, index, :, 1]
            found += [back[pose, index] + side, back[pose, index] - side]
            found += [front[pose, index] + side, front[pose, index] - side]
        return np.array(found).reshape(-1, 3)

    def _mark(self, at: Floats) -> list[Item]:
        """A circle with two opposite quarters filled, as drawings mark a centre of mass."""
        s = self._palette.scale
        items: list[Item] = []
        for begin in (0.0, 180.0):
            turn = np.radians(np.linspace(begin, begin + 90.0, 10))
            arc = at + _RADIUS * s * np.stack((np.cos(turn), np.sin(turn)), axis=1)
            items.append(Area((np.concatenate((at[None], arc)),), YELLOW, 1.0))
        return [*items, Ring(float(at[0]), float(at[1]), _RADIUS * s, self._palette.mark)]

    def _margin_words(self, weight: Weight, pose: int) -> str:
        """ "6 mm inside", "1 mm outside, tied"."""
        margin = float(weight.margin_mm[pose])
        if not np.isfinite(margin):
            return "no foot down"
        if margin >= -0.05:
            return f"{max(margin, 0.0):.0f} mm inside"
        held = "tied" if weight.stands[pose] else "falls"
        return f"{-margin:.0f} mm outside, {held}"

    def _rig(self, view: View, weight: Weight, pose: int, placer: NotePlacer) -> list[Item]:
        """An arrow up from the rig's point with the grams that it lifts; nothing where none is needed."""
        lift = weight.lift
        grams = float(lift.least_g[pose])
        if lift.helps[pose] and grams <= 0:
            return []
        point, depth = pixels_from_stage(view, lift.point_mm[pose])
        if not depth > 0:
            return []
        s, ink = self._palette.scale, self._palette.mark
        top = point + np.array([0.0, -(_OFF + _ARROW) * s])
        shaft = np.stack((point + np.array([0.0, -_OFF * s]), top))
        barbs = [np.stack((top, top + np.array([way * 8.0, 13.0]) * s)) for way in (-1.0, 1.0)]
        items: list[Item] = [Line(path, ink) for path in (shaft, *barbs)]
        words = f"rig {lifted_words(grams)}" if lift.helps[pose] else "no lift here helps"
        return items + placer.note(words, top)

    def _caution(self, view: View, taken: Sequence[Box]) -> list[Item]:
        """One line at the lower edge, at the upper one where that is taken."""
        s = self._palette.scale
        size = _CAUTION_SIZE * s
        width = text_width(SHORT_CAUTION, size)
        x = max(0.5 * (view.width - width), 4.0 * s)
        for y in (view.height - 12.0 * s, size + 8.0 * s):
            box = (x, y - size, x + width, y + 6.0 * s)
            if not any(box[0] < b[2] and box[2] > b[0] and box[1] < b[3] and box[3] > b[1] for b in taken):
                break
        return [Label(SHORT_CAUTION, x, y, size, self._palette.text(size))]
