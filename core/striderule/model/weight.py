"""What a puppet's joints hold, found with a weight on a string, and the rig that carries part of it. mm, g, N mm."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError
from .fields import Triple, check_fields, choice, flag, length, mass, place, share, text, torque

GRAVITY = 9.80665
"""m/s2, standard acceleration of free fall (3rd CGPM, 1901); grams times this over 1000 are newtons."""

JOINTS = ("hip", "hip_out", "knee", "ankle", "toe")
"""Joints of a leg whose hold can be measured. hip_out: the hip sideways, where that was pulled by itself."""


def torque_nmm(grams: float, arm_mm: float) -> float:
    """N mm of so many grams at a level distance in mm."""
    return grams / 1000.0 * GRAVITY * arm_mm


@dataclass(frozen=True)
class Holding:
    """What each joint of a leg holds before it slips, N mm; what was not measured is left out."""

    hip_nmm: float | None = torque("Hip: holds so much, forward and back", None)
    hip_out_nmm: float | None = torque("Hip: holds so much sideways", None)
    knee_nmm: float | None = torque("Knee: holds so much", None)
    ankle_nmm: float | None = torque("Ankle: holds so much", None)
    toe_nmm: float | None = torque("Toe joint: holds so much", None)

    def __post_init__(self) -> None:
        check_fields(self, "holding")

    def of(self, joint: str) -> float | None:
        """What one of JOINTS holds, N mm; None where it was not measured."""
        value: float | None = getattr(self, f"{joint}_nmm")
        return value


@dataclass(frozen=True)
class Pull:
    """One line of a hanging test: the limb held level, a weight hung on it further and further out, or more and more of
    it, until the joint slips. The limb beyond the joint pulls too, at its own centre of mass."""

    joint: str = choice("Which joint slipped", JOINTS)
    hung_g: float = mass("What was hung on the limb")
    at_mm: float = length("How far from the joint it hung")
    limb_g: float = mass("What the limb beyond the joint weighs", 0.0)
    limb_mm: float = length("How far from the joint the limb's own centre of mass is", 0.0)

    def __post_init__(self) -> None:
        check_fields(self, "pull")
        if self.torque_nmm <= 0:
            raise ModelError("pull.hung_g", "a pull that makes a joint slip", "0 N mm", "Hang more on it, further out.")

    @property
    def torque_nmm(self) -> float:
        """What the joint held in this pull, N mm."""
        return torque_nmm(self.hung_g, self.at_mm) + torque_nmm(self.limb_g, self.limb_mm)


def held_nmm(holding: Holding, pulls: tuple[Pull, ...], joint: str) -> float | None:
    """What a joint holds: the value that was typed, else the lowest of its pulls, else None."""
    typed = holding.of(joint)
    if typed is not None:
        return typed
    return min((pull.torque_nmm for pull in pulls if pull.joint == joint), default=None)


@dataclass(frozen=True)
class Rig:
    """What carries part of the puppet: an arm, a wire or a flying line that lifts one point of it, straight up.

    point_mm None: the puppet's reference point.
    """

    carries: bool = flag("The rig is there and carries in every pose that needs it", False)
    part: str = choice("What the rig holds on to", ("body", "chest", "head"), "body")
    point_mm: Triple | None = place("Where it holds, from the body's centre", None)
    point_name: str | None = text("What that point is on the puppet", None)
    margin: float = share("How many times more each joint must hold than it carries", 1.5, least=1, most=10)
    side: str = choice("Side of the puppet that its stand is on", ("away", "left", "right"), "away")
    arm_mm: float = length("From the point to the middle of its stand, seen from above", 150.0)
    base_mm: float = length("Across the foot of its stand", 60.0)
    slack_mm: float = length("The stand may stay while the point goes so far ahead or behind it", 0.0)

    def __post_init__(self) -> None:
        check_fields(self, "rig")
