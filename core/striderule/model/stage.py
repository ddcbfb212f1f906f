"""The stage: where the walk starts, where the board ends, where feet can be tied and where they must not stand. Stage
axes: X along the walk's start heading, Y to the puppet's left, Z up, mm from the datum."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError
from .fields import Pair, angle, check_fields, length, pairs, place, place_range, text


@dataclass(frozen=True)
class Stage:
    """A floor with a datum mark that the animator measures from, and its edges where they matter."""

    start_mm: Pair = place(
        "Start, from the datum: along to the reference point of pose 1, across to the middle of the track",
        (0.0, 0.0),
        size=2,
    )
    along_mm: Pair | None = place_range("The stage reaches along from, to", None)
    across_mm: Pair | None = place_range("The stage reaches across from (right edge), to (left edge)", None)

    def __post_init__(self) -> None:
        check_fields(self, "stage")


@dataclass(frozen=True)
class HoleGrid:
    """Holes of the stage in rows and columns. Hole (i, j) is at the origin + i pitches along the rows + j pitches to
    their left."""

    pitch_mm: float = length("Distance from hole to hole", least=1, most=1000)
    origin_mm: Pair = place("Hole (0, 0), from the datum", (0.0, 0.0), size=2)
    angle_deg: float = angle("The rows' turn from the start heading, + to the left", 0.0, least=-90, most=90)
    missing: tuple[Pair, ...] = pairs("Holes that are not there or cannot be used: [[i, j], ...]", (), unit="")

    def __post_init__(self) -> None:
        check_fields(self, "grid")
        for one in self.missing:
            if not all(float(x).is_integer() for x in one):
                raise ModelError("grid.missing", "whole numbers of holes", f"{one[0]:g}, {one[1]:g}")


@dataclass(frozen=True)
class Obstacle:
    """A round place on the floor that no foot may stand on."""

    at_mm: Pair = place("Its middle, from the datum", size=2)
    radius_mm: float = length("Its radius", least=0.1)
    name: str = text("What it is", "obstacle")

    def __post_init__(self) -> None:
        check_fields(self, "obstacle")
