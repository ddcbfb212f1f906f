"""Pose 1 put on feet and hips that stand already: what the walk's values leave over becomes edits."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..model.edits import FootfallEdit
from ..model.poses import Contact
from ..model.shot import Shot
from ..solve import solve
from .editing import edit_of, with_dragged, with_nudge
from .posed_feet import footfall, leg_named

NEAR_MM, NEAR_DEG = 0.05, 0.05
"""What is off by less than this is as measured: the rounding of written values."""
_FAR = 0.5
"""A foot that is farther than this share of a step from where the walk has it stands for another pose."""


@dataclass(frozen=True)
class HookedUp:
    """shot: the walk with its edits; footfalls: those that were written, nudge_mm: the body in pose 1, 0 = as it was;
    notes: sentences on what could not be hooked up."""

    shot: Shot
    footfalls: tuple[FootfallEdit, ...]
    nudge_mm: float
    notes: tuple[str, ...]


def hooked_up(shot: Shot, pose: Contact) -> HookedUp:
    """The shot whose pose 1 has the measured feet and hip height of `pose`.

    A foot that stands elsewhere or is turned otherwise is pinned by an edit; where the hips are at another height, the
    body is nudged in pose 1, and less in the poses after it.
    """
    plan = solve(shot)
    walk = shot.settled_walk
    new, notes = shot, list[str]()
    written: list[FootfallEdit] = []
    for foot in pose.feet:
        leg = plan.legs.index(foot.leg)
        stance = next((one for one in plan.stances if one.leg == leg and one.first <= 0 <= one.last), None)
        place = footfall(leg_named(shot.puppet, foot.leg), foot, walk.toe_out_deg or 0.0)
        if stance is None or place is None:
            notes.append(f"The {foot.leg} foot of pose 1 is not pinned: it has no place, or is in the air.")
            continue
        off = math.dist(place, stance.place_mm[:2])
        if off > _FAR * (walk.step_mm or 0.0):
            notes.append(
                f"The {foot.leg} foot of pose 1 is not pinned: it is {off:.0f} mm from where the walk has it, which is "
                "no small correction. Check the place, or let the walk start there (stage.start_mm)."
            )
            continue
        out = foot.toe_out_deg
        side = shot.puppet.legs[leg].outward_side
        turn = 0.0 if out is None else side * out - (stance.heading_deg - float(plan.heading_deg[0]))
        if off > NEAR_MM or abs(turn) > NEAR_DEG:
            new = with_dragged(new, plan, stance, place, turn, pin=True)
            written.append(edit_of(new, plan, stance))
    nudge = 0.0
    if pose.hip_mm is not None:
        up = pose.hip_mm - float(solve(new).hip_line_mm[0])
        if abs(up) > NEAR_MM:
            nudge = round(up, 2)
            new = with_nudge(new, 1, nudge)
    return HookedUp(new, tuple(written), nudge, tuple(notes))
