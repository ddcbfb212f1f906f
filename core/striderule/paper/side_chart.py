"""The side chart: every pose as a stick figure on the way that the walk goes, its spacing, and below them hip height in
its working band and moves, a pose after the other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..draw.drawing import Dot, Ink, Line
from ..solve.plan import Plan
from .cautions import CODES, RIGS, STAND
from .lettering import cut_to
from .page import (
    BLACK,
    DARK,
    FOOT_MM,
    MARGIN_MM,
    PLAIN,
    Mark,
    Page,
    Paper,
    Words,
    line,
)  # fmt: skip
from .pose_charts import hip_chart, load_chart, move_chart
from .room import Room
from .rows import PaperRow

Floats = npt.NDArray[np.float64]

_FIGURES = 0.32  # of the page's height
_MOST_POSES = 48
_SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 10, 20, 25, 50, 100)
_NEAR, _FAR, _BODY = Ink(BLACK, 0.4), Ink(BLACK, 0.18, dash=(1.4, 0.8)), Ink(DARK, 0.25)
_BETWEEN_MM = 11.0


@dataclass(frozen=True, eq=False)
class _Figures:
    """Stick figures (poses, points, 2) in mm along the way and up: each leg from hip to toe tip, the trunk from hips to
    neck; way (poses,) of the reference point, up (poses,) of it."""

    legs: tuple[tuple[bool, Floats], ...]
    trunk: Floats
    way: Floats
    up: Floats
    floor: Floats

    @property
    def reach(self) -> tuple[float, float, float]:
        """How far the figures reach behind and ahead of the reference point, and up over the lowest floor."""
        every = np.concatenate([*(leg for _, leg in self.legs), self.trunk], axis=1)
        local = every[..., 0] - self.way[:, None]
        return -float(local.min()), float(local.max()), float(every[..., 1].max() - self.floor.min())


def chart_pages(plan: Plan, rows: Sequence[PaperRow], paper: Paper, load: Sequence[float] = ()) -> list[Page]:
    """Lying pages, each of as many poses as have room side by side; all at one scale. load: of SetInstructions."""
    height, width = paper.size_mm
    figures = _figures(plan)
    room = width - 2 * MARGIN_MM - 16.0
    back, ahead, tall = figures.reach
    # figures as large as leaves a dozen poses on a page
    stride = float(np.abs(np.diff(figures.way)).mean()) * 12 if plan.poses > 1 else 0.0
    fits = [one for one in _SCALES if tall / one <= _FIGURES * height and (back + ahead + stride) / one <= room]
    scale = fits[0] if fits else _SCALES[-1]
    pages: list[Page] = []
    first = 0
    each = math.ceil(plan.poses / math.ceil(plan.poses / _MOST_POSES))
    while first < plan.poses:
        last = first + 1
        while last < min(plan.poses, first + each):
            span = figures.way[first : last + 1]
            if (float(span.max() - span.min()) + back + ahead) / scale > room:
                break
            last += 1
        pages.append(paper.lying(_page(plan, rows, figures, range(first, last), scale, width, height, load)))
        first = last
    return pages


def _figures(plan: Plan) -> _Figures:
    turn = np.radians(plan.heading_deg)
    heading = np.stack((np.cos(turn), np.sin(turn)), axis=1)
    reference = plan.reference_mm - plan.floor_shift_mm
    steps = np.diff(reference[:, :2], axis=0)
    moved = np.einsum("pi,pi->p", steps, 0.5 * (heading[1:] + heading[:-1]))
    way = np.concatenate(([0.0], np.cumsum(moved)))

    def flat(points: Floats) -> Floats:
        away = points[..., :2] - plan.reference_mm[:, None, :2]
        return np.stack((way[:, None] + np.einsum("pni,pi->pn", away, heading), points[..., 2]), axis=-1)

    legs: list[tuple[bool, Floats]] = []
    for k, leg in enumerate(plan.shot.puppet.legs):
        chain = (plan.hip_mm, plan.knee_mm, plan.hock_mm, plan.ankle_mm, plan.heel_mm, plan.ball_mm, plan.toe_mm)
        points = flat(np.stack([one[:, k] for one in chain], axis=1))
        legs.append((leg.outward_side < 0, points))
    hips = plan.hip_mm.mean(axis=1)
    trunk = flat(np.stack((hips, plan.waist_mm, plan.neck_mm), axis=1))
    return _Figures(tuple(legs), trunk, way, plan.reference_mm[:, 2], plan.floor_mm)


def _page(
    plan: Plan, rows: Sequence[PaperRow], figures: _Figures, poses: range, scale: float, width: float, height: float,
    load: Sequence[float],
) -> list[Mark]:  # fmt: skip
    left, right = MARGIN_MM + 12.0, width - MARGIN_MM
    title = f"Side chart, poses {poses[0] + 1}-{poses[-1] + 1}: figures at 1:{scale:g}, from the puppet's right"
    marks: list[Mark] = [Words(title, MARGIN_MM, MARGIN_MM + 4.5, 11, bold=True)]
    legend = "right legs solid, left legs dashed; dots: the reference point, ticks on the floor below it: spacing"
    marks.append(Words(cut_to(legend, right - MARGIN_MM, 7), MARGIN_MM, MARGIN_MM + 8.5, 7))
    floor = MARGIN_MM + 12.0 + _FIGURES * height
    marks += _stick_figures(figures, poses, scale, left, floor, right)
    top, bottom = floor + 15.0, height - MARGIN_MM - FOOT_MM - 5.0
    tall = bottom - top
    shares = (0.4, 0.3, 0.3) if load else (0.52, 0.48)
    heights = [share * (tall - _BETWEEN_MM * (len(shares) - 1)) for share in shares]
    hips = (left, top, right - left, heights[0])
    moves = (left, top + heights[0] + _BETWEEN_MM, right - left, heights[1])
    marks += hip_chart(plan, rows, poses, hips)
    marks += move_chart(plan, rows, poses, moves)
    if load:
        said = cut_to(f"Loads are estimates. {STAND} {RIGS} {CODES}", right - MARGIN_MM, 5.5)
        marks.append(Words(said, MARGIN_MM, height - MARGIN_MM - FOOT_MM + 2.2, 5.5))
        loads = (left, moves[1] + heights[1] + _BETWEEN_MM, right - left, heights[2])
        marks += load_chart(load, rows, poses, loads)
    return marks


def _stick_figures(
    figures: _Figures, poses: range, scale: float, left: float, floor: float, right: float
) -> list[Mark]:
    back = figures.reach[0]
    chosen = slice(poses.start, poses.stop)
    start = float(figures.way[chosen].min()) - back
    lowest = float(figures.floor.min())

    def at(points: Floats) -> Floats:
        return np.stack((left + (points[..., 0] - start) / scale, floor - (points[..., 1] - lowest) / scale), axis=-1)

    marks: list[Mark] = []
    ground = np.stack((figures.way[chosen], figures.floor[chosen]), axis=1)
    edge = at(ground)
    front = min(right, float(edge[-1, 0]) + figures.reach[1] / scale)
    marks.append(Line(np.concatenate(([[left, edge[0, 1]]], edge, [[front, edge[-1, 1]]])), PLAIN))
    for k in poses:
        for near, points in figures.legs:
            marks.append(Line(at(points[k]), _NEAR if near else _FAR))
        marks.append(Line(at(figures.trunk[k]), _BODY))
    room = Room()
    for k in poses:
        x, y = at(np.array([figures.way[k], figures.up[k]])).tolist()
        marks.append(Dot(x, y, 0.55, PLAIN))
        marks.append(line(x, floor + 2.0, x, floor + 5.0, PLAIN))
        words = room.words(str(k + 1), [(x, floor + 7.0), (x, floor + 9.4)], 6, bold=k == poses[0])
        marks += [words] if words else []
    return marks
