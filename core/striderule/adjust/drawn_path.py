"""A walk along a line that somebody drew: a polyline on the floor becomes the path's points, few enough to be read."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError
from ..model.path import PathPiece
from ..model.shot import Shot
from ..model.track import Track, track_of

Floats = npt.NDArray[np.float64]

NEAR_MM = 0.5
"""How far the track may be from the drawn line: what a hand can set."""
SHORTEST_MM = 10.0
_MOST_POINTS = 200
_DENSE = 600


def with_drawn_path(shot: Shot, line_mm: Floats, fit_steps: bool = True) -> Shot:
    """The shot whose walk goes along a polyline (n, 2) on the stage, from its first place to its last.

    The walk's start and start heading are the line's. fit_steps: as many steps as the line has room for, their length
    fitted to it; else the walk's steps stay, and it ends before or behind the line's end. Raises GeometryError for a
    line shorter than SHORTEST_MM.
    """
    line = _without_repeats(np.asarray(line_mm, dtype=float)[:, :2])
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    if along[-1] < SHORTEST_MM:
        raise GeometryError(
            f"path: expected a line of {SHORTEST_MM:g} mm or more to walk along, given one of {along[-1]:.1f} mm. "
            "Check the unit scale, or draw a longer one."
        )
    start = (_round(line[0, 0]), _round(line[0, 1]))
    dense = _on_line(line, along, np.linspace(0.0, float(along[-1]), _DENSE))
    count, piece = 1, _piece(line, along, 1)
    while count < _MOST_POINTS and not _follows(track_of((piece,), start), dense, float(along[-1])):
        count += 1 + count // 4
        piece = _piece(line, along, count)
    walk = replace(shot.walk, steps=None, distance_mm=None) if fit_steps else shot.walk
    return replace(shot, walk=walk, path=(piece,), stage=replace(shot.stage, start_mm=start))


def without_path(shot: Shot, steps: int | None) -> Shot:
    """The shot going straight on from where it starts, in so many steps."""
    return replace(shot, path=(), walk=replace(shot.walk, steps=steps if shot.walk.steps is None else shot.walk.steps))


def off_line_mm(track: Track, line_mm: Floats) -> float:
    """The farthest that a track is from a dense polyline (n, 2)."""
    place, _ = track.on(np.linspace(0.0, track.length_mm, _DENSE))
    a, to = line_mm[:-1], np.diff(line_mm, axis=0)
    squared = np.maximum((to * to).sum(axis=1), 1e-12)
    from_a = place.T[:, None] - a
    share = np.clip((from_a * to).sum(axis=2) / squared, 0.0, 1.0)
    apart = from_a - share[..., None] * to
    return float(np.sqrt((apart * apart).sum(axis=2).min(axis=1)).max())


def _follows(track: Track, dense: Floats, length: float) -> bool:
    """True where a track is the line: near it, and as long, for a ring's chord is near it too."""
    return abs(track.length_mm - length) < NEAR_MM + 0.002 * length and off_line_mm(track, dense) < NEAR_MM


def _piece(line: Floats, along: Floats, count: int) -> PathPiece:
    points = _on_line(line, along, np.linspace(0.0, float(along[-1]), count + 1)[1:])
    begins = _on_line(line, along, np.array([0.0, min(0.002 * along[-1], 1.0)]))
    x, y = (begins[1] - begins[0]).tolist()
    heading = round(math.degrees(math.atan2(y, x)), 2) + 0.0
    return PathPiece(points_mm=tuple((_round(x), _round(y)) for x, y in points.tolist()), heading_deg=heading or None)


def _on_line(line: Floats, along: Floats, at: Floats) -> Floats:
    return np.stack([np.interp(at, along, line[:, i]) for i in (0, 1)], axis=1)


def _without_repeats(line: Floats) -> Floats:
    if not len(line):
        raise GeometryError("path: expected a line to walk along, given one without any points.")
    keep = np.concatenate(([True], np.hypot(*np.diff(line, axis=0).T) > 1e-6))
    return line[keep]


def _round(value: float) -> float:
    return round(value, 2) + 0.0
