"""Another pace for a walk: poses a step by number, by seconds or by a beat, and everything that counts poses scaled
with them."""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from ..errors import ModelError
from ..model.defaults import half_up
from ..model.edits import Edits, Hold
from ..model.shot import Shot
from ..model.step_change import StepChange
from ..model.walk import Walk
from .values import Change, Value, changes, spec_of, typed_values, value_of, with_values

SCALED = ("passing_pose", "lift_off_poses", "toe_roll_poses", "flat_after_poses")
"""Values of a walk that count poses of a step, beside `poses_per_step` itself; they must fit each other."""

WAITS = ("pause_poses", "lead_in_poses", "settle_poses")
"""Values that count poses before, between and after steps."""

LEAST_STEP_S, MOST_STEP_S = 0.001, 3600.0


@dataclass(frozen=True)
class Choice:
    """A step of whole poses near the one asked for. step_s: what it takes; off_s: how much longer than asked."""

    poses: int
    frames_per_pose: int
    step_s: float
    off_s: float
    asked_s: float

    @property
    def off_share(self) -> float:
        """How much longer than asked, as a share of what was asked."""
        return self.off_s / self.asked_s


@dataclass(frozen=True)
class Retimed:
    """choices: the nearest whole poses, best first, one where it is met exactly, else two. finer: as near as it gets
    with each pose held for fewer frames, where that is nearer. changed: old -> new of every value that is written;
    exact: what the scaled ones would be without rounding, by key. in_steps: the same of single steps, by whole key
    ("step.3.poses_per_step"). follows: old -> new of what is open and goes along. moved: how many holds and edits went
    along to other poses.
    """

    shot: Shot
    choices: tuple[Choice, ...]
    finer: Choice | None
    changed: tuple[Change, ...]
    exact: dict[str, float]
    in_steps: tuple[Change, ...]
    follows: tuple[Change, ...]
    moved: int

    @property
    def values(self) -> dict[str, Value]:
        """What is written, by key below [walk]."""
        return {change.key: change.new for change in self.changed}


def seconds_of_beat(beats_per_minute: float, steps_per_beat: float = 1.0) -> float:
    """Seconds a step takes where `steps_per_beat` steps go to a beat (0.5: a step every other beat). Both above 0."""
    return 60.0 / (beats_per_minute * steps_per_beat)


def choices_for(step_s: float, rate: Fraction, frames_per_pose: int = 1) -> tuple[Choice, ...]:
    """The whole poses a step nearest to `step_s` seconds, best first: one where it is met exactly, else the next below
    and the next above; at least 2 poses, at most 240.

    Raises ModelError where step_s is not from LEAST_STEP_S to MOST_STEP_S seconds.
    """
    if not LEAST_STEP_S <= step_s <= MOST_STEP_S:
        raise ModelError("retime", f"a step of {LEAST_STEP_S:g} to {MOST_STEP_S:g} seconds", f"{step_s:g}")
    spec = spec_of("poses_per_step")
    pose_s = frames_per_pose / float(rate)
    exact = step_s / pose_s
    whole = half_up(exact)
    near = (whole,) if abs(exact - whole) < 1e-9 else (math.floor(exact), math.ceil(exact))
    poses = sorted(
        {int(min(max(one, spec.least), spec.most)) for one in near}, key=lambda one: (abs(one - exact), -one)
    )
    return tuple(Choice(one, frames_per_pose, one * pose_s, one * pose_s - step_s, step_s) for one in poses)


def retimed_to_seconds(shot: Shot, step_s: float, typed: Set[str] | None = None) -> Retimed:
    """The shot at the whole poses nearest to steps of `step_s` seconds; it stays on ones, twos, as it is. typed: as
    `retimed`. Raises ModelError."""
    choices = choices_for(step_s, shot.rate, shot.frames_per_pose)
    others = [choices_for(step_s, shot.rate, held)[0] for held in range(1, shot.frames_per_pose)]
    finer = min(others, key=lambda one: (abs(one.off_s), -one.frames_per_pose), default=None)
    if finer is not None and abs(finer.off_s) >= abs(choices[0].off_s) - 1e-9:
        finer = None
    return replace(retimed(shot, choices[0].poses, typed), choices=choices, finer=finer)


def retimed(shot: Shot, poses: int, typed: Set[str] | None = None) -> Retimed:
    """The shot with `poses` poses a step. Values that count poses are scaled where they are typed, halves up, and kept
    valid; open ones go along by themselves.

    typed: keys below [walk] that a file holds, as `typed_walk_keys` reads them; None: whatever is not at its default.
    Raises ModelError where the walk cannot have so many poses.
    """
    kept = typed_values(shot.walk) if typed is None else typed
    share = poses / shot.walk.poses_per_step
    exact = {
        key: float(value_of(shot.walk, key)) * share
        for key in (*SCALED, *WAITS)
        if key in kept and value_of(shot.walk, key) is not None
    }
    bare = replace(shot, step_changes=(), holds=(), edits=Edits())
    values: dict[str, Value] = {"poses_per_step": poses, **_scaled(bare, poses, exact), **_waits(exact)}
    walk = with_values(shot.walk, values)
    later = tuple(
        replace(one, later_poses=half_up(one.later_poses * share)) if one.later_poses else one
        for one in shot.edits.footfalls
    )
    new = replace(bare, walk=walk, edits=Edits(later), step_changes=_steps(bare, walk, shot.step_changes, share))
    new, moved = _with_poses_moved(shot, new, share)
    settled, was = new.settled_walk, shot.settled_walk
    follows = tuple(
        Change(key, value_of(was, key), value_of(settled, key))
        for key in SCALED
        if key not in values and value_of(was, key) != value_of(settled, key)
    )
    in_steps = tuple(
        Change(f"step.{one.which}.{key}", next((v for k, v in old.values if k == key), value_of(was, key)), value)
        for old, one in zip(shot.step_changes, new.step_changes, strict=True)
        for key, value in one.values
        if (key, value) not in old.values
    )
    pose_s = shot.frames_per_pose / float(shot.rate)
    choice = Choice(poses, shot.frames_per_pose, poses * pose_s, 0.0, poses * pose_s)
    return Retimed(new, (choice,), None, changes(shot, values), exact, in_steps, follows, moved)


def _waits(exact: dict[str, float]) -> dict[str, Value]:
    """Pauses, lead-in and settling; what was there at all keeps a pose."""
    return {key: max(half_up(exact[key]), min(1, math.ceil(exact[key]))) for key in WAITS if key in exact}


def _steps(bare: Shot, walk: Walk, old: tuple[StepChange, ...], share: float) -> tuple[StepChange, ...]:
    """The changes of single steps, scaled as the walk is. bare: the shot before, without them; walk: the new one.

    Where the walk's own new values would not fit into a step of another number of poses, the step gets its own.
    """
    found: list[StepChange] = []
    for change in old:
        own = dict(change.values)
        exact = {key: float(own[key]) * share for key in (*SCALED, "pause_poses") if key in own}
        spec = spec_of("poses_per_step")
        poses = walk.poses_per_step
        if "poses_per_step" in own:
            poses = int(min(max(half_up(float(own["poses_per_step"]) * share), spec.least), spec.most))
        plain = {key: value for key, value in own.items() if key != "frames_per_pose"}
        step = replace(bare, walk=with_values(bare.walk, plain))
        scaled: dict[str, Value] = {**_scaled(step, poses, exact), **_waits(exact)}
        if "poses_per_step" in own:
            scaled["poses_per_step"] = poses
        try:
            replace(bare, walk=with_values(walk, {**plain, **scaled}))
        except ModelError:
            every = {
                key: float(value_of(step.walk, key)) * share for key in SCALED if value_of(step.walk, key) is not None
            }
            scaled |= _scaled(step, poses, every)
        found.append(StepChange(change.which, tuple({**own, **scaled}.items())))
    return tuple(found)


def _with_poses_moved(old: Shot, new: Shot, share: float) -> tuple[Shot, int]:
    """`new` with the holds and edits of `old` at the poses that show the same moment, and how many those are."""
    before, after = old.laid_out, new.laid_out
    knots = [np.stack((one.start, one.land), axis=1).ravel() for one in (before, after)]
    ends = [np.concatenate(([0], knot, [one.poses - 1])) for knot, one in zip(knots, (before, after), strict=True)]

    def pose(number: int) -> int:
        return half_up(float(np.interp(number - 1, ends[0], ends[1]))) + 1

    held: dict[int, int] = {}
    for hold in old.holds:
        held[pose(hold.pose)] = max(hold.frames, held.get(pose(hold.pose), 0))
    body = tuple(replace(one, pose=pose(one.pose), over_poses=one.over_poses * share) for one in old.edits.body)
    up: tuple[float, ...] = ()
    if old.edits.hips_up_mm:
        heights = old.edits.hips_up_mm[: before.poses]
        last = pose(len(heights))
        at = np.interp(np.arange(last), ends[1], ends[0])
        up = tuple(np.round(np.interp(at, np.arange(len(heights)), heights), 4).tolist())
    edits = replace(new.edits, body=body, hips_up_mm=up)
    moved = len(old.holds) + len(body) + bool(up)
    return replace(new, holds=tuple(Hold(*one) for one in sorted(held.items())), edits=edits), moved


def _scaled(shot: Shot, poses: int, exact: dict[str, float]) -> dict[str, Value]:
    """The scaled values, rounded so that they fit each other. What was there at all (a roll, a landing on the heel)
    keeps a pose; a foot lifts off before it passes, and lies flat before it rolls."""
    values = {key: half_up(exact[key]) for key in SCALED if key in exact}
    for key in ("passing_pose", "toe_roll_poses", "flat_after_poses"):
        if exact.get(key, 0.0) > 0.0:
            values[key] = max(1, values[key])
    if "passing_pose" in values:
        values["passing_pose"] = min(max(values["passing_pose"], 1), poses - 1)
    open_walk = replace(shot.walk, poses_per_step=poses, **dict.fromkeys(SCALED))
    bare = replace(shot, walk=replace(open_walk, passing_pose=values.get("passing_pose")))
    passing = int(bare.settled_walk.passing_pose or 1)
    if "lift_off_poses" in values:
        values["lift_off_poses"] = min(values["lift_off_poses"], passing - 1)
    lift_off = values.get("lift_off_poses", int(bare.settled_walk.lift_off_poses or 0))
    standing = poses + lift_off
    rolls = values.get("toe_roll_poses", 0)
    if "flat_after_poses" in values:
        values["flat_after_poses"] = min(values["flat_after_poses"], standing - min(rolls, 1))
    flat = values.get("flat_after_poses", int(bare.settled_walk.flat_after_poses or 0))
    if "toe_roll_poses" in values:
        values["toe_roll_poses"] = min(rolls, standing - flat)
    return {key: values[key] for key in SCALED if key in values}
