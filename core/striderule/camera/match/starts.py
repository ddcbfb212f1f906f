"""Where to start a solve from: level cameras all around the points, as far away as their size in the still says."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from ..placing import look_at
from .guess import CENTRE_X, FOCAL, Guess
from .known_points import KnownPoints

Floats = npt.NDArray[np.float64]

AZIMUTHS = 12
DOWN_DEG = (10.0, 35.0, 65.0)
"""How far the cameras look down on the points."""

QUARTER_TURNS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
"""Cosine and sine of the camera's roll: upright first, then on its side and upside down."""


def starts(points: KnownPoints, lens: Floats, aspect: float, rolled: bool = False) -> list[Guess]:
    """Guesses in which every point is before the camera, the most fitting first. rolled: on their side too."""
    pivot = points.stage_mm.mean(axis=0)
    arms = points.stage_mm - pivot
    focal = math.exp(lens[FOCAL])
    plane = (points.pixels - lens[CENTRE_X : CENTRE_X + 2]) / (focal, focal * aspect)
    middle, seen = plane.mean(axis=0), float(np.sqrt(((plane - plane.mean(axis=0)) ** 2).sum(axis=1).mean()))
    found: list[tuple[float, Guess]] = []
    for down in np.radians(DOWN_DEG).tolist():
        for azimuth in (2 * math.pi * np.arange(AZIMUTHS) / AZIMUTHS).tolist():
            ahead = (math.cos(azimuth) * math.cos(down), math.sin(azimuth) * math.cos(down), -math.sin(down))
            level = look_at(np.zeros(3), np.array(ahead))
            for cos, sin in QUARTER_TURNS[: 4 if rolled else 1]:
                rotation = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]) @ level
                turned = arms @ rotation.T
                flat = float(np.sqrt((turned[:, :2] ** 2).sum(axis=1).mean()))
                far = max(flat / max(seen, 1e-9), -1.5 * float(turned[:, 2].min()), 10.0)
                guess = Guess(rotation, np.array([*(middle * far), far]), lens, pivot, aspect)
                pixels, _ = guess.pixels(points.stage_mm)
                found.append((float(((pixels - points.pixels) ** 2).sum()), guess))
    return [guess for _, guess in sorted(found, key=lambda one: one[0])]
