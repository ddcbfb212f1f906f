"""Charts with a place for every pose side by side: hip height in its working band, moves, loads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..draw.chart_paper import round_step
from ..draw.drawing import Area, Dot, Line
from ..solve.plan import Plan
from .page import BOLD, FINE, PALE, PLAIN, THIN, Mark, Words, filled, line
from .room import Room
from .rows import PaperRow

_BAR = 0.62  # of a pose's room


@dataclass(frozen=True)
class PoseChart:
    """A chart's box (left, top, width, height), its poses and what its upright axis spans."""

    box: tuple[float, float, float, float]
    poses: range
    low: float
    high: float

    def x(self, pose: int) -> float:
        return self.box[0] + (pose - self.poses[0] + 0.5) * self.box[2] / len(self.poses)

    def y(self, value: float) -> float:
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.box[1] + self.box[3] * (1.0 - share)

    def frame(self, title: str, rows: Sequence[PaperRow], names: bool) -> list[Mark]:
        left, top, width, height = self.box
        marks: list[Mark] = [Words(title, left, top - 1.5, 7.5, bold=True)]
        step = round_step(self.high - self.low, 6)
        for k in range(math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9) + 1):
            y = self.y(k * step)
            marks.append(line(left, y, left + width, y, FINE))
            marks.append(Words(f"{k * step:g}", left - 1.0, y + 0.9, 6.5, side="right"))
        marks += [
            line(left, top, left, top + height, PLAIN),
            line(left, top + height, left + width, top + height, PLAIN),
        ]
        room = Room()
        for pose in self.poses:
            x = self.x(pose)
            if rows[pose].key == "contact":
                marks.append(line(x, top, x, top + height, THIN))
            words = room.words(str(pose + 1), [(x, top + height + 2.2)], 6, bold=rows[pose].is_key)
            marks += [words] if words else []
        for pose in self.poses if names else ():
            if rows[pose].key in ("contact", "down", "passing", "up", "settle", "standing"):
                words = room.words(rows[pose].key, [(self.x(pose), top + height + 4.8)], 5.5)
                marks += [words] if words else []
        return marks


def hip_chart(plan: Plan, rows: Sequence[PaperRow], poses: range, box: tuple[float, float, float, float]) -> list[Mark]:
    """The hip line's height over the floor, and the heights that every standing leg allows."""
    hip, band = plan.hip_line_mm, plan.band
    span = float(hip.max() - hip.min())
    low, high = float(hip.min()) - max(4.0, 0.6 * span), float(hip.max()) + max(4.0, 0.6 * span)
    chart = PoseChart(box, poses, low, high)
    marks: list[Mark] = []
    half = 0.5 * box[2] / len(poses)
    for pose in poses:
        least, most = float(band.lowest_mm[pose]), float(band.highest_mm[pose])
        if most > least and most > low and least < high:
            top, bottom = chart.y(most), chart.y(least)
            marks.append(filled(chart.x(pose) - half, top, 2 * half, bottom - top, PALE))
    title = "hip line over the floor, mm; grey: heights that every standing leg allows"
    marks += chart.frame(title, rows, names=True)
    points = np.array([(chart.x(pose), chart.y(float(hip[pose]))) for pose in poses])
    marks.append(Line(points, PLAIN))
    marks += [Dot(x, y, 0.6, PLAIN) for x, y in points.tolist()]
    return marks


def move_chart(
    plan: Plan, rows: Sequence[PaperRow], poses: range, box: tuple[float, float, float, float]
) -> list[Mark]:
    """How far the reference point goes from pose to pose: bars; of the farthest ankle: a line."""
    moved = np.linalg.norm(np.diff(plan.reference_mm - plan.floor_shift_mm, axis=0), axis=1)
    ankles = np.linalg.norm(np.diff(plan.ankle_mm - plan.floor_shift_mm[:, None], axis=0), axis=2).max(axis=1)
    reference, ankle = (np.concatenate(([0.0], one)) for one in (moved, ankles))
    chart = PoseChart(box, poses, 0.0, max(1.0, 1.05 * float(max(reference.max(), ankle.max()))))
    title = "move since the last pose, mm: bars the reference point, line the foot that goes farthest"
    marks = chart.frame(title, rows, names=False)
    marks += _bars(chart, {pose: float(reference[pose]) for pose in poses if pose})
    line_of = np.array([(chart.x(pose), chart.y(float(ankle[pose]))) for pose in poses if pose])
    return [*marks, Line(line_of, PLAIN)] if len(line_of) else marks


def load_chart(
    load: Sequence[float], rows: Sequence[PaperRow], poses: range, box: tuple[float, float, float, float]
) -> list[Mark]:
    """The load of the joint that has most to carry; a bold line where it has as much as it holds."""
    chart = PoseChart(box, poses, 0.0, max(1.2, 1.05 * max(load)))
    title = "load of the joint that has most to carry, as a share of what it holds; above 1 it gives way"
    marks = [*chart.frame(title, rows, names=False), *_bars(chart, {pose: float(load[pose]) for pose in poses})]
    return [*marks, line(box[0], chart.y(1.0), box[0] + box[2], chart.y(1.0), BOLD)]


def _bars(chart: PoseChart, values: dict[int, float]) -> list[Mark]:
    marks: list[Mark] = []
    half = 0.5 * _BAR * chart.box[2] / len(chart.poses)
    for pose, value in values.items():
        x, y = chart.x(pose), chart.y(value)
        ring = np.array([[x - half, y], [x + half, y], [x + half, chart.y(0)], [x - half, chart.y(0)]])
        marks += [Area((ring,), PALE, 1.0), Line(ring, THIN, closed=True)]
    return marks
