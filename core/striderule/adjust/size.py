"""The size that a character should seem to have, and what it asks of its steps: a leg swings as a pendulum, so a large
one takes longer."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from ..model.defaults import half_up
from ..model.shot import Shot
from ..solve import solve

G = 9.80665
PERSON_HIP_M, PERSON_STEP_S = 0.9, 0.5
"""A person of this hip height takes this long for a plain step (common practice, no source)."""

RUNS_ABOVE = 0.5
"""Froude number above which creatures run (Alexander, from memory)."""

FEW_POSES = 4
"""Poses that a step needs to show contact, down, passing and up."""


@dataclass(frozen=True)
class Pace:
    """One timing of the walk at the character's size. poses: a step, step_s: its seconds, speed_m_s: the character's,
    froude: v^2 / (g h)."""

    poses: int
    step_s: float
    speed_m_s: float
    froude: float

    @property
    def is_run(self) -> bool:
        return self.froude > RUNS_ABOVE


@dataclass(frozen=True)
class Sized:
    """hip_m: of the character; puppet_hip_mm: the plan's mean hip line. exact_poses: the pendulum rule's, before
    rounding; suggested, planned: the rule's whole poses and the shot's own. warnings: sentences for a person."""

    hip_m: float
    puppet_hip_mm: float
    exact_poses: float
    suggested: Pace
    planned: Pace
    warnings: tuple[str, ...]


def pendulum_step_s(hip_m: float) -> float:
    """Seconds a plain step takes: .5 s sqrt(h / .9 m), from the period of a pendulum, 2 pi sqrt(l / g). hip_m > 0."""
    return PERSON_STEP_S * math.sqrt(hip_m / PERSON_HIP_M)


def pendulum_poses(hip_m: float, rate: Fraction | float, frames_per_pose: int = 1) -> float:
    """Poses a plain step takes at this many frames a second, not rounded: 9 m at 12 fps on ones: 18.97."""
    return pendulum_step_s(hip_m) * float(rate) / frames_per_pose


def froude_number(speed_m_s: float, hip_m: float) -> float:
    """v^2 / (g h), without unit; 1 = the body would leave the floor at the top of a straight leg's arc."""
    return speed_m_s**2 / (G * hip_m)


def sized(shot: Shot, hip_m: float) -> Sized:
    """What the walk is at the size that the character should seem to have.

    hip_m: height of the character's hips, m, above 0. Its step is the puppet's, grown as its hips are. Raises
    ModelError where typed values contradict each other.
    """
    plan = solve(shot)
    puppet_hip_mm = float(np.mean(plan.hip_line_mm))
    step_m = float(shot.settled_walk.step_mm or 0.0) * hip_m / puppet_hip_mm
    exact = pendulum_poses(hip_m, shot.rate, shot.frames_per_pose)
    pose_s = shot.frames_per_pose / float(shot.rate)

    def pace(poses: int) -> Pace:
        speed = step_m / (poses * pose_s)
        return Pace(poses, poses * pose_s, speed, froude_number(speed, hip_m))

    suggested, planned = pace(max(2, half_up(exact))), pace(shot.walk.poses_per_step)
    return Sized(hip_m, puppet_hip_mm, exact, suggested, planned, _warnings(shot, exact, suggested, planned))


def _warnings(shot: Shot, exact: float, suggested: Pace, planned: Pace) -> tuple[str, ...]:
    """A run is told of by its number and by what would make a walk of it: shorter steps, or more poses."""
    told: list[str] = []
    paces = {one.poses: one for one in (suggested, planned)}
    for pace in paces.values():
        if pace.is_run:
            share = math.sqrt(RUNS_ABOVE / pace.froude)
            most = math.floor(10.0 * float(shot.settled_walk.step_mm or 0.0) * share) / 10.0
            told.append(
                f"{pace.poses} poses a step would be a run: Froude number {pace.froude:.2f}, walks stay below "
                f"{RUNS_ABOVE:g}. A walk: step_mm at most {most:g}, or {math.ceil(pace.poses / share)} poses a step."
            )
    if exact < FEW_POSES:
        finer = " on ones" if shot.frames_per_pose > 1 else " with more frames a second"
        told.append(
            f"{exact:.1f} poses are too few to show contact, down, passing and up: so small a character scurries. "
            f"Shoot it{finer}, or let it seem larger."
        )
    return tuple(told)
