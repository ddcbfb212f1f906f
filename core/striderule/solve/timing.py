"""When: which pose belongs to which step, which leg swings, when feet land, lie flat, roll and lift off; frames and
key names."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ..model.defaults import down_pose, up_pose
from ..model.shot import Shot

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

KEYS = ("in-between", "down", "up", "passing", "contact")
"""What a pose is called; where two fall on one pose, the later of these."""


@dataclass(frozen=True, eq=False)
class Steps:
    """Every value of a walk, one entry a step (E,). The walk is taken to go on before and after the shot: `before`
    entries lie before pose 0, some behind the last pose. Step v swings leg[v]; it begins at the contact pose
    start[v].

    Each step is one swing and one stance: the foot lands at start[v] + poses[v] and stands until step v + legs.
    Values of one kind may differ from step to step; today's walks fill them evenly.
    """

    legs: int
    before: int
    leg: Whole
    start: Whole
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
    hip_contact_mm: Floats
    hip_down_mm: Floats
    hip_passing_mm: Floats
    hip_up_mm: Floats

    @cached_property
    def land(self) -> Whole:
        """(E,) pose at which the step's foot lands."""
        return self.start + self.poses

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


def steps_of(shot: Shot) -> Steps:
    """The steps of a shot's walk with every open value filled in."""
    walk = shot.settled_walk
    names = shot.puppet.leg_names
    legs = len(names)
    before = legs + 1
    total = walk.steps + before + 2 * legs + 1
    n, p = walk.poses_per_step, walk.passing_pose
    assert p is not None
    assert walk.first_foot is not None
    first = names.index(walk.first_foot)
    number = np.arange(total) - before

    def rows(*values: float | None) -> list[Floats]:
        """An even row (E,) for each value."""
        return list(np.repeat(np.array(values, dtype=float)[:, None], total, axis=1))

    poses, passing, lift_off, toe_roll, flat_after, down, up = np.repeat(
        np.array((n, p, walk.lift_off_poses, walk.toe_roll_poses, walk.flat_after_poses, down_pose(p), up_pose(n, p)),
                 dtype=np.int64)[:, None], total, axis=1)  # fmt: skip
    length, width, lift, lift_top, clearance, sway, counter = rows(
        walk.step_mm, walk.width_mm, walk.lift_mm, walk.lift_top, walk.clearance_mm, walk.sway, walk.chest_counter_turn
    )
    heel_off, strike, turn, drop, lean, toe_out = np.radians(rows(
        walk.heel_off_deg, walk.heel_strike_deg, walk.pelvis_turn_deg, walk.pelvis_drop_deg, walk.lean_deg,
        walk.toe_out_deg,
    ))  # fmt: skip
    hips = walk.hips
    contact_mm, down_mm, passing_mm, up_mm = rows(hips.contact_mm, hips.down_mm, hips.passing_mm, hips.up_mm)
    return Steps(
        legs=legs, before=before, leg=(first + number) % legs, start=number * n, poses=poses, passing=passing,
        lift_off=lift_off, toe_roll=toe_roll, flat_after=flat_after, down=down, up=up, length_mm=length, width_mm=width,
        heel_off_rad=heel_off, strike_rad=strike, lift_mm=lift, lift_top=lift_top, clearance_mm=clearance,
        heavy=np.full(total, walk.landing == "heavy"), sway=sway, turn_rad=turn, drop_rad=drop, lean_rad=lean,
        toe_out_rad=toe_out, chest_counter_turn=counter, hip_contact_mm=contact_mm, hip_down_mm=down_mm,
        hip_passing_mm=passing_mm, hip_up_mm=up_mm,
    )  # fmt: skip


def step_of_pose(steps: Steps, poses: int, shown: int) -> Whole:
    """(P,) index into Steps of the step that each pose belongs to; the last contact belongs to the last of `shown`
    steps."""
    index = np.searchsorted(steps.start, np.arange(poses), side="right") - 1
    return np.minimum(index, steps.before + shown - 1)


def key_names(steps: Steps, poses: int, shown: int) -> tuple[str, ...]:
    """contact, down, passing, up or in-between for each pose. Where keys fall on one pose passing comes before down
    and up."""
    shown_steps = slice(steps.before, steps.before + shown)
    start, n = steps.start[shown_steps], steps.poses[shown_steps]
    down, up, passing = steps.down[shown_steps], steps.up[shown_steps], steps.passing[shown_steps]
    key = np.zeros(poses, dtype=np.int8)  # index into KEYS: numbers fill an array much faster than words
    key[(start + down)[down < n]] = KEYS.index("down")
    key[(start + up)[up < n]] = KEYS.index("up")
    key[start + passing] = KEYS.index("passing")
    key[start] = KEYS.index("contact")
    key[poses - 1] = KEYS.index("contact")
    return tuple(np.array(KEYS, dtype=object)[key].tolist())


def frames(poses: int, frames_per_pose: int) -> tuple[Whole, Whole]:
    """First and last film frame of each pose, from 1. Shapes (P,), (P,)."""
    first = np.arange(poses, dtype=np.int64) * frames_per_pose + 1
    return first, first + frames_per_pose - 1
