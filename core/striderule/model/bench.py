"""What was measured on the bench before any plan: how low and how high the hip goes over a flat foot. mm."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError
from .fields import check_fields, length, place


@dataclass(frozen=True)
class Measured:
    """One line of a leg's range test; what was not measured is left out.

    Either a foot distance (foot_mm) with the lowest and the highest hip that the joints allow there, foot flat on the
    floor and straight ahead of or behind its hip, body level; or, without one, the leg's two lengths from hip pivot to
    ankle pivot.
    """

    foot_mm: float | None = place("Ankle ahead of its hip (behind: -)", None, size=1)
    lowest_mm: float | None = length("Lowest hip pivot over the floor there", None)
    highest_mm: float | None = length("Highest hip pivot over the floor there", None)
    folded_mm: float | None = length("Hip pivot to ankle pivot, knee bent to its stop", None)
    straight_mm: float | None = length("Hip pivot to ankle pivot, knee as straight as it goes", None)

    def __post_init__(self) -> None:
        check_fields(self, "measured")
        heights, lengths = (self.lowest_mm, self.highest_mm), (self.folded_mm, self.straight_mm)
        if heights == (None, None) and lengths == (None, None):
            raise ModelError("measured", "something measured: lowest_mm, highest_mm, folded_mm or straight_mm", "none")
        if self.foot_mm is None and heights != (None, None):
            key = "lowest_mm" if self.lowest_mm is not None else "highest_mm"
            raise ModelError(f"measured.{key}", "a foot_mm beside it", "none", "Say at which foot distance it was.")
        for least, most, key in ((*heights, "highest_mm"), (*lengths, "straight_mm")):
            if least is not None and most is not None and most < least:
                raise ModelError(f"measured.{key}", f"at least {least:g}, the lower one", f"{most:g}")
