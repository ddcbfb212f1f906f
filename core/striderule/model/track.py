"""The track that a path makes on the floor: a curve of straight pieces and arcs, known in closed form everywhere."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .fields import Pair
from .path import PathPiece

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Track:
    """K pieces, each an arc (curvature 0: straight), in mm of progress from the start. Before its first piece and
    behind its last the track goes straight on.

    begin (K,): progress; place_mm (2, K) and heading_rad (K,) there; turn (K,): radians a mm; moves (K,): 1, or 0 for
    a turn on the spot. area (K,): integral of the heading up to the piece's beginning. length_mm: without turns on the
    spot; spot_deg: those, without sign.
    """

    begin_mm: Floats
    place_mm: Floats
    heading_rad: Floats
    turn: Floats
    moves: Floats
    area: Floats
    length_mm: float
    spot_deg: float

    @property
    def straight(self) -> bool:
        return not self.turn.any()

    def on(self, progress_mm: Floats) -> tuple[Floats, Floats]:
        """Place (2, ...) and heading (...,) at a progress (...,) in mm from the start."""
        which, ahead = self._piece(progress_mm)
        heading = self.heading_rad[which]
        turned = self.turn[which] * ahead
        # the chord of an arc lies half way between its ends' headings
        chord = ahead * np.sinc(turned / (2.0 * math.pi)) * self.moves[which]
        place = self.place_mm[:, which]
        place[0] += chord * np.cos(heading + 0.5 * turned)
        place[1] += chord * np.sin(heading + 0.5 * turned)
        return place, heading + turned

    def heading_about(self, progress_mm: Floats, window_mm: Floats | float) -> Floats:
        """Mean heading (...,) over so many mm of progress about each place: how something that long turns."""
        if self.straight:
            return np.full(np.shape(progress_mm), self.heading_rad[0])
        half = np.maximum(0.5 * np.asarray(window_mm, dtype=float), 1e-6)
        return (self._area(progress_mm + half) - self._area(progress_mm - half)) / (2.0 * half)

    def _area(self, progress_mm: Floats) -> Floats:
        which, ahead = self._piece(progress_mm)
        return self.area[which] + ahead * (self.heading_rad[which] + 0.5 * self.turn[which] * ahead)

    def _piece(self, progress_mm: Floats) -> tuple[npt.NDArray[np.int64], Floats]:
        which = np.maximum(np.searchsorted(self.begin_mm, progress_mm, side="right") - 1, 0)
        return which, progress_mm - self.begin_mm[which]


def track_of(path: Sequence[PathPiece], start_mm: Pair, spot_mm_a_deg: float = 0.0) -> Track:
    """The track of a path that begins at start_mm, heading along X or as its first piece says. spot_mm_a_deg: progress
    that a degree of a turn on the spot counts as."""
    arcs = _Arcs(start_mm, math.radians((path[0].heading_deg or 0.0) if path else 0.0))
    for piece in path:
        if piece.points_mm is not None:
            arcs.through(piece.points_mm)
        elif piece.straight_mm is not None:
            arcs.add(piece.straight_mm, 0.0)
        elif piece.turn_deg is not None:
            angle = math.radians(piece.turn_deg)
            if piece.radius_mm:
                arcs.add(abs(angle) * piece.radius_mm, math.copysign(1.0 / piece.radius_mm, angle))
            else:
                arcs.spot(angle, spot_mm_a_deg)
    return arcs.track()


class _Arcs:
    def __init__(self, start_mm: Pair, heading: float) -> None:
        self._here, self._heading, self._progress, self._area = start_mm, heading, 0.0, 0.0
        self._rows: list[tuple[float, float, float, float, float, float, float]] = []
        self._length = self._spot = 0.0
        self._row(0.0, 1.0)

    def _row(self, turn: float, moves: float) -> None:
        self._rows.append((self._progress, *self._here, self._heading, turn, moves, self._area))

    def add(self, length: float, turn: float) -> None:
        """An arc of so many mm that turns by so many radians a mm."""
        if length <= 0:
            return
        self._row(turn, 1.0)
        half = 0.5 * turn * length
        chord = length * (math.sin(half) / half if half else 1.0)
        x, y = self._here
        self._here = (x + chord * math.cos(self._heading + half), y + chord * math.sin(self._heading + half))
        self._on(length, turn)
        self._length += length

    def spot(self, angle: float, mm_a_deg: float) -> None:
        self._spot += abs(math.degrees(angle))
        length = abs(math.degrees(angle)) * mm_a_deg
        if length > 0:
            self._row(angle / length, 0.0)
            self._on(length, angle / length)
        else:
            self._heading += angle

    def _on(self, length: float, turn: float) -> None:
        self._area += length * (self._heading + 0.5 * turn * length)
        self._progress += length
        self._heading += turn * length

    def through(self, points: Sequence[Pair]) -> None:
        """A smooth curve of arcs, two between neighbours, that leaves as the track came."""
        places = [self._here, *(one for i, one in enumerate(points) if one != ((self._here, *points)[i]))]
        if len(places) < 2:
            return
        headings = [self._heading]
        for before, here, after in zip(places, places[1:], places[2:], strict=False):
            headings.append(_tangent(before, here, after))
        # the last one as if a single arc led there
        chord = math.atan2(places[-1][1] - places[-2][1], places[-1][0] - places[-2][0])
        headings.append(2.0 * chord - headings[-1])
        for k in range(len(places) - 1):
            self._biarc(places[k + 1], headings[k + 1])

    def _biarc(self, end: Pair, end_heading: float) -> None:
        """Two arcs to `end` with equal tangent lengths."""
        (x, y), (ex, ey) = self._here, end
        ax, ay = math.cos(self._heading), math.sin(self._heading)
        bx, by = math.cos(end_heading), math.sin(end_heading)
        vx, vy = ex - x, ey - y
        along = vx * (ax + bx) + vy * (ay + by)
        turned = 2.0 * (1.0 - (ax * bx + ay * by))
        across = vx * vx + vy * vy
        if turned > 1e-9:
            reach = (-along + math.sqrt(along * along + turned * across)) / turned
        else:
            reach = across / (2.0 * along) if along > 1e-9 else 0.25 * math.sqrt(across)
        middle = (x + 0.5 * (vx + reach * (ax - bx)), y + 0.5 * (vy + reach * (ay - by)))
        self._arc_to(middle)
        self._arc_to(end)

    def _arc_to(self, end: Pair) -> None:
        (x, y), (ex, ey) = self._here, end
        chord = math.hypot(ex - x, ey - y)
        if chord < 1e-9:
            return
        half = math.remainder(math.atan2(ey - y, ex - x) - self._heading, 2.0 * math.pi)
        length = chord * (half / math.sin(half) if abs(half) > 1e-9 else 1.0)
        self.add(length, 2.0 * half / length)

    def track(self) -> Track:
        self._row(0.0, 1.0)
        begin, x, y, heading, turn, moves, area = np.array(self._rows).T
        return Track(begin, np.array((x, y)), heading, turn, moves, area, self._length, self._spot)


def _tangent(before: Pair, here: Pair, after: Pair) -> float:
    """Heading at `here` of the circle through three places."""
    into = (here[0] - before[0], here[1] - before[1])
    out = (after[0] - here[0], after[1] - here[1])
    a, b = math.hypot(*into), math.hypot(*out)
    # chords weighted by the other's length over their own: exact on a circle
    x, y = into[0] * b / a + out[0] * a / b, into[1] * b / a + out[1] * a / b
    if math.hypot(x, y) < 1e-9 * (a + b):  # there and back
        return math.atan2(into[1], into[0])
    return math.atan2(y, x)
