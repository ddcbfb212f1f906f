"""A walk laid out in time: how many steps, what each of them holds, and when it begins."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from .defaults import DEFAULT_STEPS, FIRST_STEP, LAST_STEP, half_up, turn_per_step_deg, with_defaults
from .groups import groups_of
from .track import track_of
from .walk import Walk

if TYPE_CHECKING:
    from .shot import Shot

Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class LaidOut:
    """walk: settled, steps included. kinds: the different settled walks of single steps, `walk` first; kind (N,): which
    of them each step has. start (N,): pose of each step's first contact, from 0; land (N,): pose of its last. frames
    (N,): film frames of each of its poses. lead_in, settle: poses before the first step and after the last. poses: of
    the whole shot."""

    walk: Walk
    kinds: tuple[Walk, ...]
    kind: Whole
    start: Whole
    land: Whole
    frames: Whole
    lead_in: int
    settle: int
    poses: int


def laid_out(shot: Shot) -> LaidOut:
    """Lay a shot's walk out. Raises ModelError."""
    measured = _measured(shot)
    if shot.walk.on_the_spot:
        _refuse_on_the_spot(shot)
    walk = with_defaults(measured, shot.puppet, rise_of(shot, measured))
    steps = walk.steps or DEFAULT_STEPS
    kinds, kind, frames = _kinds(shot, walk, steps)
    poses = np.array([one.poses_per_step for one in kinds], dtype=np.int64)[kind]
    pauses = np.array([one.pause_poses for one in kinds], dtype=np.int64)[kind]
    pauses[-1] = 0  # behind the last step a stop has its own settling
    later = _later(shot, walk, steps)
    lead_in = (walk.lead_in_poses or 0) if walk.start == "standing" else 0
    settle = (walk.settle_poses or 0) if walk.stop != "walking" else 0
    longer = np.diff(later, prepend=0)
    if (poses + longer < 2).any():
        step = int(np.argmax(poses + longer < 2)) + 1
        raise ModelError("edit.footfall", f"at least 2 poses left of step {step}", "fewer", "Retime it by less.")
    land = lead_in + np.cumsum(poses + longer) + np.cumsum(pauses) - pauses
    start = np.concatenate(([lead_in], land[:-1] + pauses[:-1]))
    # groups of legs that follow the first one come to rest later than it
    behind = max(group.delay for group in groups_of(shot.puppet, walk)) if walk.stop != "walking" else 0
    total = int(land[-1]) + behind + settle + 1
    if total > 100_001:
        raise ModelError("walk.steps", "a walk of at most 100000 poses", f"{steps} steps, {total} poses")
    return LaidOut(walk, kinds, kind, start, land, frames, lead_in, settle, total)


def _refuse_on_the_spot(shot: Shot) -> None:
    """A floor that moves back under the feet is straight and goes on as it is."""
    key, cure = "walk.on_the_spot", "Take the path or the floor out, or let the puppet walk over the floor."
    if shot.path and not track_of(shot.path, shot.stage.start_mm).straight:
        raise ModelError(key, "a straight track", "a [[path]] that turns", cure)
    floor = shot.floor
    if floor.heights_mm or floor.stairs or floor.plank or floor.kerb:
        raise ModelError(key, "a floor that is flat or a plain slope", "[floor] with heights or edges", cure)


def _kinds(shot: Shot, walk: Walk, steps: int) -> tuple[tuple[Walk, ...], Whole, Whole]:
    """The settled walks of single steps, and which each step has; and each step's frames per pose."""
    frames = np.full(steps, shot.frames_per_pose, dtype=np.int64)
    ends: dict[int, dict[str, Any]] = {}
    if walk.step_mm and walk.start == "standing":
        ends[0] = {"step_mm": walk.step_mm * (walk.first_step or 1.0)}
    if walk.step_mm and walk.stop != "walking":
        closing = walk.stop == "standing"
        longest = steps - 1 - (1 if closing else 0)
        if longest >= 0 and longest not in ends:
            ends[longest] = {"step_mm": walk.step_mm * (walk.last_step or 1.0)}
        if closing:
            ends[steps - 1] = {"step_mm": 0.0, "heel_strike_deg": 0.0, "flat_after_poses": 0}
    if shot.puppet.arms:  # arms swing less in shorter steps, and hang when the feet are together
        for values in ends.values():
            values["arm_swing_deg"] = (walk.arm_swing_deg or 0.0) * values["step_mm"] / (walk.step_mm or 1.0)
    if not shot.step_changes and not ends:
        return (walk,), np.zeros(steps, dtype=np.int64), frames
    changed: dict[int, dict[str, Any]] = {}
    said: dict[int, str] = {}
    legs = shot.puppet.leg_names
    first = legs.index(walk.first_foot) if walk.first_foot in legs else 0
    turn = stepping_turns(legs, first, steps)
    for change in sorted(shot.step_changes, key=_how_special):
        numbers = change.numbers
        if numbers is None and change.which not in legs:
            raise ModelError(
                f"step.{change.which}",
                "a step's number, a range such as 3-5, or a leg: " + ", ".join(legs),
                change.which,
            )
        if numbers is not None and numbers[1] > steps:
            raise ModelError(f"step.{change.which}", f"steps from 1 to {steps}", change.which)
        which = (
            [k for k in range(steps) if legs[turn[k]] == change.which]
            if numbers is None
            else range(numbers[0] - 1, numbers[1])
        )
        for step in which:
            values = dict(change.values)
            if "frames_per_pose" in values:
                frames[step] = values.pop("frames_per_pose")
            changed.setdefault(step, {}).update(values)
            said[step] = change.which
    for step, values in ends.items():
        changed[step] = values | changed.get(step, {})
    # what follows from other values follows anew in a changed step; what the walk settled as a whole stays
    base = replace(shot.walk, steps=walk.steps, step_mm=walk.step_mm, distance_mm=None, first_foot=walk.first_foot)
    kinds = [walk]
    places: dict[tuple[tuple[str, Any], ...], int] = {}
    kind = np.zeros(steps, dtype=np.int64)
    for step, values in changed.items():
        key = tuple(sorted(values.items()))
        if key not in places:
            places[key] = len(kinds)
            kinds.append(_stepped(base, values, shot, said.get(step, str(step + 1))))
        kind[step] = places[key]
    return tuple(kinds), kind, frames


def stepping_turns(legs: tuple[str, ...], first: int, steps: int) -> list[int]:
    """Index of the leg whose step each of the walk's steps is: the legs of the first pair in turn (of all, if odd)."""
    group = len(legs) if len(legs) % 2 else 2
    at = first % group
    return [(at + k) % group for k in range(steps)]


def _how_special(change: Any) -> int:
    """Leg names first, then ranges by their length: a single step has the last word."""
    numbers = change.numbers
    return -1_000_000 if numbers is None else numbers[0] - numbers[1] - 1


def _stepped(walk: Walk, values: dict[str, Any], shot: Shot, said: str) -> Walk:
    own = {key: value for key, value in values.items() if "." not in key}
    hips = {key.partition(".")[2]: value for key, value in values.items() if "." in key}
    try:
        return with_defaults(replace(walk, **own, hips=replace(walk.hips, **hips)), shot.puppet, rise_of(shot, walk))
    except ModelError as error:
        key = error.key.replace("walk.", f"step.{said}.", 1)
        raise ModelError(key, error.expected, error.given, error.cure) from error


def _later(shot: Shot, walk: Walk, steps: int) -> Whole:
    """(N,) how many poses later than planned each step lands, by hand."""
    later = np.zeros(steps, dtype=np.int64)
    for edit in shot.edits.footfalls:
        if edit.step > steps:
            raise ModelError("edit.footfall.step", f"a step from -20 to {steps}", str(edit.step))
        if edit.later_poses:
            if edit.step < 1:
                raise ModelError("edit.footfall.later_poses", "a step from 1 on", str(edit.step))
            if edit.leg is not None and edit.leg not in groups_of(shot.puppet, walk)[0].puppet.leg_names:
                raise ModelError("edit.footfall.later_poses", "a leg of the hindmost pair, which sets the pace",
                                 repr(edit.leg))  # fmt: skip
            later[edit.step - 1] = edit.later_poses
    return later


def step_units(walk: Walk, steps: int) -> float:
    """How many step lengths the body travels in so many steps."""
    first = walk.first_step if walk.first_step is not None else 0.6
    last = walk.last_step if walk.last_step is not None else 0.6
    units = float(steps)
    if walk.start == "standing":
        units += first - 1.0 - 0.5  # the first foot steps from beside the other
    if walk.stop == "standing":
        units += last - 1.0 - 0.5  # its closing step brings no more than half a step
    elif walk.stop == "apart":
        units += 0.5 * (last - 1.0)
    return max(units, 0.1)


def _measured(shot: Shot) -> Walk:
    """The walk with steps and step length settled from the two that are given of them and the distance."""
    walk, stairs = shot.walk, shot.floor.stairs
    track = track_of(shot.path, shot.stage.start_mm)
    turns = track.spot_deg / turn_per_step_deg(walk, shot.puppet)  # steps that turns on the spot take
    step = walk.step_mm
    if step is None and stairs is not None:
        step = stairs.tread_mm if stairs.feet_per_tread == "one" else 0.5 * stairs.tread_mm
    distance = walk.distance_mm
    if distance is None and shot.path and (walk.steps is None or walk.step_mm is None):
        distance = track.length_mm
    if distance is None or (stairs is not None and walk.distance_mm is None and walk.steps is not None):
        return replace(walk, steps=walk.steps or DEFAULT_STEPS, step_mm=step)
    steps = walk.steps
    if steps is None:
        plain = step if step is not None else with_defaults(walk, shot.puppet).step_mm or 1.0
        steps = max(half_up(distance / max(plain, 0.1) + turns - _missing_units(walk)), 1)
    units = steps + _missing_units(walk) - turns
    if distance > 0 and units <= 0.05:
        raise ModelError("walk.steps", f"more steps than the {turns:.0f} that turns on the spot take", str(steps))
    return replace(walk, steps=steps, step_mm=distance / units if distance > 0 else step, distance_mm=None)


def rise_of(shot: Shot, walk: Walk) -> float:
    """How much higher a foot stands than the one behind it, in mm, up (lower: negative) a slope or from tread to tread;
    where both are, the one added to the other."""
    stairs = shot.floor.stairs
    riser = stairs.riser_mm if stairs is not None else 0.0
    return riser + math.tan(math.radians(shot.floor.slope_deg)) * (
        walk.step_mm or 0.5 * shot.puppet.legs[0].straight_mm
    )


def _missing_units(walk: Walk) -> float:
    """How many step lengths the body travels more in a walk than it has steps: less, where it stands at an end."""
    first, last = walk.first_step or FIRST_STEP, walk.last_step or LAST_STEP
    units = 0.0
    if walk.start == "standing":
        units += first - 1.5  # the first foot steps from beside the other
    if walk.stop == "standing":
        units += last - 1.5  # the closing step brings half of the one before it
    elif walk.stop == "apart":
        units += 0.5 * (last - 1.0)
    return units
