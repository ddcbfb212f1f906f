"""What a stage holds, in a picture: holes near the prints, those that are used, obstacles, the board's edges."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..camera.clipping import many_paths_from_stage, polygon_from_stage
from ..camera.lens import pixels_from_stage
from ..model.holes import holes_about, holes_mm, is_missing, is_one_of, nearest_holes
from ..model.shot import Shot
from ..model.view import View
from ..solve.ground import floor_height_mm
from .drawing import Area, Dot, Item, Line, Ring
from .palette import Palette

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_USED_MM = 0.5
_MOST_HOLES = 3000
_FREE_PX, _USED_PX, _MISSING_PX = 2.0, 6.5, 4.0
_OBSTACLE_FILL = 0.25


class StageMarks:
    """Holes, obstacles and edges of a shot's stage. Used holes wear a ring, missing ones are crosses."""

    def __init__(self, shot: Shot, ties_mm: Floats, near_mm: float, palette: Palette) -> None:
        """ties_mm (n, 3): tie-down points of all prints; holes are shown up to near_mm from any of them."""
        self._palette = palette
        self._holes, self._used, self._gone = stage_holes(shot, ties_mm, near_mm)
        around = np.linspace(0.0, 2.0 * np.pi, 33)
        circle = np.stack((np.cos(around), np.sin(around)), axis=1)
        arms = 0.7071 * np.array(((1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0)))
        self._obstacles: list[tuple[Floats, Floats, Floats]] = []
        for one in shot.obstacles:
            shape = np.array(one.at_mm) + one.radius_mm * np.concatenate((circle, arms))
            placed = np.column_stack((shape, floor_height_mm(shot, shape)))
            self._obstacles.append((placed[:33], placed[33:35], placed[35:]))
        self._edges = stage_edges_mm(shot, ties_mm, 4.0 * near_mm)

    def items(self, view: View, low_mm: float, high_mm: float) -> list[Item]:
        """Those that lie from low to high along the stage; edges and obstacles all."""
        items: list[Item] = []
        for paths in many_paths_from_stage(view, self._edges):
            items.extend(Line(path, self._palette.print_line) for path in paths)
        for outline, *arms in self._obstacles:
            area = polygon_from_stage(view, outline[:-1])
            if len(area) >= 3:
                items.append(Area((area,), self._palette.body.outline.colour, _OBSTACLE_FILL))
            for paths in many_paths_from_stage(view, [outline, *arms]):
                items.extend(Line(path, self._palette.print_line) for path in paths)
        if not len(self._holes):
            return items
        pixels, depth = pixels_from_stage(view, self._holes)
        shown = (depth > 0) & (self._holes[:, 0] >= low_mm) & (self._holes[:, 0] <= high_mm)
        shown &= (pixels >= -0.5).all(axis=1) & (pixels <= np.array((view.width, view.height)) - 0.5).all(axis=1)
        for k in np.flatnonzero(shown).tolist():
            items.extend(self._hole(float(pixels[k, 0]), float(pixels[k, 1]), bool(self._used[k]), bool(self._gone[k])))
        return items

    def _hole(self, x: float, y: float, used: bool, gone: bool) -> list[Item]:
        scale, palette = self._palette.scale, self._palette
        if gone:
            arm = _MISSING_PX * scale
            return [
                Line(np.array(((x - arm, y - sign * arm), (x + arm, y + sign * arm))), palette.floor_line)
                for sign in (1, -1)
            ]
        if used:
            return [Ring(x, y, _USED_PX * scale, palette.ring_tick)]
        return [Dot(x, y, _FREE_PX * scale, palette.print_line)]


def stage_holes(shot: Shot, ties_mm: Floats, near_mm: float) -> tuple[Floats, Flags, Flags]:
    """Places (n, 3) of the holes to show, whether a foot is tied at each, whether it is missing."""
    grid = shot.grid
    if grid is None or not len(ties_mm):
        return np.zeros((0, 3)), np.zeros(0, dtype=bool), np.zeros(0, dtype=bool)
    ij = holes_about(grid, ties_mm[:, :2], max(near_mm, grid.pitch_mm))
    if len(ij) > _MOST_HOLES:  # a fine grid: those that are used tell enough
        ij = holes_about(grid, ties_mm[:, :2], min(near_mm, grid.pitch_mm))
    places = holes_mm(grid, ij)
    gone = is_missing(grid, ij)
    under = nearest_holes(grid, ties_mm[:, :2])
    met = under[np.linalg.norm(holes_mm(grid, under) - ties_mm[:, :2], axis=1) <= _USED_MM]
    used = is_one_of(ij, met) & ~gone
    return np.column_stack((places, floor_height_mm(shot, places))), used, gone


def stage_edges_mm(shot: Shot, ties_mm: Floats, beyond_mm: float) -> list[Floats]:
    """The board's edges as lines (2, 3) on the floor at height 0; those of a board that ends along only, or across
    only, go beyond the walk by so much."""
    along, across = shot.stage.along_mm, shot.stage.across_mm
    if (along is None and across is None) or not len(ties_mm):
        return []
    low, high = ties_mm.min(axis=0) - beyond_mm, ties_mm.max(axis=0) + beyond_mm
    x, y = along or (float(low[0]), float(high[0])), across or (float(low[1]), float(high[1]))
    ends: list[tuple[tuple[float, float], tuple[float, float]]] = []
    if along is not None:
        ends += [((at, y[0]), (at, y[1])) for at in along]
    if across is not None:
        ends += [((x[0], at), (x[1], at)) for at in across]
    return [np.column_stack((np.array(pair), np.zeros(2))) for pair in ends]
