"""What the camera can see of lines and polygons: cut at the near plane before projecting, at the frame after it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..model.view import View
from .lens import NEAR_MM, bent_path, camera_from_stage, frame_in_plane

Floats = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]


def paths_from_stage(view: View, points_mm: Floats, closed: bool = False, margin_px: float = 64.0) -> list[Floats]:
    """Pixel polylines (m, 2) of what is seen of a stage polyline (n, 3); several where it leaves the frame.

    margin_px: how far outside the frame a line may go on (half its width at least). Polygons (closed) come back with
    their first place once more at the end, or as open pieces where they were cut. A still camera (`view.at(pose)`).
    """
    return many_paths_from_stage(view, [points_mm], closed, margin_px)[0]


def many_paths_from_stage(
    view: View, lines_mm: Sequence[Floats], closed: bool = False, margin_px: float = 64.0
) -> list[list[Floats]]:
    """`paths_from_stage` of many polylines, projected together: one list of pixel polylines for each."""
    if not lines_mm:
        return []
    lines = [np.concatenate([line, line[:1]]) for line in lines_mm] if closed else lines_mm
    ends = np.cumsum([len(line) for line in lines])
    camera = camera_from_stage(view, np.concatenate(lines))
    box = frame_in_plane(view, margin_px)
    with np.errstate(divide="ignore", invalid="ignore"):
        plane = camera[:, :2] / camera[:, 2:]
        plain = (camera[:, 2] >= NEAR_MM) & (plane >= box[:2]).all(axis=1) & (plane <= box[2:]).all(axis=1)
    found: list[list[Floats]] = []
    for begin, end in zip([0, *ends[:-1].tolist()], ends.tolist(), strict=True):
        if end > begin and plain[begin:end].all():
            found.append([bent_path(view, plane[begin:end])])
        else:
            pieces = [piece for run in _in_front(camera[begin:end]) for piece in cut_path(run, box)]
            found.append([bent_path(view, piece) for piece in pieces])
    return found


def polygon_from_stage(view: View, points_mm: Floats, margin_px: float = 64.0) -> Floats:
    """Pixel polygon (m, 2) of what is seen of a flat stage polygon (n, 3); (0, 2) where nothing is.

    Cut edges run outside the frame by margin_px. Source of the cutting: Sutherland & Hodgman, Reentrant polygon
    clipping, 1974. A still camera (`view.at(pose)`).
    """
    camera = cut_polygon(camera_from_stage(view, points_mm), np.array([0.0, 0.0, 1.0]), NEAR_MM)
    if len(camera) < 3:
        return np.zeros((0, 2))
    plane = clipped_polygon(camera[:, :2] / camera[:, 2:], frame_in_plane(view, margin_px))
    return bent_path(view, plane, closed=True) if len(plane) >= 3 else np.zeros((0, 2))


def cut_polygon(points: Floats, normal: Floats, least: float) -> Floats:
    """The part of a polygon (n, d) where normal . point >= least."""
    inside = points @ normal - least
    if (inside >= 0).all():
        return points
    if (inside < 0).all():
        return points[:0]
    after = np.roll(points, -1, axis=0)
    inside_after = np.roll(inside, -1)
    crosses = (inside >= 0) != (inside_after >= 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(crosses, inside / (inside - inside_after), 0.0)
    crossing = points + share[:, None] * (after - points)
    both = np.stack([points, crossing], axis=1).reshape(-1, points.shape[1])
    keep = np.stack([inside >= 0, crosses], axis=1).reshape(-1)
    return both[keep]


def clipped_polygon(points: Floats, box: Box) -> Floats:
    """The part of a polygon (n, 2) inside an upright box (left, top, right, bottom)."""
    left, top, right, bottom = box
    for normal, least in (((1.0, 0.0), left), ((-1.0, 0.0), -right), ((0.0, 1.0), top), ((0.0, -1.0), -bottom)):
        points = cut_polygon(points, np.array(normal), least)
        if len(points) < 3:
            return np.zeros((0, 2))
    return points


def cut_path(points: Floats, box: Box) -> list[Floats]:
    """The runs of a polyline (n, 2) inside an upright box (left, top, right, bottom).

    Source of the cutting: Liang & Barsky, A new concept and method for line clipping, 1984.
    """
    low, high = np.array(box[:2]), np.array(box[2:])
    if len(points) == 0 or (points.max(axis=0) < low).any() or (points.min(axis=0) > high).any():
        return []
    if ((points >= low) & (points <= high)).all():
        return [points]
    start, along = points[:-1], np.diff(points, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low - start) / along, (high - start) / along
    still = along == 0
    within = (start >= low) & (start <= high)
    enter = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(first, second)).max(axis=1)
    leave = np.where(still, np.where(within, np.inf, -np.inf), np.maximum(first, second)).min(axis=1)
    return joined_runs(start, along, np.maximum(enter, 0.0), np.minimum(leave, 1.0))


def joined_runs(start: Floats, along: Floats, enter: Floats, leave: Floats) -> list[Floats]:
    """Polylines from the shares enter..leave that are kept of successive segments start + t along.

    Nothing is kept of a segment where enter >= leave; shares run from 0 to 1.
    """
    runs: list[Floats] = []
    now: list[Floats] = []
    for index in np.flatnonzero(enter < leave):
        head, tail = start[index] + enter[index] * along[index], start[index] + leave[index] * along[index]
        if now and enter[index] <= 0 and index > 0 and leave[index - 1] >= 1 and enter[index - 1] < leave[index - 1]:
            now.append(tail)
            continue
        if now:
            runs.append(np.array(now))
        now = [head, tail]
    if now:
        runs.append(np.array(now))
    return runs


def _in_front(camera: Floats) -> list[Floats]:
    """Plane polylines of the parts of a camera-axes polyline (n, 3) beyond the near plane."""
    depth = camera[:, 2]
    if (depth >= NEAR_MM).all():
        return [camera[:, :2] / depth[:, None]] if len(camera) else []
    if (depth < NEAR_MM).all():
        return []
    start, along = camera[:-1], np.diff(camera, axis=0)
    before, after = depth[:-1] - NEAR_MM, depth[1:] - NEAR_MM
    with np.errstate(divide="ignore", invalid="ignore"):
        share = before / (before - after)
    enter = np.where(before >= 0, 0.0, np.where(after >= 0, share, 1.0))
    leave = np.where(after >= 0, 1.0, np.where(before >= 0, share, 0.0))
    return [run[:, :2] / np.maximum(run[:, 2:], NEAR_MM) for run in joined_runs(start, along, enter, leave)]
