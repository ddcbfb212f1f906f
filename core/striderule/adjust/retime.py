"""Another pace for a walk: poses a step by number, by seconds or by a beat, and everything that counts poses scaled
with them."""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import dataclass, replace
from fractions import Fraction

from ..errors import ModelError
from ..model.defaults import half_up
from ..model.shot import Shot
from .values import Change, Value, changes, spec_of, typed_values, value_of, with_values

SCALED = ("passing_pose", "lift_off_poses", "toe_roll_poses", "flat_after_poses")
"""Values of a walk that count poses of a step, beside `poses_per_step` itself."""

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
    exact: what the scaled ones would be without rounding, by key. follows: old -> new of what is open and goes along.
    """

    shot: Shot
    choices: tuple[Choice, ...]
    finer: Choice | None
    changed: tuple[Change, ...]
    exact: dict[str, float]
    follows: tuple[Change, ...]

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
    exact = {
        key: float(value_of(shot.walk, key)) * poses / shot.walk.poses_per_step
        for key in SCALED
        if key in kept and value_of(shot.walk, key) is not None
    }
    values: dict[str, Value] = {"poses_per_step": poses, **_scaled(shot, poses, exact)}
    new = replace(shot, walk=with_values(shot.walk, values))
    settled, was = new.settled_walk, shot.settled_walk
    follows = tuple(
        Change(key, value_of(was, key), value_of(settled, key))
        for key in SCALED
        if key not in values and value_of(was, key) != value_of(settled, key)
    )
    pose_s = shot.frames_per_pose / float(shot.rate)
    choice = Choice(poses, shot.frames_per_pose, poses * pose_s, 0.0, poses * pose_s)
    return Retimed(new, (choice,), None, changes(shot, values), exact, follows)


def _scaled(shot: Shot, poses: int, exact: dict[str, float]) -> dict[str, Value]:
    """The scaled values, rounded so that they fit each other. What was there at all (a roll, a landing on the heel)
    keeps a pose; a foot lifts off before it passes, and lies flat before it rolls."""
    values = {key: half_up(value) for key, value in exact.items()}
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
