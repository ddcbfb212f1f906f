"""Stage <-> pixels: the pinhole with Brown-Conrady distortion that every picture is drawn through.

Three places a point can be in: the stage (mm), the picture plane (x/z and y/z of camera axes, without distortion:
straight lines stay straight) and pixels (x right, y down, (0, 0) = centre of the top-left pixel). Clipping, hiding and
outlines are worked out in the plane, where they are exact, and bent by the lens last.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError
from ..model.view import View

Floats = npt.NDArray[np.float64]

NEAR_MM = 1.0
"""Nearer than this to the lens, nothing is drawn."""

_WIDEST = 10.0  # radius in the plane (84 degrees off the axis) beyond which the lens is continued straight
_PIECE_PX = 24.0  # longest straight piece of a line under a bending lens: its sagitta stays below .02 px


def camera_from_stage(view: View, points_mm: Floats) -> Floats:
    """Points in camera axes (x right, y down, z into the picture), mm.

    points_mm: (..., 3) stage mm. A camera that moves along takes points whose first axis is the pose.
    Raises GeometryError where that axis does not fit; use `view.at(pose)` for the points of one pose.
    """
    points = np.asarray(points_mm, float)
    turned = points @ view.rotation.T
    if view.translations_mm is None:
        return turned + view.translation_mm
    moves = view.translations_mm
    if points.ndim < 2 or points.shape[0] != len(moves):
        raise GeometryError(
            f"view {view.name} moves with the pose: expected points of {len(moves)} poses, given an array "
            f"of shape {points.shape}."
        )
    return turned + moves.reshape(len(moves), *(1,) * (points.ndim - 2), 3)


def eye_mm(view: View) -> Floats:
    """Place of the lens on the stage, mm: (3,), or (poses, 3) for a camera that moves along."""
    moves = view.translation_mm if view.translations_mm is None else view.translations_mm
    return -np.asarray(moves, float) @ view.rotation


def plane_from_stage(view: View, points_mm: Floats) -> tuple[Floats, Floats]:
    """Undistorted plane places (..., 2) = (x/z, y/z) and depth z in mm (...) of stage points (..., 3).

    Points nearer than NEAR_MM or behind the camera give NaN places; their depth stays what it is.
    """
    camera = camera_from_stage(view, points_mm)
    depth = camera[..., 2]
    safe = np.where(depth >= NEAR_MM, depth, np.nan)
    return camera[..., :2] / safe[..., None], depth


def pixels_from_stage(view: View, points_mm: Floats) -> tuple[Floats, Floats]:
    """Pixels (..., 2) and depth in mm (...) of stage points (..., 3).

    Points behind the camera give NaN pixels. Far outside the frame the lens is continued straight, so that nothing
    folds back into the picture; inside the frame the result is that of OpenCV's projectPoints.
    Raises GeometryError for a lens that folds inside the frame.
    """
    plane, depth = plane_from_stage(view, points_mm)
    return pixels_from_plane(view, plane), depth


def pixels_from_plane(view: View, plane: Floats) -> Floats:
    """Pixels (..., 2) of undistorted plane places (..., 2). Raises GeometryError for a lens that folds.

    Source: Brown, Decentering distortion of lenses, 1966; order and signs of the terms as in OpenCV's documentation.
    """
    bent = plane
    if any(view.distortion):
        bent = _bent(view.distortion, plane, safe_radius(view))
    return bent * (view.fx, view.fy) + (view.cx, view.cy)


def plane_from_pixels(view: View, pixels: Floats) -> Floats:
    """Undistorted plane places (..., 2) of pixels (..., 2), by Newton's method; NaN for places that no ray reaches.

    Raises GeometryError for a lens that folds inside the frame.
    """
    bent = (np.asarray(pixels, float) - (view.cx, view.cy)) / (view.fx, view.fy)
    if not any(view.distortion):
        return bent
    safe_radius(view)
    return _straightened(view.distortion, bent)


def rays_from_pixels(view: View, pixels: Floats) -> Floats:
    """Unit directions on the stage (..., 3) in which the pixels (..., 2) look, from `eye_mm(view)`."""
    plane = plane_from_pixels(view, pixels)
    rays = np.concatenate([plane, np.ones((*plane.shape[:-1], 1))], axis=-1)
    return (rays / np.linalg.norm(rays, axis=-1, keepdims=True)) @ view.rotation


def floor_from_pixels(view: View, pixels: Floats, height_mm: float = 0.0) -> Floats:
    """Stage points (..., 3) at the given height that the pixels (..., 2) show; NaN where the ray never meets it.
    For a still camera (`view.at(pose)`)."""
    rays, eye = rays_from_pixels(view, pixels), eye_mm(view)
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (height_mm - eye[2]) / rays[..., 2]
    along = np.where(np.isfinite(along) & (along > 0), along, np.nan)
    return eye + rays * along[..., None]


def safe_radius(view: View) -> float:
    """Radius in the plane up to which the lens formula holds; it covers the whole frame.

    Raises GeometryError for a lens that folds inside the frame: 1 + 3 k1 r^2 + 5 k2 r^4 + 7 k3 r^6 <= 0 somewhere,
    or a picture turned inside out by its tangential terms.
    """
    return _safe_radius(view.name, view.width, view.height, view.fx, view.fy, view.cx, view.cy, tuple(view.distortion))


@lru_cache(maxsize=256)
def _safe_radius(
    name: str,
    width: int,
    height: int,
    fx: float,
    fy: float,
    cx: float,
    cy: float,
    distortion: tuple[float, float, float, float, float],
) -> float:
    fault = GeometryError(
        f"view {name}: expected a lens that shows every place once, given distortion "
        f"{', '.join(f'{k:g}' for k in distortion)}, which folds the picture over inside the frame. "
        "Calibrate the lens again, or set its distortion to zero."
    )
    k1, k2, _, _, k3 = distortion
    if not all(math.isfinite(k) for k in distortion):
        raise fault
    roots = np.roots(np.trim_zeros([7 * k3, 5 * k2, 3 * k1, 1.0], "f"))
    folds = [math.sqrt(root.real) for root in roots if abs(root.imag) < 1e-12 * (1 + abs(root)) and root.real > 0]
    fold = min(folds, default=math.inf)
    border = (_border(width, height, 65) - (cx, cy)) / (fx, fy)
    if fold < math.inf:
        reach = fold * (1 + k1 * fold**2 + k2 * fold**4 + k3 * fold**6)
        if np.hypot(*border.T).max() >= reach:
            raise fault
    plane = _straightened(distortion, border)
    if not np.isfinite(plane).all() or (_turning(distortion, plane) <= 0).any():
        raise fault
    corner = float(np.hypot(*plane.T).max())
    if corner >= fold:
        raise fault
    return max(corner, min(0.98 * fold, _WIDEST))


def _border(width: int, height: int, count: int) -> Floats:
    """(4 count, 2) pixels on the frame's outer edge, in order around it."""
    along = np.linspace(0, 1, count, endpoint=False)
    corners = np.array([(-0.5, -0.5), (width - 0.5, -0.5), (width - 0.5, height - 0.5), (-0.5, height - 0.5)])
    following = np.roll(corners, -1, axis=0)
    return (corners[:, None] + along[None, :, None] * (following - corners)[:, None]).reshape(-1, 2)


def _shift(distortion: tuple[float, ...], plane: Floats) -> tuple[Floats, Floats]:
    """Radial factor (...) and tangential shift (..., 2)."""
    k1, k2, p1, p2, k3 = distortion
    x, y = plane[..., 0], plane[..., 1]
    r2 = x * x + y * y
    radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
    return radial, np.stack([2 * p1 * x * y + p2 * (r2 + 2 * x * x), p1 * (r2 + 2 * y * y) + 2 * p2 * x * y], axis=-1)


def _bent(distortion: tuple[float, ...], plane: Floats, safe: float) -> Floats:
    """Distorted plane places; beyond `safe` continued along the ray with the slope the lens has there."""
    radius = np.hypot(plane[..., 0], plane[..., 1])
    outside = radius > safe
    if not outside.any():
        radial, tangential = _shift(distortion, plane)
        return plane * radial[..., None] + tangential
    k1, k2, _, _, k3 = distortion
    held = plane * np.where(outside, safe / np.maximum(radius, 1e-300), 1.0)[..., None]
    radial, tangential = _shift(distortion, held)
    slope = 1 + 3 * k1 * safe**2 + 5 * k2 * safe**4 + 7 * k3 * safe**6
    further = np.where(outside, (radius - safe) * slope / safe, 0.0)
    return held * (radial + further)[..., None] + tangential


def _jacobian(distortion: tuple[float, ...], plane: Floats) -> tuple[Floats, Floats, Floats]:
    """(dx/dx, dx/dy = dy/dx, dy/dy) of the lens; the matrix is symmetric."""
    k1, k2, p1, p2, k3 = distortion
    x, y = plane[..., 0], plane[..., 1]
    r2 = x * x + y * y
    radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
    growth = 2 * (k1 + r2 * (2 * k2 + r2 * 3 * k3))
    return (
        radial + growth * x * x + 2 * p1 * y + 6 * p2 * x,
        growth * x * y + 2 * p1 * x + 2 * p2 * y,
        radial + growth * y * y + 6 * p1 * y + 2 * p2 * x,
    )


def _turning(distortion: tuple[float, ...], plane: Floats) -> Floats:
    xx, xy, yy = _jacobian(distortion, plane)
    return xx * yy - xy * xy


def _straightened(distortion: tuple[float, ...], bent: Floats) -> Floats:
    """Newton from the distorted place itself, with steps kept short; NaN where it does not settle."""
    plane = bent.copy()
    with np.errstate(all="ignore"):
        for _ in range(60):
            radial, tangential = _shift(distortion, plane)
            miss = plane * radial[..., None] + tangential - bent
            xx, xy, yy = _jacobian(distortion, plane)
            turning = xx * yy - xy * xy
            step = np.stack([yy * miss[..., 0] - xy * miss[..., 1], xx * miss[..., 1] - xy * miss[..., 0]], axis=-1)
            step /= turning[..., None]
            length = np.hypot(step[..., 0], step[..., 1])
            step *= np.minimum(1.0, 0.3 / np.maximum(length, 1e-300))[..., None]
            plane = plane - step
            if not (length > 1e-15).any():
                break
        radial, tangential = _shift(distortion, plane)
        miss = np.abs(plane * radial[..., None] + tangential - bent).max(axis=-1)
        return np.where((miss < 1e-11)[..., None], plane, np.nan)


def frame_in_plane(view: View, margin_px: float) -> tuple[float, float, float, float]:
    """(left, top, right, bottom) of the smallest upright box of the plane around the frame and a margin."""
    return _frame_in_plane(
        view.name, view.width, view.height, view.fx, view.fy, view.cx, view.cy, tuple(view.distortion), margin_px
    )


@lru_cache(maxsize=256)
def _frame_in_plane(
    name: str,
    width: int,
    height: int,
    fx: float,
    fy: float,
    cx: float,
    cy: float,
    distortion: tuple[float, float, float, float, float],
    margin: float,
) -> tuple[float, float, float, float]:
    bends = any(distortion)
    plane = (_border(width, height, 33 if bends else 1) - (cx, cy)) / (fx, fy)
    if bends:
        _safe_radius(name, width, height, fx, fy, cx, cy, distortion)
        plane = _straightened(distortion, plane)
        margin *= 1.5  # a lens may squeeze what lies outside the frame
    low, high = plane.min(axis=0), plane.max(axis=0)
    mx, my = margin / fx, margin / fy
    return float(low[0] - mx), float(low[1] - my), float(high[0] + mx), float(high[1] + my)


def bent_path(view: View, plane: Floats, closed: bool = False) -> Floats:
    """Pixels (m, 2) of a polyline of the plane (n, 2); under a lens that bends lines, with points in between."""
    if any(view.distortion) and len(plane) > 1:
        start = plane
        end = np.roll(plane, -1, axis=0) if closed else plane[1:]
        start = start[: len(end)]
        pieces = np.ceil(np.hypot(*((end - start) * (view.fx, view.fy)).T) / _PIECE_PX)
        pieces = np.clip(pieces, 1, 4096).astype(int)
        which = np.repeat(np.arange(len(end)), pieces)
        share = (np.arange(len(which)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[which]
        inner = start[which] + share[:, None] * (end - start)[which]
        plane = inner if closed else np.concatenate([inner, plane[-1:]])
    return pixels_from_plane(view, plane)
