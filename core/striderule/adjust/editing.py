"""Edits made by hand, on a plan as a person sees it: Shot -> Shot. A footfall dragged, pinned or let go, the body
nudged, a pose held; and what edits a shot has, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

from ..errors import ModelError
from ..model.edits import BodyEdit, Edits, FootfallEdit, Hold
from ..model.fields import Pair
from ..model.shot import Shot
from ..solve import Plan, Stance, solve

KINDS = ("footfall", "body", "hold", "hips")
"""What edits there are, in the order of their list. `hips` is one: the hips pose by pose, as a fit writes them."""
One = TypeVar("One")
_NEAR = 0.005
_ASIDE_MM = 100.0


@dataclass(frozen=True)
class EditRow:
    """One edit of a list. kind: one of KINDS; index: among its kind; pose: from 1, where to look at it."""

    kind: str
    index: int
    text: str
    pose: int


def with_dragged(shot: Shot, plan: Plan, stance: Stance, at_mm: Pair, turn_deg: float = 0.0, pin: bool = False) -> Shot:
    """The shot whose footfall `stance`, one of its plan's, stands at at_mm and is turned turn_deg further.

    pin: it stays there whatever else changes; else it is so far from where the walk puts it, and goes along with it.
    What else its edit says stays, but for a hole it was put over; an edit that says nothing is taken away.
    """
    edit = edit_of(shot, plan, stance)
    turn = _rounded((edit.turn_deg or 0.0) + (edit.hole_turn_deg or 0.0) + turn_deg)
    at = (_rounded(at_mm[0]), _rounded(at_mm[1]))
    edit = replace(edit, at_mm=None, move_mm=None, turn_deg=turn or None, hole_turn_deg=None)
    if pin:
        return with_footfall(shot, replace(edit, at_mm=at))
    bare = _stance(with_footfall(shot, edit), stance)
    aside = _stance(with_footfall(shot, replace(edit, move_mm=(_ASIDE_MM, 0.0))), stance)
    # what a move is along, is told by one: on a turning track that is where the step is, not where the foot is
    c, s = ((aside.place_mm[i] - bare.place_mm[i]) / _ASIDE_MM for i in (0, 1))
    x, y = at[0] - bare.place_mm[0], at[1] - bare.place_mm[1]
    move = (_rounded(x * c + y * s), _rounded(y * c - x * s))
    return with_footfall(shot, replace(edit, move_mm=move if any(move) else None))


def with_let_go(shot: Shot, plan: Plan, stance: Stance) -> Shot:
    """The shot whose footfall stands where the walk puts it."""
    return with_footfall(shot, FootfallEdit(stance.step, _own_leg(plan, stance)))


def with_footfall(shot: Shot, edit: FootfallEdit) -> Shot:
    """The shot with this edit in place of what the same footfall had; without any where it says nothing."""
    others = [one for one in shot.edits.footfalls if (one.step, one.leg) != (edit.step, edit.leg)]
    said = replace(edit, step=0, leg=None) != FootfallEdit(0)
    all_of_them = sorted([*others, edit] if said else others, key=lambda one: (one.step, one.leg or ""))
    return replace(shot, edits=replace(shot.edits, footfalls=tuple(all_of_them)))


def edit_of(shot: Shot, plan: Plan, stance: Stance) -> FootfallEdit:
    """What is edited of a footfall; an edit that says nothing where there is none."""
    names = {_own_leg(plan, stance), plan.legs[stance.leg]}
    here = [one for one in shot.edits.footfalls if one.step == stance.step and one.leg in names]
    return here[0] if here else FootfallEdit(stance.step, _own_leg(plan, stance))


def with_nudge(shot: Shot, pose: int, up_mm: float, over_poses: float = 3.0) -> Shot:
    """The shot with the body so much higher about a pose (from 1); an earlier nudge over as many poses there is added
    to, and one that comes to nothing is taken away. Raises ModelError for a pose that there is not."""
    _check_pose(shot, pose)
    edits = shot.edits
    before = [one for one in edits.body if (one.pose, one.over_poses) == (pose, over_poses)]
    up = _rounded(sum(one.up_mm for one in before) + up_mm)
    others = [one for one in edits.body if one not in before]
    new = [*others, BodyEdit(pose, up, over_poses)] if up else others
    return replace(shot, edits=replace(edits, body=tuple(sorted(new, key=lambda one: one.pose))))


def with_hold(shot: Shot, pose: int, frames: int) -> Shot:
    """The shot with a pose (from 1) held for so many frames in all. Raises ModelError for a pose that there is not."""
    _check_pose(shot, pose)
    others = [one for one in shot.holds if one.pose != pose]
    return replace(shot, holds=tuple(sorted([*others, Hold(pose, frames)], key=lambda one: one.pose)))


def without_edit(shot: Shot, kind: str, index: int) -> Shot:
    """The shot without one of its edits, as `edit_rows` counts them. Raises ModelError where there is none."""
    if (kind, index) not in {(row.kind, row.index) for row in edit_rows(shot)}:
        raise ModelError("edit", "one of the edits in the list", f"{kind} {index + 1}")
    edits = shot.edits
    if kind == "hold":
        return replace(shot, holds=_without(shot.holds, index))
    if kind == "body":
        return replace(shot, edits=replace(edits, body=_without(edits.body, index)))
    if kind == "hips":
        return replace(shot, edits=replace(edits, hips_up_mm=()))
    return replace(shot, edits=replace(edits, footfalls=_without(edits.footfalls, index)))


def without_edits(shot: Shot) -> Shot:
    """The shot as its walk alone makes it."""
    return replace(shot, edits=Edits(), holds=())


def edit_rows(shot: Shot) -> list[EditRow]:
    """Every edit of a shot, in words."""
    rows: list[EditRow] = []
    for i, one in enumerate(shot.edits.footfalls):
        whose = f", {one.leg}" if one.leg else ""
        rows.append(EditRow("footfall", i, f"Step {one.step}{whose}: {', '.join(_footfall_words(one)) or 'as planned'}",
                            _pose_of_step(shot, one.step)))  # fmt: skip
    for i, one in enumerate(shot.edits.body):
        up = _way(one.up_mm, "mm up", "mm down")
        rows.append(EditRow("body", i, f"Pose {one.pose}: body {up}", one.pose))
    for i, one in enumerate(shot.holds):
        frames = "frame" if one.frames == 1 else "frames"
        rows.append(EditRow("hold", i, f"Pose {one.pose}: held for {one.frames} {frames}", one.pose))
    if shot.edits.hips_up_mm:
        last = len(shot.edits.hips_up_mm)
        rows.append(
            EditRow("hips", 0, f"Poses 1-{last}: hips up to {max(map(abs, shot.edits.hips_up_mm)):.1f} mm off", 1)
        )
    return rows


def _footfall_words(edit: FootfallEdit) -> Iterator[str]:
    if edit.at_mm is not None:
        where = "pinned" if edit.hole_turn_deg is None else "over a hole"
        yield f"{where} at {round(edit.at_mm[0], 2):g}, {round(edit.at_mm[1], 2):g} mm"
    if edit.move_mm is not None:
        along, left = edit.move_mm
        if along or not left:
            yield _way(along, "mm on", "mm back")
        if left:
            yield _way(left, "left", "right") if along else _way(left, "mm left", "mm right")
    if edit.hole_turn_deg:
        yield _way(edit.hole_turn_deg, "deg left", "deg right")
    if edit.turn_deg:
        yield _way(edit.turn_deg, "deg left", "deg right")
    if edit.later_poses:
        poses = "pose" if abs(edit.later_poses) == 1 else "poses"
        yield _way(edit.later_poses, f"{poses} later", f"{poses} earlier")


def _way(value: float, plus: str, minus: str) -> str:
    return f"{round(abs(value), 1):g} {plus if value >= 0 else minus}"


def _pose_of_step(shot: Shot, step: int) -> int:
    """The pose (from 1) in which a step lands; pose 1 for the feet that stand before."""
    land = shot.laid_out.land
    return int(land[min(step, len(land)) - 1]) + 1 if step > 0 else 1


def _own_leg(plan: Plan, stance: Stance) -> str | None:
    """The leg's name where it has to be said: a puppet of more than two."""
    return plan.legs[stance.leg] if len(plan.legs) > 2 else None


def _stance(shot: Shot, like: Stance) -> Stance:
    return next(one for one in solve(shot).stances if (one.step, one.leg) == (like.step, like.leg))


def _check_pose(shot: Shot, pose: int) -> None:
    if not 1 <= pose <= shot.poses:
        raise ModelError("pose", f"a pose from 1 to {shot.poses}", str(pose))


def _without(rows: tuple[One, ...], index: int) -> tuple[One, ...]:
    return rows[:index] + rows[index + 1 :]


def _rounded(value: float) -> float:
    return 0.0 if math.isclose(value, 0.0, abs_tol=_NEAR) else round(value, 2)
