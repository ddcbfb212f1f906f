"""Poses that share a trouble, merged into runs, and the finding that tells of them all."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .codes import CODES
from .finding import Cure, Finding

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

Run = tuple[int, int]


def runs_of(mask: Flags) -> tuple[Run, ...]:
    """(first, last) of every unbroken run of True in a (poses,) mask, counted from 1, inclusive."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return tuple((int(first) + 1, int(last)) for first, last in edges.reshape(-1, 2))


def run_words(runs: tuple[Run, ...], most: int = 3) -> str:
    """ "pose 4", "poses 3-5", "poses 3-5, 15-17, 27-29 and 2 more runs"."""
    shown = [f"{first}" if first == last else f"{first}-{last}" for first, last in runs[:most]]
    many = any(first != last for first, last in runs) or len(runs) > 1
    more = len(runs) - most
    tail = f" and {more} more {'run' if more == 1 else 'runs'}" if more > 0 else ""
    return f"{'poses' if many else 'pose'} {', '.join(shown)}{tail}"


def finding_of(
    code: str,
    mask: Flags,
    size: Floats,
    unit: str,
    text: str,
    *,
    leg: str = "",
    joint: str = "",
    number: Floats | None = None,
    cures: tuple[Cure, ...] = (),
) -> tuple[Finding, ...]:
    """One finding for all True poses of `mask` (poses,), or none where there are none.

    size: (poses,) how bad; the greatest is the worst pose. number: (poses,) what is told of it where that is not the
    size itself. text: a sentence with {poses}, {worst} (the pose) and {number} in it.
    """
    if not mask.any():
        return ()
    runs = runs_of(mask)
    # Rounded, so that of equal poses of a walk that repeats the first counts.
    worst = int(np.argmax(np.where(mask, np.round(size, 6), -np.inf)))
    first, last = next(run for run in runs if run[0] <= worst + 1 <= run[1])
    told = float((size if number is None else number)[worst])
    words = text.format(poses=run_words(runs), worst=worst + 1, number=f"{told:.1f}")
    return (
        Finding(
            code,
            CODES[code].severity,
            words,
            first,
            last,
            leg=leg,
            joint=joint,
            number=told,
            unit=unit,
            cures=cures,
            runs=runs,
        ),
    )
