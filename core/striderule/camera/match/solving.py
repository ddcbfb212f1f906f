"""A camera from known points and their pixels in one still: where it stood, how it was turned and, as far as it is
not known already, its lens.

The sum of squares that is made least holds the points' misses and how far the lens is from what is known of it, each
in its own standard deviations (maximum a posteriori); its curvature there is the result's covariance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...errors import GeometryError, ModelError
from ...model.view import View
from ..lens import NEAR_MM, eye_mm, safe_radius
from . import faults
from .descent import Descent, descend
from .guess import LENS, POSE, Guess
from .knowledge import Knowledge
from .known_points import KnownPoints, on_one_height, refuse_unfit
from .starts import starts

Floats = npt.NDArray[np.float64]

TRIED = 10
"""Starts that are followed, each for FIRST_ROUNDS; the two that come lowest are followed to their end."""

FIRST_ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Match:
    """A camera that was found. covariance (POSE + LENS,) squared: of a step of `guess`, widened where the points
    scatter more than they say. rms_px: of the misses of the points used. scatter: misses in standard deviations, rms
    over what the solve left free; about 1 where sigma_px is right."""

    guess: Guess
    covariance: Floats
    rms_px: float
    scatter: float
    points: KnownPoints
    size: tuple[int, int]
    knowledge: Knowledge

    def view(self, name: str = "match") -> View:
        return self.guess.view(name, self.size)

    @property
    def misses_px(self) -> Floats:
        """(n, 2) found pixel minus clicked pixel of every point, check points too."""
        return self.guess.pixels(self.points.stage_mm)[0] - self.points.pixels


def solve_camera(points: KnownPoints, size: tuple[int, int], knowledge: Knowledge) -> Match:
    """The camera that took a still of `size` (width, height) with these points in it.

    Raises ModelError where the points cannot be right (see `refuse_unfit` and `faults`), GeometryError for a lens that
    folds.
    """
    refuse_unfit(points, size, knowledge.calibrated)
    used = points.used
    found = lowest(used, knowledge)
    if is_poor(found, used, size):
        raise faults.explained(used, knowledge, lowest, found)
    refuse_impossible(found.state, used, size)
    guess = found.state
    misses = guess.pixels(used.stage_mm)[0] - used.pixels
    scatter = scatter_of(found, used)
    covariance = _covariance(found, used, knowledge) * max(1.0, scatter) ** 2
    return Match(guess, covariance, rms_of(misses), scatter, points, size, knowledge)


def lowest(points: KnownPoints, knowledge: Knowledge, rolled: bool = True, tried: int = TRIED) -> Descent[Guess]:
    """The best fit to points that are all used. rolled: cameras on their side are tried where upright ones fail.
    tried: how many starts are followed."""
    best = _followed(points, knowledge, starts(points, knowledge.start, knowledge.aspect), tried)
    if rolled and scatter_of(best, points) > 3.0:
        other = _followed(points, knowledge, starts(points, knowledge.start, knowledge.aspect, rolled=True), 2 * TRIED)
        best = min(best, other, key=lambda one: one.cost)
    return best


def scatter_of(found: Descent[Guess], points: KnownPoints) -> float:
    """Root of the cost over the number of things that the fit left over."""
    return math.sqrt(found.cost / max(2 * len(points) - POSE, 1))


def rms_of(misses: Floats) -> float:
    """Root mean square length of misses (n, 2)."""
    return math.sqrt(float((misses**2).sum(axis=1).mean()))


def is_poor(found: Descent[Guess], points: KnownPoints, size: tuple[int, int]) -> bool:
    """True where the misses are far beyond what clicks and a ruler do: something is wrong with the points."""
    misses = rms_of(found.state.pixels(points.stage_mm)[0] - points.pixels)
    return scatter_of(found, points) > faults.POOR_SCATTER and misses > faults.POOR_SHARE * size[0]


def _followed(points: KnownPoints, knowledge: Knowledge, begins: list[Guess], tried: int = TRIED) -> Descent[Guess]:
    """The lowest end of descents from the first `tried` of some guesses."""
    free = knowledge.free
    columns = np.concatenate([np.arange(POSE), POSE + free])
    weight = 1.0 / points.sigma_px
    prior = np.zeros((len(free), len(columns)))
    prior[np.arange(len(free)), POSE + np.arange(len(free))] = 1.0 / knowledge.spread[free]

    def slopes(guess: Guess) -> tuple[Floats, Floats] | None:
        pixels, depth, change = guess.slopes(points.stage_mm)
        if depth.min() < NEAR_MM:
            return None
        misses = (pixels - points.pixels) * weight[:, None]
        away = (guess.lens - knowledge.start)[free] / knowledge.spread[free]
        rows = (change[:, :, columns] * weight[:, None, None]).reshape(-1, len(columns))
        return np.concatenate([misses.reshape(-1), away]), np.concatenate([rows, prior])

    def moved(guess: Guess, step: Floats) -> Guess:
        whole = np.zeros(POSE + LENS)
        whole[columns] = step
        return guess.moved(whole)

    near = sorted((descend(slopes, moved, one, FIRST_ROUNDS) for one in begins[:tried]), key=lambda end: end.cost)
    ends = [descend(slopes, moved, one.state) for one in near[:2]]
    return min(ends, key=lambda end: end.cost)


def _covariance(found: Descent[Guess], points: KnownPoints, knowledge: Knowledge) -> Floats:
    """(POSE + LENS,) squared; what is held in the lens adds what it does to the pose."""
    free = knowledge.free
    columns = np.concatenate([np.arange(POSE), POSE + free])
    whole = np.zeros((POSE + LENS, POSE + LENS))
    own = np.linalg.inv(found.normal)
    whole[np.ix_(columns, columns)] = own
    if knowledge.unsure.any():
        change = found.state.slopes(points.stage_mm)[2] / points.sigma_px[:, None, None]
        rows = change.reshape(-1, POSE + LENS)
        carried = np.zeros((POSE + LENS, LENS))
        carried[columns] = -own @ rows[:, columns].T @ rows[:, POSE:]
        carried[POSE:] += np.eye(LENS)
        whole += carried @ knowledge.unsure @ carried.T
    return whole


def refuse_impossible(guess: Guess, points: KnownPoints, size: tuple[int, int]) -> None:
    """Raises GeometryError for a lens that folds, ModelError for points of one height that are seen from below."""
    view = guess.view("match", size)
    if any(view.distortion):
        try:
            safe_radius(view)
        except GeometryError as error:
            raise GeometryError(
                "The lens that fits these points folds the picture over inside the frame. Measure more points, also "
                "near the picture's corners, or calibrate the lens."
            ) from error
    if on_one_height(points) and eye_mm(view)[2] < points.stage_mm[:, 2].min():
        raise ModelError("points", *faults.MIRRORED)
