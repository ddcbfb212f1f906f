"""The height gauge at 1:1: upright strips to stand on the floor, with a mark a pose at the reference point's height,
and on the back the ankle and the toe tip of the foot in the air.

Marks that would stand too near are fanned out: a thin line leads from the true height to the number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..solve.plan import FootState, Plan
from .instructions import leg_words
from .lettering import broken, cut_to
from .page import (
    BOLD,
    DASHED,
    FINE,
    FOOT_MM,
    MARGIN_MM,
    PLAIN,
    POINTS_PER_MM,
    THIN,
    Clipped,
    Mark,
    Page,
    Paper,
    Words,
    box,
    line,
)
from .tiling import control_rulers

Floats = npt.NDArray[np.float64]

_FRONT_MM, _BACK_MM, _FLAP_MM = 46.0, 40.0, 4.0
_APART_MM = 4.6
_SIZE = 11.0
_SCALE_MM = 7.0  # of the strip, for its own millimetres
_FAN_MM = 11.0
_STAND_MM = 14.0  # folded under, to stand on
_HEAD_MM = 18.0


@dataclass(frozen=True)
class Height:
    """A height over the datum's floor, and what stands at it."""

    mm: float
    text: str


def gauge_pages(plan: Plan, paper: Paper) -> list[Page]:
    """Upright pages of strips. A strip holds as many poses in a row as its length has room for numbers; what is higher
    than the paper goes on at the strip's upper end, on a strip of its own that is taped on."""
    height = paper.size_mm[1]
    top, floor = MARGIN_MM + _HEAD_MM, height - MARGIN_MM - FOOT_MM - _STAND_MM
    tall = floor - top
    low = _lowest(plan, tall)
    strips: list[list[Mark]] = []
    each = max(4, int(min(tall, _reach(plan, low) + 60.0) / _APART_MM) - 2)
    for first in range(0, plan.poses, each):
        poses = range(first, min(first + each, plan.poses))
        strips.append(_strip(plan, poses, low, tall))
    return _laid_out(strips, plan, paper, top, floor)


def _reach(plan: Plan, low: float) -> float:
    return float(plan.reference_mm[:, 2].max()) - low


def _lowest(plan: Plan, tall: float) -> float:
    """Where strips begin: on the floor, or, where the reference point is higher than the paper is long, on a block of
    whole 50 mm."""
    highest = float(plan.reference_mm[:, 2].max()) + 8.0
    return 0.0 if highest <= tall else 50.0 * np.ceil((highest - tall) / 50.0)


def _strip(plan: Plan, poses: range, low: float, tall: float) -> list[Mark]:
    """A strip's marks, x from its left edge, y up the paper as minus the height over its lower end."""
    front = [Height(float(plan.reference_mm[k, 2]) - low, str(k + 1)) for k in poses]
    marks: list[Mark] = _scale(0.0, tall, low)
    marks += _fanned(front, _SCALE_MM, _FRONT_MM - 2.0, tall)
    back: list[Height] = []
    for k in poses:
        for leg, name in enumerate(plan.legs):
            if plan.state[k, leg] == FootState.AIR:
                short = "".join(word[0] for word in leg_words(name).split()).upper()
                ankle, toe = float(plan.ankle_mm[k, leg, 2]), float(plan.toe_mm[k, leg, 2])
                back += [Height(ankle, f"{k + 1}{short}.a"), Height(toe, f"{k + 1}{short}.t")]
    shown = [one for one in back if 0 <= one.mm <= tall]
    marks += _scale(_FRONT_MM, tall, 0.0)
    marks += _fanned(shown, _FRONT_MM + _SCALE_MM, _FRONT_MM + _BACK_MM - 1.0, tall, size=7.0, apart=3.0)
    wide = _FRONT_MM + _BACK_MM
    marks += [box(0, -tall, wide, tall + _STAND_MM, PLAIN), line(_FRONT_MM, -tall, _FRONT_MM, _STAND_MM, DASHED)]
    marks.append(line(0, 0, wide, 0, BOLD))
    if low:
        marks.append(Words(f"stands on a block of {low:g} mm", 2.0, 4.0, 7, bold=True))
    else:
        marks.append(Words("FLOOR", 2.0, 4.0, 8, bold=True))
    marks.append(Words("fold here and stand on it", 2.0, 8.0, 6))
    marks.append(Words(f"poses {poses[0] + 1}-{poses[-1] + 1}", 2.0, 12.5, 9, bold=True))
    marks.append(Words("back: foot in the air,", _FRONT_MM + 2.0, 4.0, 6))
    if low:
        marks.append(Words("on the floor, without the block", _FRONT_MM + 2.0, 10.0, 6, bold=True))
    marks.append(Words(".a its ankle, .t its toe tip", _FRONT_MM + 2.0, 7.0, 6))
    return marks


def _scale(x: float, tall: float, low: float) -> list[Mark]:
    """Millimetres up the strip's left edge."""
    marks: list[Mark] = []
    for mm in range(int(tall) + 1):
        long = 3.4 if mm % 10 == 0 else 2.3 if mm % 5 == 0 else 1.3
        marks.append(line(x, -mm, x + long, -mm, FINE))
        if mm % 10 == 0 and 0 < mm < tall - 2:
            marks.append(Words(f"{mm + low:g}", x + 3.6, -mm + 0.7, 5))
    return marks


def _fanned(
    heights: Sequence[Height], left: float, right: float, tall: float, size: float = _SIZE, apart: float = _APART_MM
) -> list[Mark]:
    """Heights with their numbers; those of one height, to a tenth, share a line, and as many more as they need."""
    grouped: dict[int, list[Height]] = {}
    for one in heights:
        grouped.setdefault(int(one.mm * 10 + 0.5), []).append(one)
    label = left + 2.0 + _FAN_MM
    lines: list[Height] = []
    for key in sorted(grouped):
        said = broken(" ".join(one.text for one in grouped[key]), right - label, size, True)
        lines += [Height(grouped[key][0].mm, words) for words in reversed(said)]
    if not lines:
        return []
    apart = min(apart, (tall - 5.0) / len(lines))
    size = min(size, 0.8 * apart * POINTS_PER_MM)
    marks: list[Mark] = []
    at = spread(np.array([one.mm for one in lines]), apart, 2.5, tall - 2.0)
    for one, place in zip(lines, at.tolist(), strict=True):
        marks.append(line(left, -one.mm, left + 2.5, -one.mm, PLAIN))
        marks.append(line(left + 2.5, -one.mm, label - 0.6, -place, THIN))
        marks.append(Words(one.text, label, -place + 0.36 * size / POINTS_PER_MM, size, bold=True))
    return marks


def spread(values: Floats, apart: float, low: float, high: float) -> Floats:
    """Sorted places (n,) moved as little as possible, in the sum of squares, so that neighbours stand `apart` and all
    lie from low to high; evenly where there is no more room than that.

    Source: pool adjacent violators (Ayer et al., Ann. Math. Stat. 26 (1955) 641), on the places less their rank.
    """
    count = len(values)
    if count * apart >= high - low:
        return np.linspace(low, high, count) if count > 1 else np.clip(values, low, high)
    rank = apart * np.arange(count)
    blocks: list[list[float]] = []  # mean, number
    for value in (values - rank).tolist():
        blocks.append([value, 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, number = blocks.pop()
            last = blocks[-1]
            last[0] = (last[0] * last[1] + mean * number) / (last[1] + number)
            last[1] += number
    means, numbers = np.array(blocks, dtype=np.float64).T
    fitted = np.repeat(means, numbers.astype(np.int64))
    return np.asarray(np.clip(fitted, low, high - float(rank[-1])) + rank, dtype=np.float64)


def _laid_out(strips: Sequence[list[Mark]], plan: Plan, paper: Paper, top: float, floor: float) -> list[Page]:
    """Strips side by side, as many to a page as fit."""
    wide = _FRONT_MM + _BACK_MM
    count = max(1, int((paper.size_mm[0] - 2 * MARGIN_MM - 10.0) // (wide + _FLAP_MM)))
    name = plan.shot.puppet.body.reference_name
    pages: list[Page] = []
    for first in range(0, len(strips), count):
        marks: list[Mark] = [
            Words(cut_to(f"Height gauge: {name} over the datum's floor, poses at their heights", 150.0, 9, True),
                  MARGIN_MM, MARGIN_MM + 4.0, 9, bold=True),
            Words("Cut out, fold back along the dashed line and at FLOOR; check a strip's own millimetres with a ruler",
                  MARGIN_MM, MARGIN_MM + 8.0, 7),
        ]  # fmt: skip
        for k, strip in enumerate(strips[first : first + count]):
            x = MARGIN_MM + 10.0 + k * (wide + _FLAP_MM)
            window = (x - 1.0, top - 1.0, wide + 2.0, floor + _STAND_MM - top + 2.0)
            marks.append(Clipped(tuple(strip), window, (x, floor)))
        marks += control_rulers(MARGIN_MM + 10.0, MARGIN_MM + 13.5, MARGIN_MM + 4.0, top)
        pages.append(paper.upright(marks))
    return pages
