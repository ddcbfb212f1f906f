"""Several walks on one beat: which pose each of them shows in every frame of a film that holds them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from ..solve.plan import Plan


@dataclass(frozen=True, eq=False)
class Beat:
    """rate: frames a second of the film; poses (walks, frames): pose index of each walk in every frame."""

    rate: Fraction
    poses: npt.NDArray[np.int64]


def beat_of(plans: Sequence[Plan], least_seconds: float = 0.0) -> Beat:
    """One time for all walks, at the highest of their rates: all begin in the first frame, a shorter one holds its last
    pose until the longest has ended. Repeated as a whole until it lasts `least_seconds`.

    A walk of another rate shows what it shows at the moment at which the frame begins.
    """
    rate = max(plan.shot.rate for plan in plans)
    longest = max(plan.frames / plan.shot.rate for plan in plans)
    frames = -(-longest * rate // 1)  # upward to a whole frame
    at = np.arange(int(frames))
    rows: list[npt.NDArray[np.int64]] = []
    for plan in plans:
        share = plan.shot.rate / rate
        own = np.minimum(at * share.numerator // share.denominator + 1, plan.frames)
        rows.append(np.searchsorted(plan.first_frame, own, side="right") - 1)
    times = max(1, -(-least_seconds * rate // frames))
    return Beat(rate, np.tile(np.stack(rows), (1, int(times))))
