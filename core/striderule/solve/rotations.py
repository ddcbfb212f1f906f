"""Rotations in the signs of the house, as (..., 3, 3) matrices whose columns are the turned axes. Angles in radians."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def trunk_axes(yaw: Floats, pitch: Floats, roll: Floats) -> Floats:
    """R = Rz(yaw) Ry(pitch) Rx(roll), intrinsic Z-Y'-X''. Shapes (...,) -> (..., 3, 3).

    yaw + left (about +Z), pitch + leans forward (about +Y), roll + leans to the right (about +X).
    """
    cy, sy, cp, sp, cr, sr = np.cos(yaw), np.sin(yaw), np.cos(pitch), np.sin(pitch), np.cos(roll), np.sin(roll)
    axes = np.empty((*np.shape(cy), 3, 3))
    axes[..., 0, 0] = cy * cp
    axes[..., 0, 1] = cy * sp * sr - sy * cr
    axes[..., 0, 2] = cy * sp * cr + sy * sr
    axes[..., 1, 0] = sy * cp
    axes[..., 1, 1] = sy * sp * sr + cy * cr
    axes[..., 1, 2] = sy * sp * cr - cy * sr
    axes[..., 2, 0] = -sp
    axes[..., 2, 1] = cp * sr
    axes[..., 2, 2] = cp * cr
    return axes


def angles_from_axes(axes: Floats) -> Floats:
    """Yaw, pitch, roll (..., 3) of axes (..., 3, 3): what `trunk_axes` makes them from; yaw and roll within half a
    turn, pitch within a quarter (straight up or down yaw takes all)."""
    sine = np.clip(axes[..., 2, 0], -1.0, 1.0)
    yaw = np.arctan2(axes[..., 1, 0], axes[..., 0, 0])
    return np.stack((yaw, -np.arcsin(sine), np.arctan2(axes[..., 2, 1], axes[..., 2, 2])), axis=-1)


def upright(heading: Floats) -> Floats:
    """Axes (..., 3, 3) that stand upright and look along a heading (...,)."""
    level = np.zeros_like(heading)
    return trunk_axes(heading, level, level)


def turned_by(about: Floats) -> Floats:
    """Rotations (n, 3, 3) by rotation vectors (n, 3), whose length is the angle (Rodrigues 1840, from memory)."""
    angle = np.linalg.norm(about, axis=1)
    x, y, z = (about / np.maximum(angle, 1e-12)[:, None]).T
    s, v = np.sin(angle), 1.0 - np.cos(angle)
    turned = np.empty((len(about), 3, 3))
    turned[:, 0, 0], turned[:, 1, 1], turned[:, 2, 2] = (
        1 - v * (y * y + z * z),
        1 - v * (x * x + z * z),
        1 - v * (x * x + y * y),
    )
    turned[:, 0, 1], turned[:, 1, 0] = v * x * y - s * z, v * x * y + s * z
    turned[:, 0, 2], turned[:, 2, 0] = v * x * z + s * y, v * x * z - s * y
    turned[:, 1, 2], turned[:, 2, 1] = v * y * z - s * x, v * y * z + s * x
    return turned


def foot_axes(heading: Floats, pitch: Floats, roll: Floats) -> Floats:
    """Rz(heading) Ry(-pitch) Rx(roll): foot pitch + toe higher than heel, so minus about +Y; roll + left edge higher.
    Shapes (...,) -> (..., 3, 3)."""
    return trunk_axes(heading, -pitch, roll)


def on_axes(axes: Floats, point: Floats) -> Floats:
    """Point (3,) given along each of the axes (..., 3, 3), on the stage (..., 3): axes @ point.

    As one tall matrix, which numpy multiplies several times faster than a stack of small ones.
    """
    return (axes.reshape(-1, 3) @ point).reshape(axes.shape[:-1])


def swung(plane: Floats, swing: Floats) -> Floats:
    """plane @ Ry(-swing): a limb swung forward by `swing` inside a plane given by its axes. (..., 3, 3), (...,) ->
    (..., 3, 3)."""
    c, s = np.cos(swing)[..., None], np.sin(swing)[..., None]
    axes = np.empty_like(plane)
    axes[..., 0] = c * plane[..., 0] + s * plane[..., 2]
    axes[..., 1] = plane[..., 1]
    axes[..., 2] = c * plane[..., 2] - s * plane[..., 0]
    return axes


def tilted_out(body: Floats, out: Floats) -> Floats:
    """body @ Rx(out): the plane of a leg tilted so that its foot goes toward +Y by `out`. (..., 3, 3), (...,) ->
    (..., 3, 3)."""
    c, s = np.cos(out)[..., None], np.sin(out)[..., None]
    axes = np.empty((*out.shape, 3, 3))
    axes[..., 0] = body[..., 0]
    axes[..., 1] = c * body[..., 1] + s * body[..., 2]
    axes[..., 2] = c * body[..., 2] - s * body[..., 1]
    return axes
