"""How far a solved pose is from one that was measured, quantity by quantity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..model.poses import Posed
from ..solve import Plan

SHOWN = 0.05
"""Differences from here on, in mm or degrees, are told as such."""


@dataclass(frozen=True)
class Difference:
    """One quantity of a pose. pose: contact | passing | pose 1; what: "hip line", "left heel along"; unit: mm | deg."""

    pose: str
    what: str
    given: float
    solved: float
    unit: str

    @property
    def off(self) -> float:
        """Solved minus given."""
        return self.solved - self.given


def differences(
    name: str, pose: Posed, plan: Plan, index: int, aligned_on: str | None = None, free: str | None = None
) -> list[Difference]:
    """Every quantity that the pose gives against pose `index` (from 0) of the plan.

    aligned_on: a leg whose foot's place the two share, where the pose was not measured from the stage's datum; where
    that foot has no place, places cannot be compared and are left out. None: places are the stage's own. free: the leg
    in the air, whose foot does not lie flat where no tilt was measured.
    """
    found: list[Difference] = []
    foot_of = {leg: i for i, leg in enumerate(plan.legs)}
    moved = (0.0, 0.0)
    comparable = True
    if aligned_on is not None:
        foot = pose.foot(aligned_on)
        comparable = foot.at_mm is not None
        if foot.at_mm is not None:
            solved = getattr(plan, foot.point or "")[index, foot_of[aligned_on]]
            moved = foot.at_mm[0] - float(solved[0]), foot.at_mm[1] - float(solved[1])
    if pose.hip_mm is not None:
        found.append(Difference(name, "hip line", pose.hip_mm, float(plan.hip_line_mm[index]), "mm"))
    if pose.hip_at_mm is not None and comparable:
        middle = plan.hip_mm[index].mean(axis=0)
        for axis, word in enumerate(("along", "across")):
            found.append(
                Difference(name, f"hips {word}", pose.hip_at_mm[axis], float(middle[axis]) + moved[axis], "mm")
            )
    for foot in pose.feet:
        leg = foot_of[foot.leg]
        if foot.at_mm is not None and comparable and foot.leg != aligned_on:
            point = foot.point or ""
            place = getattr(plan, point)[index, leg]
            for axis, word in enumerate(("along", "across")):
                what = f"{foot.leg} {point.removesuffix('_mm')} {word}"
                found.append(Difference(name, what, foot.at_mm[axis], float(place[axis]) + moved[axis], "mm"))
        if foot.ankle_up_mm is not None:
            up = float(plan.ankle_mm[index, leg, 2])
            found.append(Difference(name, f"{foot.leg} ankle up", foot.ankle_up_mm, up, "mm"))
        if foot.foot_pitch_deg is not None or foot.leg != free:
            pitch = float(plan.foot_pitch_deg[index, leg])
            found.append(Difference(name, f"{foot.leg} foot tilt", foot.tilt_deg, pitch, "deg"))
        if foot.toe_out_deg is not None:
            side = plan.shot.puppet.legs[leg].outward_side
            out = side * float(plan.foot_heading_deg[index, leg])
            found.append(Difference(name, f"{foot.leg} toes out", foot.toe_out_deg, out, "deg"))
    return found


def worst_words(found: Sequence[Difference]) -> str:
    """ "the solved poses are off by at most 0.10 mm and 19.30 deg (passing, right foot tilt)"."""
    if not found:
        return "nothing to compare"
    lengths = [one for one in found if one.unit == "mm"]
    angles = [one for one in found if one.unit == "deg"]
    return f"the solved poses are off by at most {' and '.join(_worst(some) for some in (lengths, angles) if some)}"


def _worst(some: Sequence[Difference]) -> str:
    worst = max(some, key=lambda one: abs(one.off))
    where = f" ({worst.pose}, {worst.what})" if abs(worst.off) >= SHOWN else ""
    return f"{amount(abs(worst.off))} {worst.unit}{where}"


def amount(value: float) -> str:
    """A length or an angle to two places, never -0.00."""
    return f"{round(value, 2) + 0.0:.2f}"
