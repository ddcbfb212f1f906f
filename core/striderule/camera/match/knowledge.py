"""What is known of a lens before a still is looked at: guessed from its focal length, or calibrated."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...errors import ModelError
from ...model.matched import Lens
from .guess import CENTRE_X, CENTRE_Y, FOCAL, K1, K2, LENS, P1, P2, lens_numbers

Floats = npt.NDArray[np.float64]

FOCAL_SHARE, K1_SPREAD, CENTRE_SHARE = 0.05, 0.08, 0.004
"""How far a lens that is not calibrated is off, one standard deviation: its focal length (a share of what is engraved
or typed: markings are rounded and focusing changes it), k1, and its centre (a share of the picture's width)."""

_WIDE = {FOCAL: 0.3, K1: 0.5, K2: 1.0, P1: 0.01, P2: 0.01}
"""The same for a lens that is being calibrated: wide enough to weigh nothing against a few boards."""


@dataclass(frozen=True, eq=False)
class Knowledge:
    """start (LENS,): the lens as it is taken to be. spread (LENS,): one standard deviation of each number that the
    still may change; 0 = held. unsure (LENS, LENS): covariance of what is held. calibrated: it comes from a lens file.
    """

    start: Floats
    spread: Floats
    unsure: Floats
    calibrated: bool = False
    aspect: float = 1.0

    @property
    def free(self) -> npt.NDArray[np.intp]:
        return np.flatnonzero(self.spread > 0)


def guessed(size: tuple[int, int], focal_px: float, focal_share: float = FOCAL_SHARE, aspect: float = 1.0) -> Knowledge:
    """A lens that is known by its focal length alone, in pixels of a still of `size` (width, height)."""
    spread = np.zeros(LENS)
    spread[FOCAL], spread[K1] = focal_share, K1_SPREAD
    spread[CENTRE_X] = spread[CENTRE_Y] = CENTRE_SHARE * size[0]
    return Knowledge(_plain(size, focal_px), spread, np.zeros((LENS, LENS)), aspect=aspect)


def to_calibrate(size: tuple[int, int], focal_px: float) -> Knowledge:
    """A lens of which next to nothing is known; k3 is held at 0."""
    spread = np.zeros(LENS)
    for key, value in _WIDE.items():
        spread[key] = value
    spread[CENTRE_X] = spread[CENTRE_Y] = 0.05 * size[0]
    return Knowledge(_plain(size, focal_px), spread, np.zeros((LENS, LENS)))


def known(lens: Lens, size: tuple[int, int]) -> Knowledge:
    """A calibrated lens, for a still of `size`. Raises ModelError where the lens was calibrated at another size."""
    if tuple(lens.still_px) != tuple(size):
        raise ModelError(
            "still",
            f"a still of {lens.still_px[0]} x {lens.still_px[1]}, as the lens was calibrated with",
            f"one of {size[0]} x {size[1]}",
            "Take the still at the camera's full size, as the lens's stills were, and neither crop nor scale it.",
        )
    return Knowledge(lens_numbers(lens), np.zeros(LENS), covariance_of(lens), True, lens.focal_px[1] / lens.focal_px[0])


def covariance_of(lens: Lens) -> Floats:
    """(LENS, LENS) of a lens file's list, the matrix's upper half row by row; zeros where it gives none."""
    matrix = np.zeros((LENS, LENS))
    if lens.covariance:
        matrix[np.triu_indices(LENS)] = lens.covariance
        matrix += np.triu(matrix, 1).T
    return matrix


def _plain(size: tuple[int, int], focal_px: float) -> Floats:
    return np.array([math.log(focal_px), (size[0] - 1) / 2, (size[1] - 1) / 2, 0.0, 0.0, 0.0, 0.0, 0.0])
