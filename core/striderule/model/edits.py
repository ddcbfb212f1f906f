"""Edits: what a person changed by hand after the walk was laid out. They stay as they are while other values change."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError
from .fields import Pair, angle, check_fields, count, name, numbers, place, share


@dataclass(frozen=True)
class Hold:
    """A pose that is held for more frames than the others."""

    pose: int = count("Pose, from 1", least=1, most=200_000)
    frames: int = count("Frames that it is held for, in all", least=1, most=10_000)

    def __post_init__(self) -> None:
        check_fields(self, "hold")


@dataclass(frozen=True)
class FootfallEdit:
    """One footfall moved, turned or retimed. step: the step that ends in it; 0, -1 ...: feet that stand at pose 1,
    0 being the one that is ahead.

    leg: whose footfall; every pair of legs counts steps of its own, and without it the hindmost pair's is meant.
    hole_turn_deg: at_mm was put over a hole by `adjust.holes`, and the foot turned so much more for it; it is chosen
    anew the next time, from where move_mm and turn_deg wish the foot to be. Without it at_mm is a person's and stays.
    """

    step: int = count("Step that ends in this footfall; 0 = the foot that stands ahead at pose 1, -1 the one before",
                      least=-20, most=20_000)  # fmt: skip
    leg: str | None = name("Leg, of a puppet with more than two; left out: of the hindmost pair", None)
    at_mm: Pair | None = place(
        "The ankle stands here, whatever else changes: along, across from the datum", None, size=2
    )
    move_mm: Pair | None = place("Moved from where the walk puts it: along the track, to its left", None, size=2)
    turn_deg: float | None = angle("Turned from how the walk puts it, + to the left", None, least=-90, most=90)
    later_poses: int | None = count("Lands so many poses later (earlier negative)", None, least=-100, most=100)
    hole_turn_deg: float | None = angle(
        "Put over a hole by `striderule holes`, and turned so much more for it", None, least=-90, most=90
    )

    def __post_init__(self) -> None:
        check_fields(self, "edit.footfall")
        if self.at_mm is not None and self.move_mm is not None and self.hole_turn_deg is None:
            raise ModelError("edit.footfall", "at_mm or move_mm", "both")
        if self.hole_turn_deg is not None and self.at_mm is None:
            raise ModelError("edit.footfall.hole_turn_deg", "at_mm beside it", "none", "Run `striderule holes` anew.")


@dataclass(frozen=True)
class BodyEdit:
    """The body raised or lowered about one pose, and smoothly less in the poses before and after it."""

    pose: int = count("Pose, from 1", least=1, most=200_000)
    up_mm: float = place("Hips so much higher (lower negative)", size=1, most=1000)
    over_poses: float = share("Poses on either side over which it fades", 3.0, most=1000)

    def __post_init__(self) -> None:
        check_fields(self, "edit.body")


@dataclass(frozen=True)
class Edits:
    """All edits of a shot. hips_up_mm: pose by pose from pose 1; behind its end nothing is added."""

    footfalls: tuple[FootfallEdit, ...] = ()
    body: tuple[BodyEdit, ...] = ()
    hips_up_mm: tuple[float, ...] = numbers(
        "Hips higher by so much, pose by pose from pose 1", (), unit="mm", most=1000
    )

    def __post_init__(self) -> None:
        check_fields(self, "edit")
        seen: set[tuple[int, str | None]] = set()
        for one in self.footfalls:
            if (one.step, one.leg) in seen:
                raise ModelError("edit.footfall", "one edit for each footfall", f"several of step {one.step}")
            seen.add((one.step, one.leg))
