"""The stage: where the walk starts. Stage axes: X along the walk's start heading, Y to the puppet's left, Z up, mm
from the datum."""

from __future__ import annotations

from dataclasses import dataclass

from .fields import Pair, check_fields, place


@dataclass(frozen=True)
class Stage:
    """A flat floor with a datum mark that the animator measures from."""

    start_mm: Pair = place(
        "Start, from the datum: along to the reference point of pose 1, across to the middle of the track",
        (0.0, 0.0),
        size=2,
    )

    def __post_init__(self) -> None:
        check_fields(self, "stage")
