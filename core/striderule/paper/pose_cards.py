"""A card for every key pose that is unlike the others: the legs at true scale and their joint angles, to hold beside
the puppet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..draw.drawing import Area, Ink, Line
from ..solve.plan import Plan
from .instructions import leg_words
from .lettering import cut_to
from .page import BLACK, FINE, FOOT_MM, MARGIN_MM, PLAIN, Mark, Page, Paper, Words, box, line
from .row_words import number
from .rows import PaperRow
from .side_picture import SidePictures, tone_of

_JOINTS = ("hip_swing", "hip_out", "knee", "hock", "ankle", "toe")
_NAMES = {
    "hip_swing": "hip swing",
    "hip_out": "hip out",
    "knee": "knee",
    "hock": "hock",
    "ankle": "ankle",
    "toe": "toe",
}
_SCALES = (1, 2, 5, 10, 20, 50, 100, 1000)
_PAD = 4.0
_HEAD = 12.0
_LINE = 3.6


def card_pages(plan: Plan, rows: Sequence[PaperRow], pictures: SidePictures, paper: Paper) -> list[Page]:
    """Upright pages of cards; at 1:2, and so on, where the legs are taller than the paper."""
    groups = _alike(plan, rows)
    size = _legs_mm(plan, pictures)
    words = len(plan.legs) * _LINE + 2 * _LINE
    lying, scale = next(
        (lying, scale) for scale in _SCALES for lying in (False, True) if _fits(size, words, scale, _room(paper, lying))
    )
    room = _room(paper, lying)
    card = max(size.wide / scale + 2 * _PAD, 92.0), size.tall / scale + _HEAD + words + 2 * _PAD
    columns, lines = max(1, int(room[0] // card[0])), max(1, int(room[1] // card[1]))
    pages: list[Page] = []
    for first in range(0, len(groups), columns * lines):
        marks: list[Mark] = []
        for k, poses in enumerate(groups[first : first + columns * lines]):
            x, y = MARGIN_MM + (k % columns) * card[0], MARGIN_MM + (k // columns) * card[1]
            marks += [box(x, y, *card, FINE), *_head(rows, poses, x, y, card[0], scale)]
            ground = y + _HEAD + _PAD + size.over / scale
            left = x + 0.5 * (card[0] - size.wide / scale) - size.back / scale
            marks += _legs(plan, pictures, poses[0], left, ground, scale)
            marks.append(line(x + 2.0, ground, x + card[0] - 2.0, ground, PLAIN))
            below = ground + (size.tall - size.over) / scale + _LINE + 1.0
            marks += _angles(plan, poses[0], x + _PAD, below, card[0] - 2 * _PAD)
        pages.append(paper.lying(marks) if lying else paper.upright(marks))
    return pages


@dataclass(frozen=True)
class _Size:
    """Of the legs in all poses: from back to front (back: from the reference point, below 0), and their height, of
    which `over` is over the floor under the reference point."""

    back: float
    wide: float
    tall: float
    over: float


def _legs_mm(plan: Plan, pictures: SidePictures) -> _Size:
    legs = [piece for part in pictures.parts if part.name for piece in part.pieces]
    floor = plan.floor_mm[:, None]
    back = min(float(piece[..., 0].min()) for piece in legs)
    front = max(float(piece[..., 0].max()) for piece in legs)
    over = max(float((piece[..., 1] - floor).max()) for piece in legs)
    under = max(0.0, *(float((floor - piece[..., 1]).max()) for piece in legs))
    return _Size(back, front - back, over + under, over)


def _room(paper: Paper, lying: bool) -> tuple[float, float]:
    width, height = paper.size_mm[::-1] if lying else paper.size_mm
    return width - 2 * MARGIN_MM, height - 2 * MARGIN_MM - FOOT_MM


def _fits(size: _Size, words: float, scale: float, room: tuple[float, float]) -> bool:
    wide, tall = size.wide / scale + 2 * _PAD, size.tall / scale + _HEAD + words + 2 * _PAD
    return wide <= room[0] and tall <= room[1]


def _alike(plan: Plan, rows: Sequence[PaperRow]) -> list[list[int]]:
    """Key poses in groups of the same angles to whole degrees and the same feet on the floor."""
    angles = np.rint(np.concatenate([getattr(plan, f"{joint}_deg") for joint in _JOINTS], axis=1)).astype(int)
    found: dict[tuple[object, ...], list[int]] = {}
    for k, row in enumerate(rows):
        if row.key in ("contact", "down", "passing", "up", "standing"):
            found.setdefault((row.key, *angles[k].tolist(), *plan.state[k].tolist()), []).append(k)
    return list(found.values()) or [[0]]


def _head(rows: Sequence[PaperRow], poses: list[int], x: float, y: float, width: float, scale: float) -> list[Mark]:
    up = number(rows[poses[0]].place_mm[2])
    said = f"reference point {up} mm up - legs at 1:{scale:g}"
    numbers = ("pose " if len(poses) == 1 else "poses ") + ", ".join(str(k + 1) for k in poses)
    key = rows[poses[0]].key
    return [
        Words(cut_to(f"{key}: {numbers}", width - 2 * _PAD, 11, True), x + _PAD, y + 6.0, 11, bold=True),
        Words(cut_to(said, width - 2 * _PAD, 7), x + _PAD, y + 10.0, 7),
    ]


def _legs(plan: Plan, pictures: SidePictures, pose: int, x: float, ground: float, scale: float) -> list[Mark]:
    marks: list[Mark] = []
    floor = float(plan.floor_mm[pose])
    for part in pictures.parts:
        if part.name:
            rings = [(piece[pose] - (0.0, floor)) * (1 / scale, -1 / scale) + (x, ground) for piece in part.pieces]
            marks += [Line(ring, Ink(BLACK, 0.6), closed=True) for ring in rings]
            marks += [Area((ring,), tone_of(part), 1.0) for ring in rings]
    return marks


def _angles(plan: Plan, pose: int, x: float, y: float, width: float) -> list[Mark]:
    """A line a leg: its angles in whole degrees."""
    marks: list[Mark] = []
    for k, leg in enumerate(plan.legs):
        joints = [j for j in _JOINTS if j != "hock" or plan.shot.puppet.legs[k].cannon_mm is not None]
        said = ", ".join(f"{_NAMES[j]} {round(float(getattr(plan, f'{j}_deg')[pose, k])):d}" for j in joints)
        marks.append(Words(cut_to(f"{leg_words(leg)}: {said}", width, 7), x, y + k * _LINE, 7))
    signs = "degrees: hip swing + forward, hip out + away from the midline, ankle and toe + up"
    marks.append(Words(cut_to(signs, width, 5.5), x, y + len(plan.legs) * _LINE, 5.5))
    return marks
