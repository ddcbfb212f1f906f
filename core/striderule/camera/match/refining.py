"""Clicks made finer than a pixel: a click near a corner, a dot or a hole is moved to its middle.

Source of the corners: Foerstner & Guelch, A fast operator for detection and precise location of distinct points,
corners and centres of circular features, 1987.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from .known_points import KnownPoints

Floats = npt.NDArray[np.float64]

KINDS = ("corner", "dot")
"""What a click may lie on. corner: two edges that cross or meet. dot: a spot darker or lighter than what is around it,
such as a hole or a pin's head."""

REFINED_PX = 0.15
"""How far a refined click is off, one standard deviation."""

REACH_PX = 8.0
"""A click is moved by no more than this; what is looked at reaches as far around it, scaled to the still."""

_LEAST_CONTRAST = 6.0  # of 255


def refined(points: KnownPoints, grey: Floats, kind: str, reach_px: float = REACH_PX) -> tuple[KnownPoints, list[str]]:
    """The points with their pixels refined and sigma_px at REFINED_PX, and the names of those that were left as they
    were clicked, because nothing of that kind is near. grey: (height, width), 0..255."""
    move = _corner if kind == "corner" else _dot
    pixels, sigma = points.pixels.copy(), points.sigma_px.copy()
    left: list[str] = []
    for k, (name, at) in enumerate(zip(points.names, points.pixels, strict=True)):
        found = move(grey, at, reach_px)
        if found is None or float(np.hypot(*(found - at).tolist())) > reach_px:
            left.append(name)
        else:
            pixels[k], sigma[k] = found, min(REFINED_PX, float(sigma[k]))
    return replace(points, pixels=pixels, sigma_px=sigma), left


def _corner(grey: Floats, at: Floats, reach: float) -> Floats | None:
    """Where all gradients around `at` are square to the line toward them; None without two directions of edges."""
    here = at.astype(float)
    size = reach
    for turn in range(30):
        patch, offsets = _around(grey, here, int(np.ceil(size)) + 1)
        if patch is None:
            return None
        across = (patch[1:-1, 2:] - patch[1:-1, :-2]) / 2
        down = (patch[2:, 1:-1] - patch[:-2, 1:-1]) / 2
        gradient: Floats = np.stack([across, down], axis=-1).reshape(-1, 2)
        arms: Floats = offsets[1:-1, 1:-1].reshape(-1, 2)
        weight = np.exp(-(arms**2).sum(axis=1) / (2 * (size / 2) ** 2))
        outer: Floats = weight[:, None, None] * gradient[:, :, None] * gradient[:, None, :]
        total: Floats = outer.sum(axis=0)
        low, high = np.linalg.eigvalsh(total).tolist()
        if low < 0.02 * high or high < weight.sum() * _LEAST_CONTRAST**2 / 16:
            return None
        pull: Floats = (outer @ arms[:, :, None]).sum(axis=0)[:, 0]
        step = np.linalg.solve(total, pull).astype(np.float64)
        here = here + step
        if float(np.linalg.norm(here - at)) > reach:
            return None
        if turn > 3 and float(np.linalg.norm(step)) < 0.003:
            return here
        size = max(0.8 * size, 3.0)  # wide at first, so as to see the corner at all; then only its own edges
    return here


def _dot(grey: Floats, at: Floats, reach: float) -> Floats | None:
    """The centre of gravity of the spot at `at`, against the ring around it; None where there is no spot."""
    here = at.astype(float)
    for _ in range(20):
        patch, offsets = _around(grey, here, int(np.ceil(2 * reach)))
        if patch is None:
            return None
        far = np.linalg.norm(offsets, axis=-1)
        ring = patch[(far > 1.5 * reach) & (far <= 2 * reach)]
        ground = float(np.median(ring))
        inner = patch[far <= 0.4 * reach] - ground
        peak = float(inner[np.abs(inner).argmax()])
        noise = 1.5 * float(np.median(np.abs(ring - ground)))
        if abs(peak) < max(_LEAST_CONTRAST, 4 * noise):
            return None
        # what is as far from the ground as a fifth of the spot, and on its side of it
        weight = np.clip((patch - ground) / peak - 0.2, 0.0, 0.8) * (far <= 1.5 * reach)
        middle = (weight[..., None] * offsets).sum(axis=(0, 1)) / weight.sum()
        here = here + middle
        if float(np.linalg.norm(here - at)) > reach:
            return None
        if float(np.linalg.norm(middle)) < 0.003:
            return here
    return here


def _around(grey: Floats, at: Floats, reach: int) -> tuple[Floats | None, Floats]:
    """Values (2 reach + 1, 2 reach + 1) around a place between pixels, and their offsets (..., 2) from it; None where
    that is not all inside the picture. Read between pixels linearly."""
    left, top = np.floor(at).astype(int).tolist()
    height, width = grey.shape
    span = np.arange(-reach, reach + 1)
    offsets = np.stack(np.meshgrid(span, span), axis=-1).astype(float)
    if left < reach or top < reach or left + reach + 1 >= width or top + reach + 1 >= height:
        return None, offsets
    fx, fy = (at - (left, top)).tolist()
    part = grey[top - reach : top + reach + 2, left - reach : left + reach + 2].astype(float)
    rows = part[:-1] * (1 - fy) + part[1:] * fy
    return rows[:, :-1] * (1 - fx) + rows[:, 1:] * fx, offsets
