"""How far a matched camera may be off, in pixels, wherever on the stage something will be drawn.

How well the clicked points fit says nothing about it: rms stays small while the picture's other end is pixels off. The
solve's covariance, carried to places over the stage, does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..lens import NEAR_MM
from .known_points import KnownPoints
from .solving import Match

Floats = npt.NDArray[np.float64]

MOST_PX = 2.0
"""A camera that may be further off than this (2 sigma) is told to be unsure."""

STEPS = (9, 5, 6)
"""Places along, across and up at which a stage volume is looked at."""


@dataclass(frozen=True)
class Volume:
    """A box of the stage in which the puppet walks: least and greatest x, y, z, mm."""

    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]

    def places(self, steps: tuple[int, int, int] = STEPS) -> Floats:
        """(n, 3) evenly spread over it, its corners included; z runs fastest."""
        lines = [np.linspace(a, b, n) for a, b, n in zip(self.low_mm, self.high_mm, steps, strict=True)]
        return np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 3)

    @staticmethod
    def around(points: KnownPoints) -> Volume:
        """Where nothing is said: over the known points' ground, half as high as it is wide, or as the points are."""
        low, high = points.stage_mm.min(axis=0), points.stage_mm.max(axis=0)
        ground = float(min(low[2], 0.0))
        top = max(float(high[2]), ground + 0.5 * float(max(high[0] - low[0], high[1] - low[1])))
        return Volume((float(low[0]), float(low[1]), ground), (float(high[0]), float(high[1]), top))


@dataclass(frozen=True, eq=False)
class Accuracy:
    """places_mm (n, 3) over the volume that the still shows; error_px (n,) expected there, 2 sigma; spread_px
    (n, 2, 2) its covariance, x and y."""

    volume: Volume
    places_mm: Floats
    spread_px: Floats
    error_px: Floats

    @property
    def worst_px(self) -> float:
        return float(self.error_px.max())

    @property
    def worst_at_mm(self) -> tuple[float, float, float]:
        x, y, z = self.places_mm[int(self.error_px.argmax())].tolist()
        return x, y, z

    @property
    def middle_px(self) -> float:
        return float(np.median(self.error_px))


def accuracy_over(match: Match, volume: Volume) -> Accuracy:
    """What to expect over a volume, at those of its places that are in the picture (all before the camera if none)."""
    places = volume.places()
    pixels, depth = match.guess.pixels(places)
    before = depth > NEAR_MM
    inside = before & ((pixels > -0.5) & (pixels < np.array(match.size) - 0.5)).all(axis=1)
    places = places[inside if inside.any() else before if before.any() else np.ones(len(places), bool)]
    spread = spread_px(match, places)
    return Accuracy(volume, places, spread, two_sigma(spread))


def spread_px(match: Match, places_mm: Floats) -> Floats:
    """(n, 2, 2) covariance of where the camera puts stage places (n, 3) in the still."""
    change = match.guess.slopes(places_mm)[2]
    return change @ match.covariance @ change.transpose(0, 2, 1)


def two_sigma(spread: Floats) -> Floats:
    """(n,) twice the root mean square length of errors of such covariances (n, 2, 2): of a cloud that is round 98 % are
    within, of a thin one 95 %."""
    return 2.0 * np.sqrt(np.trace(spread, axis1=1, axis2=2))
