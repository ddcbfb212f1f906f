"""The floor at 1:1: prints in true outline, tie-downs with cross hairs, the track with a mark a pose, datum and holes.

Up on the page is the puppet's left, right is ahead. It leaves the stage before the first picture.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..draw.drawing import Dot, Ink, Line, Ring
from .cautions import DRILLING
from .floor_places import FloorPlaces, Print
from .page import BLACK, BOLD, DARK, MIDDLE, PLAIN, THIN, Mark, Page, Paper, line
from .room import Room
from .tiling import tiled_pages, tiling_of

Floats = npt.NDArray[np.float64]

DRILL_MM = 3.2
"""For an M3 tie-down screw: the clearance hole of the fine series (ISO 273, from memory)."""

LARGEST_MM = 1000.0
"""Up to here the floor is printed at 1:1; taped paper beyond it is less true than a ruler (common practice, no
source)."""

_ARM = 5.0  # of a tie-down's cross hairs
_JOINT = Ink(DARK, 0.15, dash=(1.5, 1.5))
_TRACK = Ink(BLACK, 0.2, dash=(6.0, 1.5))


def template_pages(places: FloorPlaces, paper: Paper, drill_mm: float) -> list[Page]:
    """Pages at 1:1; none where the floor is longer than LARGEST_MM."""
    if places.extent_mm > LARGEST_MM:
        return []
    marks = floor_marks(places, drill_mm)
    note = f"Drill {drill_mm:g} mm at the cross hairs. Take all paper off before the first picture. {DRILLING}"
    return tiled_pages(marks, tiling_of(marks, paper), note)


def floor_marks(places: FloorPlaces, drill_mm: float) -> list[Mark]:
    """Everything in mm: x = along from the datum, y = -across."""
    room = Room()
    marks: list[Mark] = [Ring(hole.x, -hole.y, 1.2, Ink(MIDDLE, 0.15)) for hole in places.holes]
    marks += [Line(_flipped(places.reference), _TRACK)] if len(places.reference) > 1 else []
    for one in places.prints:
        marks += _print(one, drill_mm)
        lines = [_along(_flipped(one.outline)), _along(_toe_line(one))]
        lines += [_along(_flipped(one.joint))] if one.joint is not None else []
        for x, y in np.concatenate(lines).tolist():
            room.take((x - 0.3, y - 0.3, x + 0.3, y + 0.3))
        x, y = _flipped(one.tie).tolist()
        room.take((x - _ARM, y - 1.2, x + _ARM, y + 1.2))
        room.take((x - 1.2, y - _ARM, x + 1.2, y + _ARM))
    for x, y in _flipped(places.reference).tolist():
        room.take((x - 0.7, y - 0.7, x + 0.7, y + 0.7))
    marks += _datum(room)
    marks += _poses(places, room)
    for one in places.prints:
        marks += _names(one, room, drill_mm)
    for hole in places.holes:
        words = room.words(hole.name, [(hole.x, -hole.y + d) for d in (2.6, -2.6)], 5)
        marks += [words] if words else []
    return marks


def _flipped(points: Floats) -> Floats:
    return points * (1.0, -1.0)


def _along(ring: Floats, every_mm: float = 1.0) -> Floats:
    """Places (n, 2) on a closed outline, as far apart as that or nearer; of two places the line between them."""
    ends = np.roll(ring, -1, axis=0)
    count = np.maximum(1, np.ceil(np.hypot(*(ends - ring).T) / every_mm)).astype(int)
    parts = [
        a + (b - a) * np.linspace(0, 1, n, endpoint=False)[:, None] for a, b, n in zip(ring, ends, count, strict=True)
    ]
    return np.concatenate(parts)


def _print(one: Print, drill_mm: float) -> list[Mark]:
    marks: list[Mark] = [Line(_flipped(one.outline), BOLD, closed=True)]
    if one.joint is not None:
        marks.append(Line(_flipped(one.joint), _JOINT))
    x, y = _flipped(one.tie).tolist()
    marks += [line(x - _ARM, y, x + _ARM, y, THIN), line(x, y - _ARM, x, y + _ARM, THIN)]
    marks.append(Ring(x, y, 0.5 * drill_mm, PLAIN))
    marks.append(Line(_toe_line(one), PLAIN))
    return marks


def _toe_line(one: Print) -> Floats:
    """(2, 2) the toe mark: a stroke ahead of the toe tip."""
    toe, ankle = _flipped(one.toe), _flipped(one.ankle)
    ahead = (toe - ankle) / max(float(np.hypot(*(toe - ankle))), 1e-9)
    return np.stack((toe, toe + 4.0 * ahead))


def _names(one: Print, room: Room, drill_mm: float) -> list[Mark]:
    """Number and leg outside the print, on its outer side where there is room; the drill at the tie-down."""
    low, high = _flipped(one.outline).min(axis=0).tolist(), _flipped(one.outline).max(axis=0).tolist()
    x = 0.5 * (low[0] + high[0])
    outer, inner = (low[1] - 3.0, high[1] + 3.0) if one.side > 0 else (high[1] + 3.0, low[1] - 3.0)
    away = -1.0 if one.side > 0 else 1.0
    tries = [(x + dx, outer + away * row * 3.6) for row in range(4) for dx in (0.0, -8.0, 8.0)] + [(x, inner)]
    found = [room.words(one.name, tries, 9, bold=True)]
    tie_x, tie_y = _flipped(one.tie).tolist()
    drill = f"Ø {drill_mm:g}" + (f", {one.hole}" if one.hole else "")
    sides = [(tie_x + dx, tie_y + dy) for dx in (5.5, -5.5, 9.0, -9.0) for dy in (3.0, -3.0, 5.5, -5.5, 8.0, -8.0)]
    found.append(room.words(drill, sides, 5.5))
    return [words for words in found if words]


def _datum(room: Room) -> list[Mark]:
    """A cross in a ring, and an arrow ahead: the start heading."""
    room.take((-6, -0.5, 22, 0.5))
    room.take((-3, -6, 3, 6))
    marks: list[Mark] = [line(-6, 0, 22, 0, BOLD), line(0, -6, 0, 6, BOLD), Ring(0, 0, 3.0, PLAIN)]
    marks += [line(22, 0, 18.5, -1.6, BOLD), line(22, 0, 18.5, 1.6, BOLD)]
    tries = [(x, y) for x in (-12.0, 14.0, -14.0, 28.0) for y in (-2.0, 2.0, -4.5, 4.5, -8.0, 8.0)]
    words = room.words("DATUM, ahead >", tries, 6.5, bold=True)
    return [*marks, words] if words else marks


def _poses(places: FloorPlaces, room: Room) -> list[Mark]:
    """A dot under the reference point of each pose with its number, where numbers have room; every fifth first."""
    marks: list[Mark] = []
    at = _flipped(places.reference).tolist()
    turn = np.radians(places.heading_deg)
    aside = np.stack((-np.sin(turn), -np.cos(turn)), axis=1).tolist()
    for x, y in at:
        marks.append(Dot(x, y, 0.4, PLAIN))
    for k in sorted(range(len(at)), key=lambda k: (k % 5 != 0 or k == 0) and k + 1 != len(at)):
        x, y = at[k]
        tries = [(x + d * aside[k][0], y + d * aside[k][1]) for d in (2.2, -2.2, 4.2, -4.2)]
        words = room.words(str(k + 1), tries, 5.5)
        marks += [words] if words else []
    return marks
