"""Several boards at once, each in a place of its own, all through one lens: what calibrates a lens from many stills,
and what lets a second board in the same still hold the lens without its place being measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..lens import NEAR_MM
from .descent import Descent, descend
from .guess import LENS, POSE, Guess
from .knowledge import Knowledge
from .known_points import FEWEST, KnownPoints, refuse_unfit
from .solving import Match, lowest, refuse_impossible, rms_of

Floats = npt.NDArray[np.float64]

STRAY_PX = 0.4
"""A corner that is so far off, and four times as far as the middle one of its board, was found beside its place."""

_SIEVED = 4
"""How often strays are looked for."""


@dataclass(frozen=True, eq=False)
class Bundle:
    """guesses: one a board, all with the same lens. covariance (POSE + LENS,) squared, for the first board's camera;
    scatter: misses in standard deviations, rms, over what the fit left free."""

    guesses: tuple[Guess, ...]
    covariance: Floats
    scatter: float
    rms_px: tuple[float, ...]


def bundled(boards: Sequence[KnownPoints], knowledge: Knowledge) -> tuple[Bundle, list[KnownPoints]]:
    """The cameras of several boards (all of their points used), and their lens, at once; and the points that it came
    from: a corner finder puts some beside their places, and those are left out."""
    held = replace(knowledge, spread=np.zeros(LENS))
    begin = tuple(lowest(board, held).state for board in boards)
    kept = list(boards)
    for _ in range(_SIEVED):
        end = _descended(kept, knowledge, begin)
        begin = end.state
        left = [_without_strays(board, guess) for board, guess in zip(kept, begin, strict=True)]
        if sum(map(len, left)) == sum(map(len, kept)):
            return _bundle(kept, knowledge, end), kept
        kept = left
    return _bundle(kept, knowledge, _descended(kept, knowledge, begin)), kept


def start_cost(boards: Sequence[KnownPoints], knowledge: Knowledge) -> float:
    """How badly boards fit when a lens's focal length alone is free: to choose among first guesses of it."""
    return sum(lowest(board, knowledge, rolled=True).cost for board in boards)


def solve_boards(
    floor: KnownPoints, others: Sequence[KnownPoints], size: tuple[int, int], knowledge: Knowledge
) -> Match:
    """The camera of a still with a board on the floor, and others anywhere, which hold its lens."""
    refuse_unfit(floor, size, knowledge.calibrated)
    found, kept = bundled([floor, *others], knowledge)
    refuse_impossible(found.guesses[0], kept[0], size)
    return Match(found.guesses[0], found.covariance, found.rms_px[0], found.scatter, kept[0], size, knowledge)


def _without_strays(points: KnownPoints, guess: Guess) -> KnownPoints:
    away = np.linalg.norm(guess.pixels(points.stage_mm)[0] - points.pixels, axis=1)
    near = away <= max(STRAY_PX, 4 * float(np.median(away)))
    return points.part(near) if near.sum() >= FEWEST else points


def _descended(
    boards: Sequence[KnownPoints], knowledge: Knowledge, begin: tuple[Guess, ...]
) -> Descent[tuple[Guess, ...]]:
    free = knowledge.free
    wide = POSE * len(boards) + len(free)
    prior = np.zeros((len(free), wide))
    prior[np.arange(len(free)), POSE * len(boards) + np.arange(len(free))] = 1.0 / knowledge.spread[free]

    def slopes(guesses: tuple[Guess, ...]) -> tuple[Floats, Floats] | None:
        misses: list[Floats] = []
        rows: list[Floats] = []
        for k, (guess, board) in enumerate(zip(guesses, boards, strict=True)):
            pixels, depth, change = guess.slopes(board.stage_mm)
            if depth.min() < NEAR_MM:
                return None
            weight = 1.0 / board.sigma_px
            misses.append(((pixels - board.pixels) * weight[:, None]).reshape(-1))
            change = (change * weight[:, None, None]).reshape(-1, POSE + LENS)
            own = np.zeros((len(change), wide))
            own[:, POSE * k : POSE * (k + 1)] = change[:, :POSE]
            own[:, POSE * len(boards) :] = change[:, POSE + free]
            rows.append(own)
        away = (guesses[0].lens - knowledge.start)[free] / knowledge.spread[free]
        return np.concatenate([*misses, away]), np.concatenate([*rows, prior])

    def moved(guesses: tuple[Guess, ...], step: Floats) -> tuple[Guess, ...]:
        whole = np.zeros(POSE + LENS)
        whole[POSE + free] = step[POSE * len(boards) :]
        out: list[Guess] = []
        for k, guess in enumerate(guesses):
            whole[:POSE] = step[POSE * k : POSE * (k + 1)]
            out.append(guess.moved(whole))
        return tuple(out)

    return descend(slopes, moved, begin, 200)


def _bundle(boards: Sequence[KnownPoints], knowledge: Knowledge, end: Descent[tuple[Guess, ...]]) -> Bundle:
    count = sum(2 * len(board) for board in boards)
    scatter = math.sqrt(end.cost / max(count - POSE * len(boards), 1))
    free = knowledge.free
    own = np.linalg.inv(end.normal) * max(1.0, scatter) ** 2
    of_end = np.concatenate([np.arange(POSE), POSE * len(boards) + np.arange(len(free))])
    columns = np.concatenate([np.arange(POSE), POSE + free])
    covariance = np.zeros((POSE + LENS, POSE + LENS))
    covariance[np.ix_(columns, columns)] = own[np.ix_(of_end, of_end)]
    rms = tuple(
        rms_of(guess.pixels(board.stage_mm)[0] - board.pixels) for guess, board in zip(end.state, boards, strict=True)
    )
    return Bundle(end.state, covariance, scatter, rms)
