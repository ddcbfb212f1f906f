"""The puppet: what a person measured with a ruler, a protractor and a kitchen scale. Lengths mm, angles degrees,
masses g.

Places are (along, across, up) from the body's centre in the zero pose: legs straight down, feet flat, trunk upright;
along is forward, across is positive to the puppet's left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import ClassVar

import numpy as np

from ..errors import ModelError
from .bench import Measured
from .bones import Bones, bend_of, length_of, most_bend
from .fields import (
    ADDED,
    APART,
    Pair,
    Triple,
    added,
    angle_range,
    check_fields,
    choice,
    is_name,
    length,
    length_range,
    mass,
    name,
    place,
    share,
    text,
)
from .upper import Arm, Loose, check_named, part_names
from .weight import Holding, Pull, held_nmm

ANY_HOCK: Pair = (0.0, 175.0)
"""A hock's stops that were not measured."""


@dataclass(frozen=True)
class Limits:
    """The stops of one leg's joints, (least, most) in degrees. Signs: hip_swing + thigh forward, hip_out + away from
    the midline, knee + bend, ankle + toe toward shin, toe + toe up from the sole, hock + bend, the other way. What was
    not measured is wide enough for a leg with its knee to either side."""

    hip_swing_deg: Pair = angle_range("Hip swing: furthest back, furthest forward", (-80.0, 90.0))
    hip_out_deg: Pair = angle_range("Hip sideways: furthest in, furthest out", (-25.0, 25.0), least=-90, most=90)
    knee_deg: Pair = angle_range("Knee: least bend, most bend", (0.0, 130.0), least=0, most=175)
    ankle_deg: Pair = angle_range("Ankle: toe furthest down, toe furthest up", (-80.0, 45.0), least=-120, most=120)
    toe_deg: Pair = angle_range("Toe joint: furthest down, furthest up", (0.0, 60.0), least=-90, most=120)
    hip_to_ankle_mm: Pair | None = length_range(
        "Instead of knee_deg: shortest and longest distance from hip to ankle, by ruler", None
    )
    hock_deg: Pair = added(
        angle_range("Hock of a leg of three bones: least bend, most bend", ANY_HOCK, least=0, most=175)
    )

    def __post_init__(self) -> None:
        check_fields(self, "limits")


@dataclass(frozen=True)
class Leg:
    """One leg. The hip is a ball, the knee a hinge, the ankle a ball; the toe joint, at the ball of the foot, a hinge.

    A leg of three bones has a hock, a hinge between shank and cannon that bends the other way than the knee, tied to
    it: `hock_ratio` degrees for each degree of the knee (model/bones).
    """

    name: str = name("Name of the leg")
    hip_mm: Triple = place("Hip pivot from the body's centre: along, across (left +), up")
    thigh_mm: float = length("Hip pivot to knee pivot", least=1)
    shank_mm: float = length("Knee pivot to ankle pivot", least=1)
    ankle_up_mm: float = length("Ankle pivot above the sole")
    heel_behind_mm: float = length("Back edge of the heel behind the ankle")
    ball_ahead_mm: float = length("Toe joint (ball of the foot) ahead of the ankle")
    knee: str = choice("Which way the knee bends", ("forward", "backward"), "forward")
    toe_mm: float = length("Toe joint to toe tip (0 = no bending toe)", 0.0)
    sole_width_mm: float = length("Width of the sole", 10.0, least=0.5)
    tie_mm: Pair = place("Tie-down on the sole: ahead of the ankle, across", (0.0, 0.0), size=2)
    outward: str | None = choice("Which side is away from the midline", ("left", "right"), None)
    thigh_width_mm: float | None = length("Thickness of the thigh, for drawing", None, least=0.1)
    shank_width_mm: float | None = length("Thickness of the shank, for drawing", None, least=0.1)
    part: str = added(choice("What it hangs on; the chest turns at the waist", ("body", "chest"), "body"))
    cannon_mm: float | None = added(
        length("Third bone of a leg, below the shank: hock pivot to ankle pivot", None, least=1)
    )
    hock_ratio: float = added(
        share(
            "Hock bend for each degree of knee bend; 1 keeps the cannon parallel to the thigh", 1.0, least=0.2, most=3
        )
    )
    cannon_width_mm: float | None = added(length("Thickness of the cannon, for drawing", None, least=0.1))
    thigh_g: float | None = mass("Mass of the thigh", None)
    shank_g: float | None = mass("Mass of the shank", None)
    cannon_g: float | None = added(mass("Mass of the cannon", None))
    foot_g: float | None = mass("Mass of the foot", None)
    tie: str = added(choice("What ties the foot down", ("screw", "magnet", "nothing"), "screw"))
    tie_holds_g: float | None = added(mass("Pull at which the tie-down lets go, by a spring balance", None))
    limits: Limits = field(default_factory=Limits)
    holding: Holding = field(default=Holding(), metadata=ADDED)
    pulls: tuple[Pull, ...] = field(default=(), metadata=ADDED)
    measured: tuple[Measured, ...] = field(default=(), metadata=APART)

    def __post_init__(self) -> None:
        where = f"leg.{self.name}"
        check_fields(self, where)
        if self.heel_behind_mm + self.ball_ahead_mm + self.toe_mm <= 0:
            raise ModelError(f"{where}.ball_ahead_mm", "a foot with some length", "0 mm from heel to toe")
        ruler = self.limits.hip_to_ankle_mm
        if ruler:
            low, high = self.folded_mm, self.bones_mm
            if not low <= ruler[0] <= ruler[1] <= high:
                bones = "thigh, shank and cannon" if self.cannon_mm else "thigh and shank"
                raise ModelError(
                    f"{where}.limits.hip_to_ankle_mm",
                    f"two lengths from {low:g} to {high:g} mm (what {bones} can make)",
                    f"{ruler[0]:g}, {ruler[1]:g}",
                    f"Measure hip pivot to ankle pivot, or measure {bones} again.",
                )
        if self.cannon_mm is None:
            given = {
                "hock_ratio": self.hock_ratio != 1.0,
                "cannon_width_mm": self.cannon_width_mm is not None,
                "cannon_g": self.cannon_g is not None,
                "limits.hock_deg": self.limits.hock_deg != ANY_HOCK,
            }
            for key in (key for key, typed in given.items() if typed):
                cure = "Add cannon_mm, from the hock's pivot to the ankle's."
                raise ModelError(f"{where}.{key}", "a leg of three bones", "no cannon_mm", cure)
            return
        least, most = self.knee_range_deg
        if least > most:
            hock = self.limits.hock_deg
            raise ModelError(
                f"{where}.limits.hock_deg",
                f"bends of the hock that the knee's meet (it bends {self.hock_ratio:g} degrees a degree of the knee)",
                f"{hock[0]:g}, {hock[1]:g}, while the knee bends {self.own_knee_deg[0]:g} to {self.own_knee_deg[1]:g}",
                "Measure both joints again, or hock_ratio.",
            )

    @property
    def bones_mm(self) -> float:
        """Hip pivot to ankle pivot, all bones in line."""
        return self.thigh_mm + self.shank_mm + (self.cannon_mm or 0.0)

    @property
    def straight_mm(self) -> float:
        """Hip pivot over the floor with the leg straight and the foot flat."""
        return self.bones_mm + self.ankle_up_mm

    @property
    def turn(self) -> float:
        """How far the last bone turns from the thigh for each degree of knee bend: -1 for a leg of two bones, whose
        last one is the shank; 0 where the cannon stays parallel to the thigh."""
        return -1.0 if self.cannon_mm is None else self.hock_ratio - 1.0

    @property
    def folded_mm(self) -> float:
        """Hip pivot to ankle pivot, knee or hock folded flat."""
        if self.cannon_mm is None:
            return abs(self.thigh_mm - self.shank_mm)
        return float(length_of(*self._bones, most_bend(np.asarray(self.turn))))

    @property
    def _bones(self) -> Bones:
        """Thigh, shank, cannon and turn."""
        return (np.asarray(self.thigh_mm, float), np.asarray(self.shank_mm, float),
                np.asarray(self.cannon_mm or 0.0, float), np.asarray(self.turn))  # fmt: skip

    def length_mm(self, knee_deg: float) -> float:
        """Hip pivot to ankle pivot at a knee bend in degrees."""
        if self.cannon_mm is None:
            t, s = self.thigh_mm, self.shank_mm
            return math.sqrt(t * t + s * s + 2.0 * t * s * math.cos(math.radians(knee_deg)))
        return float(length_of(*self._bones, np.radians(knee_deg)))

    @property
    def walks_straight(self) -> bool:
        """Whether the leg walks nearly straight, as a person's does: two bones, the knee forward."""
        return self.knee == "forward" and self.cannon_mm is None

    @property
    def knee_side(self) -> int:
        """+1 where the knee bends forward, -1 where it bends backward."""
        return 1 if self.knee == "forward" else -1

    @property
    def outward_side(self) -> int:
        """+1 where outward is the puppet's left, -1 where it is its right."""
        if self.outward:
            return 1 if self.outward == "left" else -1
        return 1 if self.hip_mm[1] >= 0 else -1

    def held_nmm(self, joint: str) -> float | None:
        """What a joint of weight.JOINTS holds before it slips, N mm: as typed, else by the lowest of its pulls; None
        where it was not measured."""
        return held_nmm(self.holding, self.pulls, joint)

    @property
    def knee_range_deg(self) -> Pair:
        """Least and most knee bend in degrees: its own, and no more than the hock, which bends with it, allows."""
        least, most = self.own_knee_deg
        if self.cannon_mm is None:
            return least, most
        hock = self.limits.hock_deg
        return max(least, hock[0] / self.hock_ratio), min(most, hock[1] / self.hock_ratio)

    @property
    def hock_sets_deg(self) -> tuple[bool, bool]:
        """Whether the hock's own stop, not the knee's, ends the bend: least, most."""
        if self.cannon_mm is None:
            return False, False
        own, both = self.own_knee_deg, self.knee_range_deg
        return both[0] > own[0], both[1] < own[1]

    @property
    def own_knee_deg(self) -> Pair:
        """Least and most knee bend in degrees, from the angles or, where given, from the ruler lengths (cosine law)."""
        ruler = self.limits.hip_to_ankle_mm
        if not ruler:
            return self.limits.knee_deg
        if self.cannon_mm is not None:
            least, most = np.degrees(bend_of(*self._bones, np.array((ruler[1], ruler[0])))).tolist()
            return least, most
        t, s = self.thigh_mm, self.shank_mm
        bend = [
            180 - math.degrees(math.acos(max(-1.0, min(1.0, (t * t + s * s - d * d) / (2 * t * s))))) for d in ruler
        ]
        return bend[1], bend[0]

    def mirrored(self, new_name: str) -> Leg:
        """The same leg on the other side of the midline, not measured on the bench yet."""
        along, across, up = self.hip_mm
        other = {"left": "right", "right": "left", None: None}[self.outward]
        return replace(
            self,
            name=new_name,
            hip_mm=(along, -across, up),
            tie_mm=(self.tie_mm[0], -self.tie_mm[1]),
            outward=other,
            measured=(),
        )


@dataclass(frozen=True)
class Shape:
    """A simple body to draw, hung on a part; places from the body's centre in the zero pose.

    box: centre_mm and size_mm (along, across, up). ball: centre_mm and radius_mm. capsule: from_mm, to_mm, radius_mm.
    """

    form: str = choice("What it looks like", ("box", "capsule", "ball"))
    part: str = text("What it hangs on: body, chest, head, arm.NAME.upper, arm.NAME.fore or loose.NAME", "body")
    centre_mm: Triple | None = place("Centre of a box or ball", None)
    size_mm: Triple | None = length("Size of a box: along, across, up", None, size=3)
    from_mm: Triple | None = place("One end of a capsule", None)
    to_mm: Triple | None = place("Other end of a capsule", None)
    radius_mm: float | None = length("Radius of a ball or capsule", None, least=0.1)

    NEEDS: ClassVar[dict[str, tuple[str, ...]]] = {
        "box": ("centre_mm", "size_mm"),
        "ball": ("centre_mm", "radius_mm"),
        "capsule": ("from_mm", "to_mm", "radius_mm"),
    }

    def __post_init__(self) -> None:
        check_fields(self, "shape")
        needs = self.NEEDS[self.form]
        for key in ("centre_mm", "size_mm", "from_mm", "to_mm", "radius_mm"):
            given = getattr(self, key) is not None
            if given != (key in needs):
                raise ModelError(
                    f"shape.{key}",
                    f"a {self.form} described by {', '.join(needs)}",
                    f"{key} as well" if given else f"no {key}",
                )


@dataclass(frozen=True)
class Body:
    """The trunk: its reference point, where chest and head turn and how far, and what its parts weigh.

    Waist and neck turn in the order turn, lean, tilt; a joint without limits was not measured and takes anything.
    """

    reference_mm: Triple = place("Reference point, lined up in every pose, from the body's centre", (0.0, 0.0, 0.0))
    reference_name: str = text("What the reference point is on the puppet", "hip bolt")
    waist_mm: Triple = place("Where the chest turns on the body", (0.0, 0.0, 0.0))
    neck_mm: Triple = place("Where the head turns on the chest", (0.0, 0.0, 0.0))
    body_g: float | None = mass("Mass of the body (pelvis)", None)
    chest_g: float | None = mass("Mass of the chest, with arms that are not weighed by themselves", None)
    head_g: float | None = mass("Mass of neck and head", None)
    waist_turn_deg: Pair | None = added(angle_range("Waist's turn: furthest right, furthest left", None))
    waist_lean_deg: Pair | None = added(angle_range("Waist's lean: furthest back, furthest forward", None))
    waist_tilt_deg: Pair | None = added(angle_range("Waist's tilt: furthest left, furthest right", None))
    neck_turn_deg: Pair | None = added(angle_range("Neck's turn: furthest right, furthest left", None))
    neck_lean_deg: Pair | None = added(angle_range("Neck's lean: furthest back, furthest forward", None))
    neck_tilt_deg: Pair | None = added(angle_range("Neck's tilt: furthest left, furthest right", None))
    body_centre_mm: Triple | None = added(place("Centre of mass of the body: where it balances", None))
    chest_centre_mm: Triple | None = added(place("Centre of mass of what chest_g weighs", None))
    head_centre_mm: Triple | None = added(place("Centre of mass of neck and head", None))
    total_g: float | None = added(mass("Mass of the whole puppet, where not all parts were weighed", None))
    total_by: str = added(
        choice("How the rest of total_g is shared among parts that were not weighed", ("volume", "person"), "volume")
    )

    def __post_init__(self) -> None:
        check_fields(self, "body")
        for joint in ("waist", "neck"):
            for key in ("turn", "lean", "tilt"):
                limits = getattr(self, f"{joint}_{key}_deg")
                if limits is not None and not limits[0] <= 0 <= limits[1]:
                    given = f"{limits[0]:g}, {limits[1]:g}"
                    raise ModelError(f"body.{joint}_{key}_deg", "a range with 0, the zero pose, in it", given)

    def limits_deg(self, joint: str) -> tuple[Pair | None, Pair | None, Pair | None]:
        """Turn, lean and tilt limits of "waist" or "neck"; None where there is none."""
        turn, lean, tilt = (getattr(self, f"{joint}_{key}_deg") for key in ("turn", "lean", "tilt"))
        return turn, lean, tilt


@dataclass(frozen=True)
class Puppet:
    """A jointed puppet: any number of legs, one trunk, arms and loose parts where it has some."""

    name: str = text("Name of the puppet")
    legs: tuple[Leg, ...] = ()
    body: Body = field(default_factory=Body)
    shapes: tuple[Shape, ...] = ()
    arms: tuple[Arm, ...] = field(default=(), metadata=ADDED)
    loose: tuple[Loose, ...] = field(default=(), metadata=ADDED)

    def __post_init__(self) -> None:
        check_fields(self, "puppet")
        if len(self.legs) < 2:
            raise ModelError("leg", "at least two legs ([leg.left], [leg.right])", str(len(self.legs)))
        if len(self.legs) > 12:
            raise ModelError("leg", "at most 12 legs", str(len(self.legs)))
        seen = [leg.name for leg in self.legs]
        for one in seen:
            if seen.count(one) > 1 or not is_name(one):
                raise ModelError(f"leg.{one}", "legs of different names", f"{seen.count(one)} of this name")
        self._check_spine()
        check_named(self.leg_names, self.arms, self.loose)
        parts = part_names(self.arms, self.loose)
        for shape in self.shapes:
            if shape.part not in parts:
                raise ModelError("shape.part", "one of " + ", ".join(parts), f'"{shape.part}"')
        total, weighed = self.body.total_g, self.weighed_g
        if total is not None and weighed > total:
            expected = f"at least {weighed:g} g, what the weighed parts are together"
            raise ModelError("body.total_g", expected, f"{total:g}", "Weigh the whole puppet again.")

    def _check_spine(self) -> None:
        """Legs on the chest are whole pairs, ahead of those on the body, which are too."""
        if not self.bends:
            return
        behind = [leg for leg in self.legs if leg.part == "body"]
        front = [leg for leg in self.legs if leg.part == "chest"]
        named = f"leg.{front[0].name}.part"
        if len(behind) % 2 or len(front) % 2 or not behind:
            given = f"{len(front)} on the chest and {len(behind)} on the body"
            raise ModelError(named, "pairs of legs on the chest and pairs on the body", given)
        if max(leg.hip_mm[0] for leg in behind) >= min(leg.hip_mm[0] for leg in front):
            raise ModelError(named, "legs on the chest ahead of all that are on the body", "one that is not",
                             "hip_mm is [along, across, up].")  # fmt: skip

    @property
    def bends(self) -> bool:
        """Whether the spine bends: legs hang on the chest, which turns at the waist."""
        return any(leg.part == "chest" for leg in self.legs)

    def has_part(self, part: str) -> bool:
        """Whether the puppet has a chest or a head: where it turns was measured, or something hangs on it."""
        joint = {"chest": "waist", "head": "neck"}[part]
        if any(getattr(self.body, f"{joint}_mm")) or any(self.body.limits_deg(joint)):
            return True
        return any(one.part == part for one in (*self.legs, *self.shapes, *self.arms, *self.loose))

    @property
    def weighed_g(self) -> float:
        """What those parts weigh together that were weighed one by one."""
        parts = [self.body.body_g, self.body.chest_g, self.body.head_g]
        parts += [grams for leg in self.legs for grams in (leg.thigh_g, leg.shank_g, leg.cannon_g, leg.foot_g)]
        parts += [grams for arm in self.arms for grams in (arm.upper_g, arm.fore_g, arm.hand_g)]
        parts += [one.mass_g for one in self.loose]
        return sum(grams for grams in parts if grams is not None)

    @property
    def leg_names(self) -> tuple[str, ...]:
        return tuple(leg.name for leg in self.legs)
