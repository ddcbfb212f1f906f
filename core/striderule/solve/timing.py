"""When: which pose belongs to which step, which leg swings, when feet land, lie flat, roll and lift off; frames and
key names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, cast

import numpy as np
import numpy.typing as npt

from ..model.defaults import down_pose, up_pose, with_defaults
from ..model.groups import Group
from ..model.shot import Shot
from ..model.walk import Hips, Walk

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

KEYS = ("in-between", "pause", "settle", "anticipation", "toe roll", "down", "up", "passing", "contact", "standing")
"""What a pose is called; where several fall on one pose, the latest of these."""


@dataclass(frozen=True, eq=False)
class Steps:
    """Every value of a group's walk, one entry a step (E,). The walk is taken to go on before and after the shot, or to
    have stood there: `before` entries lie before the shot's first step, some behind its last. Step v swings leg[v] (of
    the group); it begins at the contact pose start[v].

    Each step is one swing and one stance: the foot lands at land[v] and stands until step v + legs.
    """

    legs: int
    before: int
    shown: int
    leg: Whole
    start: Whole
    land: Whole
    poses: Whole
    passing: Whole
    lift_off: Whole
    toe_roll: Whole
    flat_after: Whole
    down: Whole
    up: Whole
    length_mm: Floats
    width_mm: Floats
    heel_off_rad: Floats
    strike_rad: Floats
    lift_mm: Floats
    lift_top: Floats
    clearance_mm: Floats
    heavy: npt.NDArray[np.bool_]
    sway: Floats
    turn_rad: Floats
    drop_rad: Floats
    lean_rad: Floats
    toe_out_rad: Floats
    chest_counter_turn: Floats
    surge: Floats
    drag: Floats
    hip_contact_mm: Floats
    hip_down_mm: Floats
    hip_passing_mm: Floats
    hip_up_mm: Floats
    even: bool
    """Every step has the same values and none waits: a plain walk."""
    stands_first: bool
    stands_last: bool
    anticipation_mm: float
    overshoot: float
    settle: int
    kinds: tuple[Walk, ...]
    kind: Whole
    """The settled walks of single steps, and which of them each step has: for what only some puppets need."""

    @property
    def stances(self) -> int:
        """How many steps have their whole stance inside the arrays."""
        return len(self.leg) - self.legs

    @cached_property
    def off(self) -> Whole:
        """(stances,) last pose at which the foot that landed in the step still touches."""
        return (self.start + self.lift_off)[self.legs :]

    @cached_property
    def roll_from(self) -> Whole:
        """(stances,) pose from which that foot's heel rises."""
        return self.off - self.toe_roll[self.legs :]

    @property
    def flat(self) -> Whole:
        """(E,) pose from which the landed foot lies flat."""
        return self.land + self.flat_after

    @property
    def last(self) -> int:
        """Entry of the shot's last step."""
        return self.before + self.shown - 1


_WHOLE: tuple[tuple[str, Callable[[Walk], int | None]], ...] = (
    ("poses", lambda w: w.poses_per_step),
    ("passing", lambda w: w.passing_pose),
    ("lift_off", lambda w: w.lift_off_poses),
    ("toe_roll", lambda w: w.toe_roll_poses),
    ("flat_after", lambda w: w.flat_after_poses),
    ("down", lambda w: down_pose(w.passing_pose or 1)),
    ("up", lambda w: up_pose(w.poses_per_step, w.passing_pose or 1)),
    ("heavy", lambda w: int(w.landing == "heavy")),
)
_NUMBERS: tuple[tuple[str, Callable[[Walk], float | None]], ...] = (
    ("length_mm", lambda w: w.step_mm),
    ("width_mm", lambda w: w.width_mm),
    ("lift_mm", lambda w: w.lift_mm),
    ("lift_top", lambda w: w.lift_top),
    ("clearance_mm", lambda w: w.clearance_mm),
    ("sway", lambda w: w.sway),
    ("chest_counter_turn", lambda w: w.chest_counter_turn),
    ("surge", lambda w: w.surge),
    ("drag", lambda w: w.drag),
    ("hip_contact_mm", lambda w: w.hips.contact_mm),
    ("hip_down_mm", lambda w: w.hips.down_mm),
    ("hip_passing_mm", lambda w: w.hips.passing_mm),
    ("hip_up_mm", lambda w: w.hips.up_mm),
)
_ANGLES: tuple[tuple[str, Callable[[Walk], float | None]], ...] = (
    ("heel_off_rad", lambda w: w.heel_off_deg),
    ("strike_rad", lambda w: w.heel_strike_deg),
    ("turn_rad", lambda w: w.pelvis_turn_deg),
    ("drop_rad", lambda w: w.pelvis_drop_deg),
    ("lean_rad", lambda w: w.lean_deg),
    ("toe_out_rad", lambda w: w.toe_out_deg),
)
"""Entry of Steps <- value of a step's settled walk."""


def steps_of(shot: Shot, group: Group) -> Steps:
    """The steps of one group of legs."""
    laid = shot.laid_out
    plain, legs, shown = laid.walk, len(group.legs), len(laid.kind)
    n = plain.poses_per_step
    stands_first, stands_last = plain.start == "standing", plain.stop != "walking"
    before = legs + 1 + -(-group.delay // n)
    total = shown + before + 2 * legs + 1
    number = np.arange(total) - before
    kinds = list(laid.kinds)
    kind = np.zeros(total, dtype=np.int64)
    inside = slice(before, before + shown)
    kind[inside] = laid.kind
    if stands_first or stands_last:
        kinds.append(_standing(shot))
        if stands_first:
            kind[:before] = len(kinds) - 1
        if stands_last:
            kind[before + shown :] = len(kinds) - 1
    start = number * n
    start[inside] = laid.start
    land = start + n
    land[inside] = laid.land
    if stands_first:  # all of it long ago
        start[:before] -= n + 1
        land[:before] -= n + 1
    behind = slice(before + shown, total)
    start[behind] += laid.land[-1] - shown * n
    if stands_last:  # much later
        start[behind] += laid.settle + 2 * n
    land[behind] = start[behind] + n
    shift = group.delay
    if shift:
        start += shift
        land += shift
        if stands_first:
            start[:before] -= shift
            land[:before] -= shift
    whole = np.array([[of(one) for _, of in _WHOLE] for one in kinds], dtype=np.int64)[kind].T.copy()
    numbers = np.array([[of(one) for _, of in _NUMBERS] for one in kinds], dtype=np.float64)[kind].T.copy()
    turns = np.radians(np.array([[of(one) for _, of in _ANGLES] for one in kinds], dtype=np.float64))[kind].T.copy()
    rows: dict[str, Whole] = {name: whole[i] for i, (name, _) in enumerate(_WHOLE)}
    values: dict[str, Floats] = {name: numbers[i] for i, (name, _) in enumerate(_NUMBERS)}
    angles: dict[str, Floats] = {name: turns[i] for i, (name, _) in enumerate(_ANGLES)}
    if shot.edits.footfalls:  # retimed steps keep their keys as far as there is room
        rows["poses"][inside] = (land - start)[inside]
        rows["passing"] = np.minimum(rows["passing"], rows["poses"] - 1)
        rows["lift_off"] = np.minimum(rows["lift_off"], rows["passing"] - 1)
        rows["flat_after"] = np.minimum(rows["flat_after"], rows["poses"] - 1)
    heavy = rows.pop("heavy") > 0
    waits = bool(shown > 1 and (laid.start[1:] != laid.land[:-1]).any())
    return Steps(
        legs=legs, before=before, shown=shown, leg=(group.first + number) % legs, start=start, land=land, heavy=heavy,
        even=len(kinds) == 1 and not waits and not shot.edits.footfalls, stands_first=stands_first,
        stands_last=stands_last, anticipation_mm=plain.anticipation_mm or 0.0, overshoot=plain.overshoot or 0.0,
        settle=laid.settle, kinds=tuple(kinds), kind=kind,
        **cast("dict[str, Any]", rows), **cast("dict[str, Any]", values | angles),
    )  # fmt: skip


def _standing(shot: Shot) -> Walk:
    """A step in which nothing happens: before a start from standing and after a stop."""
    walk = shot.laid_out.walk
    still = with_defaults(
        replace(shot.walk, steps=walk.steps, distance_mm=None, step_mm=0.0, heel_off_deg=0.0, heel_strike_deg=0.0,
                duty=None, passing_pose=None, lift_off_poses=None, toe_roll_poses=None, flat_after_poses=None),
        shot.puppet,
    )  # fmt: skip
    height = still.hips.contact_mm
    return replace(still, width_mm=walk.width_mm, toe_out_deg=walk.toe_out_deg, lean_deg=walk.lean_deg,
                   pelvis_turn_deg=0.0, pelvis_drop_deg=0.0, arm_swing_deg=0.0, head_nod_deg=0.0,
                   hips=Hips(height, height, height, height))  # fmt: skip


def step_of_pose(steps: Steps, poses: int) -> Whole:
    """(P,) index into Steps of the step that each pose belongs to; the last contact belongs to the last step shown, and
    poses before the first step to the first."""
    index = np.searchsorted(steps.start, np.arange(poses), side="right") - 1
    return np.minimum(np.maximum(index, steps.before), steps.last)


def key_names(steps: Steps, rolling: npt.NDArray[np.bool_]) -> tuple[str, ...]:
    """What each pose is called, by KEYS. rolling (P,): a foot is on its toe. Where keys fall on one pose passing comes
    before down and up."""
    shown = slice(steps.before, steps.before + steps.shown)
    start, land, n = steps.start[shown], steps.land[shown], steps.poses[shown]
    down, up, passing = steps.down[shown], steps.up[shown], steps.passing[shown]
    key = np.where(rolling, KEYS.index("toe roll"), 0).astype(np.int8)  # numbers fill an array much faster than words
    key[(start + down)[down < n]] = KEYS.index("down")
    key[(start + up)[up < n]] = KEYS.index("up")
    key[start + passing] = KEYS.index("passing")
    key[start] = KEYS.index("contact")
    key[land] = KEYS.index("contact")
    if not steps.even:
        for from_pose, to_pose in zip(land[:-1].tolist(), start[1:].tolist(), strict=True):
            key[from_pose + 1 : to_pose] = KEYS.index("pause")
        if steps.stands_first:
            key[: start[0]] = KEYS.index("anticipation")
            key[0] = KEYS.index("standing")
        if steps.stands_last:
            key[land[-1] + 1 :] = KEYS.index("settle")
            key[-1] = KEYS.index("standing")
    return tuple(np.array(KEYS, dtype=object)[key].tolist())


def frames(shot: Shot, steps: Steps, step: Whole) -> tuple[Whole, Whole]:
    """First and last film frame of each pose, from 1. step (P,): of each pose. Shapes (P,), (P,)."""
    poses = len(step)
    if not shot.holds and not shot.step_changes:
        first = np.arange(poses, dtype=np.int64) * shot.frames_per_pose + 1
        return first, first + shot.frames_per_pose - 1
    held = shot.laid_out.frames[step - steps.before]
    for hold in shot.holds:
        if hold.pose <= poses:
            held[hold.pose - 1] = hold.frames
    last = np.cumsum(held)
    return last - held + 1, last
