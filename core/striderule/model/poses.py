"""Poses as a person set them by hand and measured them: a contact, a passing, and pose 1 as the puppet stands on the
stage. Every value may be left out."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError
from .fields import Pair, angle, check_fields, choice, count, length, name, place

POINTS = ("ankle_mm", "heel_mm", "toe_mm")
"""Points of a foot that its place may be given by."""


@dataclass(frozen=True)
class PosedFoot:
    """One foot of a pose; its place by one of three points, (along, across) in mm on the floor under it."""

    leg: str = name("Leg")
    ankle_mm: Pair | None = place("Floor under the ankle pivot: along, across", None, size=2)
    heel_mm: Pair | None = place("Back edge of the heel, on the sole's centre line: along, across", None, size=2)
    toe_mm: Pair | None = place("Tip of the toe, on the sole's centre line: along, across", None, size=2)
    ankle_up_mm: float | None = length("Ankle pivot over the floor", None)
    foot_pitch_deg: float | None = angle(
        "Tilt of the foot: toe up +, heel up -; a foot on the floor without it lies flat", None, least=-85, most=85
    )
    toe_out_deg: float | None = angle("Toes turned outward", None, least=-45, most=60)
    state: str | None = choice("How it meets the floor", ("planted", "heel", "toe", "air"), None)

    def __post_init__(self) -> None:
        where = f"leg.{self.leg}"
        check_fields(self, where)
        given = [key for key in POINTS if getattr(self, key) is not None]
        if len(given) > 1:
            raise ModelError(f"{where}.{given[1]}", "a foot's place by one point of it", " and ".join(given))
        wrong = {"planted": self.tilt_deg != 0, "heel": self.tilt_deg <= 0, "toe": self.tilt_deg >= 0}
        if self.state and wrong.get(self.state):
            right = {"planted": "0 (it lies flat)", "heel": "above 0 (toe up)", "toe": "below 0 (heel up)"}[self.state]
            raise ModelError(f"{where}.foot_pitch_deg", f"a tilt {right}, as its state is {self.state!r}",
                             f"{self.tilt_deg:g}")  # fmt: skip

    @property
    def tilt_deg(self) -> float:
        """Its tilt; 0 where none was measured."""
        return self.foot_pitch_deg or 0.0

    @property
    def point(self) -> str | None:
        """Which of POINTS its place is given by; None where it has none."""
        return next((key for key in POINTS if getattr(self, key) is not None), None)

    @property
    def at_mm(self) -> Pair | None:
        """Where that point is."""
        return getattr(self, self.point) if self.point else None


@dataclass(frozen=True)
class Posed:
    """What any pose may say: the hips, and feet."""

    hip_mm: float | None = length("Hip line over the floor (the middle between the hip pivots)", None, least=1)
    hip_at_mm: Pair | None = place("Floor under the middle between the hip pivots: along, across", None, size=2)
    feet: tuple[PosedFoot, ...] = ()

    def __post_init__(self) -> None:
        check_fields(self)

    def foot(self, leg: str) -> PosedFoot:
        """The foot of a leg; flat and without a place where the pose says nothing of it."""
        return next((foot for foot in self.feet if foot.leg == leg), PosedFoot(leg))

    @property
    def measured(self) -> frozenset[str]:
        """Legs whose foot is in the pose."""
        return frozenset(foot.leg for foot in self.feet)


@dataclass(frozen=True)
class Contact(Posed):
    """A pose with both feet on the floor, one ahead of the other."""

    ahead: str | None = name("Leg that is ahead; the feet's places say it too", None)


@dataclass(frozen=True)
class Passing(Posed):
    """A pose in which one foot stands flat and the other passes it in the air."""

    free: str | None = name("Leg in the air; its state, its ankle's height and the contact say it too", None)
    passing_pose: int | None = count("Poses from contact to this pose", None, least=1, most=239)


@dataclass(frozen=True)
class Poses:
    """What was measured: contact and passing show how the walk is, first is where the puppet stands on the stage as
    pose 1."""

    contact: Contact | None = None
    passing: Passing | None = None
    first: Contact | None = None

    def __post_init__(self) -> None:
        if not (self.contact or self.passing or self.first):
            raise ModelError("", "at least one of [contact], [passing] and [first]", "none of them")
