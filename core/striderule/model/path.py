"""The track on the floor that a walk follows: straight pieces, arcs, turns on the spot, smooth curves through
points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import ModelError
from .fields import Pair, angle, check_fields, length, pairs


@dataclass(frozen=True)
class PathPiece:
    """One piece, which goes on where the piece before it ended.

    straight_mm alone; turn_deg with radius_mm (0 = on the spot), + to the left; or points_mm: a smooth curve through
    places on the stage (along, across, from the datum), from where the piece begins. heading_deg: of the first piece,
    how the track begins.
    """

    straight_mm: float | None = length("Straight on for so long", None, least=0.1, most=100000)
    turn_deg: float | None = angle("Turn, + to the left", None, least=-3600, most=3600)
    radius_mm: float | None = length(
        "Radius of the turn, of the middle of the track; 0 = on the spot", None, most=100000
    )
    points_mm: tuple[Pair, ...] | None = pairs("Places that the track goes through: [[along, across], ...]", None)
    heading_deg: float | None = angle(
        "Heading that the track begins with, + to the left of X; of the first piece alone", None
    )

    def __post_init__(self) -> None:
        check_fields(self, "path")
        kinds = [key for key in ("straight_mm", "turn_deg", "points_mm") if getattr(self, key) is not None]
        if len(kinds) != 1:
            raise ModelError(
                "path",
                "one of straight_mm, turn_deg (with radius_mm), points_mm",
                " and ".join(kinds) or "none of them",
            )
        if self.radius_mm is not None and self.turn_deg is None:
            raise ModelError("path.radius_mm", "a turn_deg with it", "a radius alone")
        if self.turn_deg is not None and self.turn_deg == 0:
            raise ModelError("path.turn_deg", "an angle other than 0", "0", "Write straight_mm for a straight piece.")
        if self.points_mm is not None and not self.points_mm:
            raise ModelError("path.points_mm", "at least one place", "none")


def path_words(path: Sequence[PathPiece]) -> str:
    """A path in a few words: "straight on", "along 12 points", "straight 200 mm, left 90 deg"."""
    said = [_piece_words(piece) for piece in path]
    return ", ".join(said[:3]) + (f" and {len(said) - 3} more" if len(said) > 3 else "") or "straight on"


def _piece_words(piece: PathPiece) -> str:
    if piece.points_mm is not None:
        points = "point" if len(piece.points_mm) == 1 else "points"
        return f"along {len(piece.points_mm)} {points}"
    if piece.straight_mm is not None:
        return f"straight {piece.straight_mm:g} mm"
    turn = piece.turn_deg or 0.0
    return f"{'left' if turn > 0 else 'right'} {abs(turn):g} deg"
