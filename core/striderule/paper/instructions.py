"""What hands do at the set in each pose: the feet's screws, holes and angles, and whether the puppet may be left.

The one input of the sheets beside the plan; ties, loads and the rig are those of `check.weight`.

Tie order (common practice, no source): a foot comes down, lies flat, is tied, and only then is the other untied. A foot
on its heel is not tied; a rolling one is tied through its toe or by nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.matched_view import axes_from_angles
from ..check.weight.load import Weight, weigh
from ..check.weight.ties import Ties, ties_of
from ..export.weight_table import rig_words
from ..solve.plan import FootState, Plan

Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class SetInstructions:
    """One entry per pose. do: short lines in the order of doing. tied: (poses, legs). hole: (poses, legs) name of the
    hole that a tied foot is held by, "" where no grid is set. safe: True where the puppet may be left alone.
    focus_mm: how far before the lens the reference point is; empty where no camera is known. load: of the joint that
    has most to carry, as a share of what it holds; empty where nothing was weighed."""

    do: tuple[tuple[str, ...], ...]
    tied: Flags
    hole: tuple[tuple[str, ...], ...]
    safe: Flags
    focus_mm: tuple[float, ...] = ()
    load: tuple[float, ...] = ()


def leg_words(name: str) -> str:
    """A leg's name as it is printed: "hind left"."""
    return name.replace("_", " ")


def stance_of(plan: Plan) -> Whole:
    """(poses, legs) index of the footfall in `plan.footing` that a foot is on; -1 in the air."""
    found = np.full(plan.state.shape, -1, dtype=np.int64)
    f = plan.footing
    for index, (leg, first, last) in enumerate(zip(f.leg.tolist(), f.first.tolist(), f.last.tolist(), strict=True)):
        if last >= 0:
            found[max(first, 0) : last + 1, leg] = index
    return np.where(plan.state == FootState.AIR, -1, found)


def instructions_of(plan: Plan, holes: tuple[str, ...] = ()) -> SetInstructions:
    """Instructions for a plan; with loads, rig and whether it may be left as they are weighed, where the puppet was.

    holes: the hole's name of every footfall of `plan.footing`, "" where it has none; empty without a grid.
    """
    ties = ties_of(plan)
    stance = stance_of(plan)
    names = np.array([*(holes or [""] * len(plan.footing.leg)), ""], dtype=object)
    hole = np.where(ties.tied, names[stance], "")
    weight = weigh(plan)
    if weight is not None and not weight.measured:
        weight = None
    safe = np.logical_and(ties.all_tied, ties.tied.any(axis=1)) if weight is None else weight.safe_to_leave
    do = tuple((*_rig_lines(weight, k), *_lines(plan, k, ties, names[stance])) for k in range(plan.poses))
    named = tuple(tuple(map(str, row)) for row in hole.tolist())
    load = () if weight is None else tuple(np.nan_to_num(weight.worst, posinf=0.0).tolist())
    return SetInstructions(do, ties.tied, named, safe, focus_mm(plan), load)


def _rig_lines(weight: Weight | None, pose: int) -> tuple[str, ...]:
    """What the rig must lift, where it must, and how far it goes with the puppet: before any foot is untied."""
    if weight is None:
        return ()
    words, lift = rig_words(weight, pose), weight.lift
    if not words:
        return ()
    along, across, up = lift.moves_mm[pose].tolist()
    ways = ((along, "along"), (across, "across"), (up, "up"))
    went = ", ".join(f"{value:+.1f} mm {way}" for value, way in ways if value)
    said = f"rig lifts {words}" if lift.helps[pose] else "no rig lift holds this pose"
    return (f"rig {went}", said) if went and pose else (said,)


def focus_mm(plan: Plan) -> tuple[float, ...]:
    """How far before the lens of the shot's first matched camera the reference point is in every pose, along the lens's
    axis; () where no camera is matched."""
    matched = next((one.matched for one in plan.shot.cameras if one.matched is not None), None)
    if matched is None:
        return ()
    ahead = axes_from_angles(matched.pan_deg, matched.tilt_deg, matched.roll_deg)[2]
    away = plan.reference_mm - np.array(matched.place_mm)
    return tuple(float(depth) for depth in away @ ahead)


def _lines(plan: Plan, pose: int, ties: Ties, hole: npt.NDArray[np.object_]) -> tuple[str, ...]:
    now = plan.state[pose]
    before = plan.state[pose - 1] if pose else np.full_like(now, -1)
    tied = ties.tied
    legs = [leg_words(leg) for leg in plan.legs]
    each = range(len(legs))
    lines: list[str] = []
    for k in each:
        if now[k] == FootState.HEEL and before[k] != FootState.HEEL:
            lines.append(f"{legs[k]} down on its heel, toe up {_degrees(plan, pose, k)} deg")
        elif now[k] == FootState.PLANTED and before[k] in (FootState.HEEL, FootState.TOE):
            lines.append(f"{legs[k]} flat")
        elif now[k] == FootState.PLANTED and before[k] != FootState.PLANTED:
            lines.append(f"{legs[k]} down, flat")
        elif now[k] == FootState.TOE and before[k] not in (FootState.PLANTED, FootState.TOE):
            lines.append(f"{legs[k]} on its toe, heel up {_degrees(plan, pose, k)} deg")
    newly = [k for k in each if ties.tie[pose, k]]
    lines += [f"tie {legs[k]}" + (f" at hole {hole[pose, k]}" if hole[pose, k] else "") for k in newly]
    untied = [k for k in each if ties.untie[pose, k]]
    if untied and not tied[pose].any():
        lines.append("nothing will be tied: hold the puppet by its rig")
    lines += [f"untie {legs[k]}" for k in untied]
    for k in each:
        if now[k] == FootState.TOE and before[k] in (FootState.PLANTED, FootState.TOE):
            lines.append(f"{legs[k]} heel up {_degrees(plan, pose, k)} deg")
        elif now[k] == FootState.HEEL and before[k] == FootState.HEEL:
            lines.append(f"{legs[k]} toe up {_degrees(plan, pose, k)} deg")
        elif now[k] == FootState.AIR and before[k] != FootState.AIR:
            plug = pose and hole[pose - 1, k]
            lines.append(f"{legs[k]} off the floor" + (f", plug hole {plug}" if plug else ""))
    return tuple(lines)


def _degrees(plan: Plan, pose: int, leg: int) -> int:
    """How far the sole is turned against the floor that it stands on, whole degrees."""
    f = plan.footing
    on = (f.leg == leg) & (f.first <= pose) & (f.last >= pose)
    floor = float(f.pitch_deg[np.flatnonzero(on)[-1]]) if on.any() else 0.0
    return int(abs(float(plan.foot_pitch_deg[pose, leg]) - floor) + 0.5)
