"""What is wrong with points that no camera fits: each usual mistake is undone in turn, and the one whose undoing makes
them fit is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ...errors import ModelError
from ..lens import NEAR_MM
from .descent import Descent
from .guess import Guess
from .knowledge import Knowledge
from .known_points import FEWEST, FEWEST_WITH_LENS, KnownPoints

Floats = npt.NDArray[np.float64]
Solve = Callable[..., Descent[Guess]]

POOR_SCATTER = 10.0
"""A fit is refused where its misses are so many standard deviations, and POOR_SHARE of the picture's width."""

POOR_SHARE = 0.002

_FITS = 4.0  # a cost per thing left over at which a mistake is certain, so that no other is tried
_TRIED = 5  # starts followed for each
_PAIRED = 14  # points beyond which only pairs with one of the worst are tried
_WORST = 4

MIRRORED = (
    "places with x ahead, y to the left and z up",
    "the mirror image of such places",
    "Is y counted to the right, are x and y changed over, or is the still flipped?",
)


@dataclass(frozen=True)
class _Undone:
    """The points with one mistake undone, and the refusal that tells of it. weight: how much better than others it has
    to fit; leaving out a point fits more easily than changing two over."""

    points: KnownPoints
    refusal: Callable[[Descent[Guess]], ModelError]
    weight: float = 1.0


def explained(points: KnownPoints, knowledge: Knowledge, solve: Solve, found: Descent[Guess]) -> ModelError:
    """The refusal for points whose best fit `found` is a poor one. solve: `solving.lowest`."""
    best: tuple[float, _Undone, Descent[Guess]] | None = None
    for undone in _mistakes(points, knowledge, found.state):
        end = solve(undone.points, knowledge, rolled=False, tried=_TRIED)
        score = end.cost / max(2 * len(undone.points) - 6, 1) * undone.weight
        if best is None or score < best[0]:
            best = score, undone, end
        if score < _FITS:
            break
    before = found.cost / max(2 * len(points) - 6, 1)
    # undone, the points fit as well as clicks may, or so much better that it can hardly be chance
    if best and best[0] < max(16.0, before / 100) and best[0] < before / 9:
        return best[1].refusal(best[2])
    misses = np.linalg.norm(found.state.pixels(points.stage_mm)[0] - points.pixels, axis=1)
    worst = int(misses.argmax())
    return ModelError(
        "points",
        "places and pixels that one camera can show",
        f"ones that miss by {float(np.sqrt((misses**2).mean())):.0f} px at best, point {points.names[worst]} by "
        f"{misses[worst]:.0f} px",
        "Are the points in the right order, mm in the places, and is the focal length right?",
    )


def _mistakes(points: KnownPoints, knowledge: Knowledge, guess: Guess) -> Iterator[_Undone]:
    flipped = points.with_stage(points.stage_mm * (1.0, -1.0, 1.0))
    yield _Undone(flipped, _mirrored)
    count = len(points)
    backward = np.arange(count)[::-1]
    orders = [(backward, "in the opposite order")]
    orders += [(np.roll(np.arange(count), by), "shifted by one") for by in (1, -1)]
    for order, words in orders:
        yield _Undone(replace(points, pixels=points.pixels[order]), _in_another_order(words))
    misses = np.linalg.norm(guess.pixels(points.stage_mm)[0] - points.pixels, axis=1)
    worst = set(np.argsort(misses)[-_WORST:].tolist())
    pairs = [pair for pair in combinations(range(count), 2) if count <= _PAIRED or worst & set(pair)]
    for one, other in sorted(pairs, key=lambda pair: -float(misses[pair[0]] + misses[pair[1]])):
        order = np.arange(count)
        order[[one, other]] = other, one
        yield _Undone(
            replace(points, pixels=points.pixels[order]), _changed_over(points.names[one], points.names[other])
        )
    need = FEWEST_WITH_LENS if knowledge.calibrated else FEWEST
    if count - 1 >= need:
        for k in range(count):
            yield _Undone(points.part(np.arange(count) != k), _one_wrong(points, k), 4.0)


def _mirrored(end: Descent[Guess]) -> ModelError:
    expected, given, cure = MIRRORED
    if end.state.rotation[1, 2] > 0:  # the camera would hang upside down
        cure = "Is v counted up from the bottom of the still? It counts down from the top."
    return ModelError("points", expected, given, cure)


def _in_another_order(words: str) -> Callable[[Descent[Guess]], ModelError]:
    return lambda _: ModelError("points", "pixels in the order of the places", f"pixels {words}",
                                "Put into the places' order they fit: click them anew in it.")  # fmt: skip


def _changed_over(one: str, other: str) -> Callable[[Descent[Guess]], ModelError]:
    return lambda _: ModelError(f"point {one}", "the pixel of its own place", f"that of point {other}, it seems",
                                f"Changed over, {one} and {other} fit: change them back.")  # fmt: skip


def _one_wrong(points: KnownPoints, k: int) -> Callable[[Descent[Guess]], ModelError]:
    def refusal(end: Descent[Guess]) -> ModelError:
        pixel, depth = end.state.pixels(points.stage_mm[k : k + 1])
        name = f"point {points.names[k]}"
        rest = "the camera that the other points give"
        if depth[0] < NEAR_MM:
            return ModelError(name, "a place before the camera", f"one {-depth[0]:.0f} mm behind {rest}",
                              "Measure its place again; look at the signs.")  # fmt: skip
        away = float(np.hypot(*(pixel[0] - points.pixels[k]).tolist()))
        return ModelError(name, f"a pixel near {pixel[0, 0]:.0f}, {pixel[0, 1]:.0f}, where {rest} shows its place",
                          f"{points.pixels[k, 0]:.0f}, {points.pixels[k, 1]:.0f}, {away:.0f} px off",
                          "Measure its place again, or click it again.")  # fmt: skip

    return refusal
