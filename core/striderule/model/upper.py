"""What hangs on the trunk besides the legs: arms, and loose parts that arrive later than what carries them.

Places are from the body's centre in the zero pose: legs and arms straight down, trunk upright.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from ..errors import ModelError
from .fields import (
    Pair,
    Triple,
    angle,
    angle_range,
    check_fields,
    choice,
    count,
    flag,
    length,
    mass,
    name,
    place,
    share,
    text,
)

TRUNK_PARTS = ("body", "chest", "head")


@dataclass(frozen=True)
class ArmLimits:
    """The stops of one arm's joints, (least, most) in degrees. Signs: swing + upper arm forward, out + away from the
    midline, elbow + bend. What was not measured is wide enough for a person's arm."""

    swing_deg: Pair = angle_range("Shoulder swing: furthest back, furthest forward", (-60.0, 150.0))
    out_deg: Pair = angle_range("Shoulder sideways: furthest in, furthest out", (-30.0, 120.0))
    elbow_deg: Pair = angle_range("Elbow: least bend, most bend", (0.0, 145.0), least=0, most=175)

    def __post_init__(self) -> None:
        check_fields(self, "limits")


@dataclass(frozen=True)
class Arm:
    """One arm. The shoulder is a ball, the elbow a hinge; the hand does not bend. How it hangs at rest is how the
    puppet carries it; a walk swings it about that."""

    name: str = name("Name of the arm")
    shoulder_mm: Triple = place("Shoulder pivot from the body's centre: along, across (left +), up")
    upper_mm: float = length("Shoulder pivot to elbow pivot", least=1)
    fore_mm: float = length("Elbow pivot to wrist", least=1)
    hand_mm: float = length("Wrist to the middle of the hand", 0.0)
    part: str = choice("What the shoulder is on", ("body", "chest"), "chest")
    elbow: str = choice("Which way the elbow points when it bends", ("forward", "backward"), "backward")
    outward: str | None = choice("Which side is away from the midline", ("left", "right"), None)
    rest_swing_deg: float = angle("Upper arm at rest, forward +", 0.0)
    rest_out_deg: float = angle("Upper arm at rest, away from the midline +", 4.0, least=-90)
    rest_elbow_deg: float = angle("Elbow's bend at rest", 12.0, least=0, most=175)
    swings: float = share("How much of the walk's arm swing it takes (0 = it carries something)", 1.0, most=2)
    upper_width_mm: float | None = length("Thickness of the upper arm, for drawing", None, least=0.1)
    fore_width_mm: float | None = length("Thickness of the forearm, for drawing", None, least=0.1)
    upper_g: float | None = mass("Mass of the upper arm", None)
    fore_g: float | None = mass("Mass of the forearm", None)
    hand_g: float | None = mass("Mass of the hand and what it carries", None)
    limits: ArmLimits = field(default_factory=ArmLimits)

    def __post_init__(self) -> None:
        where = f"arm.{self.name}"
        check_fields(self, where)
        for key in ("swing", "out", "elbow"):
            least, most = getattr(self.limits, f"{key}_deg")
            rest = getattr(self, f"rest_{key}_deg")
            if not least <= rest <= most:
                raise ModelError(
                    f"{where}.rest_{key}_deg", f"an angle inside its limits ({least:g} to {most:g})", f"{rest:g}",
                    "Measure the limit again, or how the arm hangs.",
                )  # fmt: skip

    @property
    def outward_side(self) -> int:
        """+1 where outward is the puppet's left, -1 where it is its right."""
        if self.outward:
            return 1 if self.outward == "left" else -1
        return 1 if self.shoulder_mm[1] >= 0 else -1

    @property
    def bend_side(self) -> int:
        """+1 where a bending elbow brings the hand forward, -1 where it brings it back."""
        return 1 if self.elbow == "backward" else -1

    @property
    def elbow_mm(self) -> Triple:
        """Elbow pivot in the zero pose."""
        along, across, up = self.shoulder_mm
        return along, across, up - self.upper_mm

    def mirrored(self, new_name: str) -> Arm:
        """The same arm on the other side of the midline."""
        along, across, up = self.shoulder_mm
        other = {"left": "right", "right": "left", None: None}[self.outward]
        return replace(self, name=new_name, shoulder_mm=(along, -across, up), outward=other)


@dataclass(frozen=True)
class LooseLimits:
    """How far a loose part turns from its rest, (least, most) in degrees. Signs: swing as a leg's (about the left-right
    axis: a hanging end forward +, a tail's end down +), side + its end to the puppet's left."""

    swing_deg: Pair = angle_range("Loose part's swing: one way, the other", (-60.0, 60.0))
    side_deg: Pair = angle_range("Loose part sideways: furthest right, furthest left", (-60.0, 60.0))

    def __post_init__(self) -> None:
        check_fields(self, "limits")
        for key in ("swing_deg", "side_deg"):
            least, most = getattr(self, key)
            if not least <= 0 <= most:
                raise ModelError(f"limits.{key}", "a range with 0, its rest, in it", f"{least:g}, {most:g}")


@dataclass(frozen=True)
class Loose:
    """A loose part: a tail, a neck, a lantern, an ear. It turns on one ball joint and arrives later than what carries
    it."""

    name: str = name("Name of the loose part")
    joint_mm: Triple = place("Where it turns on what carries it, from the body's centre")
    end_mm: Triple = place("Where its end is in the zero pose, from the body's centre")
    part: str = text("What it hangs on: body, chest, head, arm.NAME.upper or arm.NAME.fore", "body")
    late_poses: int = count("How many poses later it arrives", 1, least=1, most=6)
    much: float = share("How much of its lateness shows: 0 = stiff, 1 = all of it", 1.0, most=3)
    hangs: bool = flag("It hangs plumb at rest, instead of keeping its place on what carries it", False)
    mass_g: float | None = mass("Mass of the loose part", None)
    limits: LooseLimits = field(default_factory=LooseLimits)

    def __post_init__(self) -> None:
        where = f"loose.{self.name}"
        check_fields(self, where)
        if self.length_mm < 0.1:
            raise ModelError(f"{where}.end_mm", "an end away from its joint", "the same place as joint_mm")

    @property
    def length_mm(self) -> float:
        """Joint to end."""
        return math.dist(self.joint_mm, self.end_mm)

    def mirrored(self, new_name: str) -> Loose:
        """The same loose part on the other side of the midline."""
        (a, b, c), (d, e, f) = self.joint_mm, self.end_mm
        low, high = self.limits.side_deg
        return replace(
            self, name=new_name, joint_mm=(a, -b, c), end_mm=(d, -e, f),
            limits=replace(self.limits, side_deg=(-high, -low)),
        )  # fmt: skip


_TAKEN = (*TRUNK_PARTS, "waist", "neck", "ref", "floor")
"""Names that columns and objects of trunk and floor begin with."""


def part_names(arms: tuple[Arm, ...], loose: tuple[Loose, ...] = ()) -> tuple[str, ...]:
    """What something can hang on: the trunk's parts, the arms' bones, the loose parts."""
    bones = tuple(f"arm.{arm.name}.{bone}" for arm in arms for bone in ("upper", "fore"))
    return (*TRUNK_PARTS, *bones, *(f"loose.{one.name}" for one in loose))


def check_named(legs: tuple[str, ...], arms: tuple[Arm, ...], loose: tuple[Loose, ...]) -> None:
    """Refuse names by which columns could not be told apart, and loose parts on what is not there. Raises
    ModelError."""
    taken = {*_TAKEN, *legs, *(f"{leg}_hip" for leg in legs)}
    for kind, names in (("arm", [arm.name for arm in arms]), ("loose", [one.name for one in loose])):
        for one in names:
            if one in taken:
                cure = f'Call it, say, "{one[:30]}_{kind}".'
                raise ModelError(f"{kind}.{one}", "a name that no other part has", f'"{one}" a second time', cure)
            taken.add(one)
    carriers = part_names(arms)
    for one in loose:
        if one.part not in carriers:
            raise ModelError(f"loose.{one.name}.part", "one of " + ", ".join(carriers), f'"{one.part}"')
