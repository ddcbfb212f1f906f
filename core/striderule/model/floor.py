"""The floor along a walk's track. Distances along it are measured from where the walk starts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ..errors import ModelError
from .fields import Pair, angle, check_fields, choice, count, length, pairs, place


@dataclass(frozen=True)
class Stairs:
    """Steps up (or, with a negative riser, down): a level tread behind each edge."""

    first_edge_mm: float = place("First edge, along the track from the start", size=1)
    tread_mm: float = length("Depth of a tread", least=1)
    riser_mm: float = place("Height of a riser, down negative", size=1, most=2000)
    count: int = count("Number of risers", least=1, most=500)
    feet_per_tread: str = choice("Feet that stand on each tread: one, or both", ("one", "both"), "one")

    def __post_init__(self) -> None:
        check_fields(self, "floor.stairs")


@dataclass(frozen=True)
class Raised:
    """A plank or block that lies on the floor across the track."""

    from_mm: float = place("Its near edge, along the track from the start", size=1)
    to_mm: float = place("Its far edge", size=1)
    height_mm: float = place("Its top over the floor; negative: a ditch", size=1, most=2000)

    def __post_init__(self) -> None:
        check_fields(self, "floor.plank")
        if self.to_mm <= self.from_mm:
            raise ModelError("floor.plank.to_mm", f"more than from_mm ({self.from_mm:g})", f"{self.to_mm:g}")


@dataclass(frozen=True)
class Kerb:
    """An edge from which on the floor is higher, or lower."""

    at_mm: float = place("The edge, along the track from the start", size=1)
    height_mm: float = place("How much higher the floor is from there on; lower negative", size=1, most=2000)

    def __post_init__(self) -> None:
        check_fields(self, "floor.kerb")


@dataclass(frozen=True)
class Floor:
    """Everything that makes a floor other than flat; all of it adds up."""

    slope_deg: float = angle("Slope along the track, uphill positive", 0.0, least=-45, most=45)
    side_slope_deg: float = angle("Slope across the track, left side higher positive", 0.0, least=-30, most=30)
    heights_mm: tuple[Pair, ...] = pairs(
        "Heights along the track: [[distance, height], ...]; straight between them, two at one distance are an edge", ()
    )
    stairs: Stairs | None = None
    plank: Raised | None = None
    kerb: Kerb | None = None

    def __post_init__(self) -> None:
        check_fields(self, "floor")
        distances = [distance for distance, _ in self.heights_mm]
        if distances != sorted(distances):
            raise ModelError("floor.heights_mm", "distances that rise from place to place", _falling(distances))

    @property
    def flat(self) -> bool:
        """True for the plain floor that most shots have."""
        return self == Floor()


def floor_words(floor: Floor) -> str:
    """What a floor is made of, in a few words: "flat", "slope, stairs", "37 heights"."""
    parts = {
        "slope": floor.slope_deg, "side slope": floor.side_slope_deg, "stairs": floor.stairs, "plank": floor.plank,
        "kerb": floor.kerb, f"{len(floor.heights_mm)} heights": floor.heights_mm,
    }  # fmt: skip
    return ", ".join(word for word, there in parts.items() if there) or "flat"


def _falling(distances: list[float]) -> str:
    before, after = next((a, b) for a, b in pairwise(distances) if b < a)
    return f"{after:g} after {before:g}"
