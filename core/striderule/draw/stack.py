"""Pictures on top of each other: layers painted by themselves become the flat picture without painting them again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .canvas import Canvas
from .tiles import AREA


def stacked(canvases: Sequence[Canvas], width: int, height: int) -> Canvas:
    """Canvases of one size over each other, lowest first; a blank one where there are none.

    Source of the sum: Porter & Duff, Compositing digital images, 1984 (over, premultiplied).
    """
    flats = [canvas.flat() for canvas in canvases if len(canvas.tile) or canvas.under is not None]
    if not flats:
        return Canvas.blank(width, height)
    if len(flats) == 1:
        return flats[0]
    tiles = np.unique(np.concatenate([canvas.tile for canvas in flats]))
    light = np.zeros((len(tiles), 4, AREA), np.float32)
    light[:, 3] = 1
    for canvas in flats:
        at = np.searchsorted(tiles, canvas.tile)
        below = light[at]
        below *= canvas.light[:, 3:]
        below[:, :3] += canvas.light[:, :3]
        light[at] = below
    return Canvas(width, height, tiles, light)
