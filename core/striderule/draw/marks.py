"""Marks in a picture: the reference point's ring, its spacing, and the feet's arcs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.clipping import many_paths_from_stage, paths_from_stage
from ..camera.lens import pixels_from_stage, plane_from_pixels
from ..check.traced import traced_points
from ..model.view import View
from ..solve.plan import FootState, Plan
from .drawing import Dot, Ink, Item, Line, Ring
from .palette import Palette
from .silhouettes import Covers, visible_runs

Floats = npt.NDArray[np.float64]

RING_RADIUS = 8.0
"""Of the reference point's ring, in pixels of a picture 1080 high; its open centre is 10.4 wide."""
LEAST_MOVE = 10.0
"""Marks that would stand nearer than this to their neighbour are left out, in the same pixels."""

_TICK = (6.0, 16.0)  # from the ring's edge outward
_SMOOTH = 6  # straight pieces of a drawn curve per pose
_WEIGHTS = (1.0, 0.8, 0.6, 0.45)


def smooth_path(points: Floats, pieces: int = _SMOOTH) -> Floats:
    """A smooth curve ((n - 1) pieces + 1, ...) through points (n, ...); every `pieces`-th place is a point itself.

    Source: Catmull & Rom, A class of local interpolating splines, 1974.
    """
    if len(points) < 3:
        return (
            points
            if len(points) < 2
            else points[0]
            + np.linspace(0, 1, pieces + 1).reshape(-1, *(1,) * (points.ndim - 1)) * (points[1] - points[0])
        )
    ends = np.concatenate([2 * points[:1] - points[1:2], points, 2 * points[-1:] - points[-2:-1]])
    t = (np.arange(pieces) / pieces).reshape(1, -1, *(1,) * (points.ndim - 1))
    a, b, c, d = (ends[k : len(ends) - 3 + k, None] for k in range(4))
    curve = b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
    return np.concatenate([curve.reshape(-1, *points.shape[1:]), points[-1:]])


@dataclass(frozen=True, eq=False)
class _Arc:
    """One point's way: places (P, 3), the smooth curve through them; near: as a near leg, a far one, or (None) as the
    trunk; thin: a finer line."""

    places_mm: Floats
    smooth: Floats
    near: bool | None
    thin: bool

    def long(self, first: int, last: int, reach: int) -> bool:
        """Whether it goes on so far that a moving camera should see only what is near."""
        return last - first > 2 * reach


class ReferenceMarks:
    """The reference point of a plan as one view shows it, projected for all poses at once."""

    def __init__(self, plan: Plan, view: View, palette: Palette) -> None:
        self._view, self._palette = view, palette
        self._points = plan.reference_mm
        self._smooth = smooth_path(plan.reference_mm)
        self.pixels, _ = pixels_from_stage(view, plan.reference_mm)

    def shown(self, pose: int) -> bool:
        """True where the picture shows the point: before the camera and inside the frame."""
        x, y = self.pixels[pose]
        return bool(-0.5 <= x <= self._view.width - 0.5 and -0.5 <= y <= self._view.height - 0.5)

    def target_items(self, pose: int) -> list[Item]:
        """A ring around this pose's reference point, open in the middle, with four ticks outside it; nothing where the
        picture does not show the point."""
        if not self.shown(pose):
            return []
        x, y = self.pixels[pose]
        s = self._palette.scale
        items: list[Item] = []
        for turn in np.radians((45, 135, 225, 315)):
            way = np.array([np.cos(turn), np.sin(turn)])
            ends = np.array([(x, y)]) + np.outer((RING_RADIUS + np.array(_TICK)) * s, way)
            items.append(Line(ends, self._palette.ring_tick))
        return [*items, Ring(float(x), float(y), RING_RADIUS * s, self._palette.ring)]

    def window(self, pose: int, view: View) -> Floats:
        """Convex piece of the plane, the ring's inside, that other layers leave open; (0, 2) without a ring."""
        if not self.shown(pose):
            return np.zeros((0, 2))
        turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        radius = (RING_RADIUS + self._palette.ring.width / self._palette.scale) * self._palette.scale
        circle = self.pixels[pose] + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        return plane_from_pixels(view, circle)

    def spacing_items(self, pose: int, neighbours: int) -> list[Item]:
        """The reference point's track around a pose with a tick across it per neighbour pose, fainter with distance.

        Solid where it comes from, dashed where it goes to. Marks nearer together than LEAST_MOVE pixels are left out.
        """
        view = self._view.at(pose)
        s = self._palette.scale
        first, last = max(0, pose - neighbours), min(len(self._points) - 1, pose + neighbours)
        here = self.pixels[pose]
        items: list[Item] = []
        for past, begin, end in ((True, first, pose), (False, pose, last)):
            if end == begin:
                continue
            ink = self._palette.track
            if not past:
                ink = Ink(ink.colour, ink.width, ink.alpha, ink.halo, ink.halo_alpha, ink.halo_colour, (5 * s, 4 * s))
            run = self._smooth[begin * _SMOOTH : end * _SMOOTH + 1]
            for path in paths_from_stage(view, run):
                outside = _outside_circle(path, here, RING_RADIUS * s + 0.5 * self._palette.ring.width)
                items.extend(Line(piece, ink) for piece in outside)
        around = self._smooth[max(0, first * _SMOOTH - 1) : last * _SMOOTH + 2]
        curve, _ = pixels_from_stage(view, around)
        skipped = first * _SMOOTH - max(0, first * _SMOOTH - 1)
        for way in (-1, 1):
            kept = here
            for k in range(pose + way, (first - 1) if way < 0 else (last + 1), way):
                place = (k - first) * _SMOOTH + skipped
                at = curve[place]
                along = curve[min(place + 1, len(curve) - 1)] - curve[max(place - 1, 0)]
                if not np.isfinite(at).all() or not np.isfinite(along).all():
                    break
                if np.hypot(*(at - kept)) < LEAST_MOVE * s:
                    continue
                kept = at
                weight = _WEIGHTS[min(abs(k - pose), len(_WEIGHTS)) - 1]
                items.extend(self._tick(at, along, weight))
        return items

    def _tick(self, at: Floats, along: Floats, weight: float) -> list[Item]:
        length = float(np.hypot(*along))
        if length == 0 or not _in_frame(self._view, at):
            return []
        across = np.array([-along[1], along[0]]) / length
        half = (3.0 + 4.0 * weight) * self._palette.scale
        return [
            Line(np.stack([at - half * across, at + half * across]), self._palette.paled(self._palette.mark, weight))
        ]


class Arcs:
    """The ways of chosen points through the poses, a mark per pose: of ankle and toe tip every swing from lift-off to
    touch-down, of all others the whole shot."""

    def __init__(self, plan: Plan, view: View, palette: Palette, near_legs: npt.NDArray[np.bool_],
                 kinds: tuple[str, ...]) -> None:  # fmt: skip
        self._view, self._palette = view, palette
        sides = {leg.outward_side: bool(near) for leg, near in zip(plan.shot.puppet.legs, near_legs, strict=True)}
        self._arcs: list[tuple[int, int, _Arc]] = []
        for point in traced_points(plan, kinds):
            near = bool(near_legs[point.leg]) if point.leg >= 0 else sides.get(point.side) if point.side else None
            arc = _Arc(point.places_mm, smooth_path(point.places_mm), near, point.kind not in ("ankle", "hip"))
            runs = [(0, plan.poses - 1)]
            if point.kind in ("ankle", "toe"):
                air = np.concatenate([[False], plan.state[:, point.leg] == int(FootState.AIR), [False]])
                edges = np.flatnonzero(air[1:] != air[:-1]).reshape(-1, 2)
                runs = [(max(0, int(a) - 1), min(plan.poses - 1, int(b))) for a, b in edges]
            self._arcs += [(first, last, arc) for first, last in runs]
        self._arcs.sort(key=lambda run: (not run[2].thin, run[0]), reverse=False)

    def items(self, pose: int, reach: int | None) -> list[Item]:
        """Arcs as seen in a pose. reach: only what is within so many poses of it; None: of the whole shot."""
        view = self._view.at(pose)
        shown = self._arcs
        if reach is not None:
            shown = [(max(a, pose - reach), min(b, pose + reach), arc) if arc.long(a, b, reach) else (a, b, arc)
                     for a, b, arc in shown if a <= pose + reach and b >= pose - reach]  # fmt: skip
        items: list[Item] = []
        curves = [arc.smooth[first * _SMOOTH : last * _SMOOTH + 1] for first, last, arc in shown]
        for (first, last, arc), paths in zip(shown, many_paths_from_stage(view, curves), strict=True):
            ink = self._palette.arc(arc.near, arc.thin)
            items.extend(Line(path, ink) for path in paths)
            marks, _ = pixels_from_stage(view, arc.places_mm[first : last + 1])
            radius = (2.2 if arc.thin else 3.0) * self._palette.scale
            items.extend(Dot(float(x), float(y), radius, ink) for x, y in self._spread(view, marks))
        return items

    def _spread(self, view: View, marks: Floats) -> list[Floats]:
        """Marks in the frame that stand at least LEAST_MOVE from the one before."""
        kept: list[Floats] = []
        for at in marks:
            if not np.isfinite(at).all() or not _in_frame(view, at):
                continue
            if not kept or np.hypot(*(at - kept[-1])) >= LEAST_MOVE * self._palette.scale:
                kept.append(at)
        return kept


def _in_frame(view: View, at: Floats) -> bool:
    return bool(-0.5 <= at[0] <= view.width - 0.5 and -0.5 <= at[1] <= view.height - 0.5)


def _outside_circle(path: Floats, centre: Floats, radius: float) -> list[Floats]:
    """The runs of a polyline outside a circle."""
    turn = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    circle = centre + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    if not np.isfinite(circle).all():
        return [path]
    return [run.places for run in visible_runs([path], False, Covers.of([circle]), 1e-6)]
