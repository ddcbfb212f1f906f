"""Small hand-made plans for tests that need exact arrays, not a believable walk: fixtures that give functions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.model.puppet import Leg, Puppet
from striderule.model.shot import Shot
from striderule.model.walk import Walk
from striderule.solve.plan import Band, FootState, Plan, Stance

AIR, PLANTED = FootState.AIR, FootState.PLANTED


def _leg(name: str, across: float) -> Leg:
    return Leg(name=name, hip_mm=(0.0, across, 0.0), thigh_mm=56.4, shank_mm=56.6, ankle_up_mm=9.0, heel_behind_mm=9.0,
               ball_ahead_mm=16.0, toe_mm=10.0, sole_width_mm=12.7)


def _shot(steps: int = 2, poses_per_step: int = 6, names: tuple[str, ...] = ("left", "right"), **more) -> Shot:
    across = np.linspace(11.5, -11.5, len(names))
    puppet = Puppet("made", tuple(_leg(name, float(y)) for name, y in zip(names, across, strict=True)))
    return Shot("made", puppet=puppet, walk=Walk(steps=steps, poses_per_step=poses_per_step), **more)


def _plan(shot: Shot | None = None, **changes) -> Plan:
    """A quiet plan in which nothing is wrong: the body glides 10 mm a pose, one foot is always planted, all joints sit
    well inside their limits. `changes` replace arrays of the plan.
    """
    shot = shot or _shot()
    legs, poses, n = len(shot.puppet.legs), shot.poses, shot.walk.poses_per_step
    index = np.arange(poses)
    step = np.minimum(index // n, shot.walk.steps - 1)
    swing = step % legs
    state = np.where(np.arange(legs) == swing[:, None], int(AIR), int(PLANTED)).astype(np.int8)
    state[index % n == 0] = int(PLANTED)
    body = np.zeros((poses, 3))
    body[:, 0] = 10.0 * index
    body[:, 2] = 117.0
    across = np.array([leg.hip_mm[1] for leg in shot.puppet.legs])
    hip = body[:, None, :] + np.stack([np.zeros(legs), across, np.zeros(legs)], axis=1)
    ground = hip * [1.0, 1.0, 0.0]

    def at(ahead: float, up: float) -> np.ndarray:
        return ground + np.array([ahead, 0.0, up])

    axes = np.broadcast_to(np.eye(3), (poses, 3, 3)).copy()
    leg_axes = np.broadcast_to(np.eye(3), (poses, legs, 3, 3)).copy()
    zeros, leg_zeros = np.zeros((poses, 3)), np.zeros((poses, legs))
    hold = shot.frames_per_pose
    keys = tuple({0: "contact", 1: "down", 3: "passing", 4: "up"}.get(int(k) % n, "in-between") for k in index)
    band = Band(np.full(poses, 105.0), np.full(poses, 120.0), np.zeros(poses, np.int64), np.zeros(poses, np.int64),
                np.full(poses, 2), np.full(poses, 1))
    plan = Plan(
        shot=shot, first_frame=index * hold + 1, last_frame=(index + 1) * hold, step=step + 1, keys=keys,
        swing_leg=swing,
        body_mm=body, body_deg=zeros, chest_deg=zeros, head_deg=zeros, body_axes=axes, chest_axes=axes, head_axes=axes,
        waist_mm=body, neck_mm=body + np.array([0, 0, 60.0]), reference_mm=body.copy(),
        hip_line_mm=body[:, 2].copy(), state=state,
        stances=tuple(Stance(leg, 0, poses - 1, (0.0, float(across[leg]), 0.0), 0.0) for leg in range(legs)),
        foot_heading_deg=leg_zeros, foot_pitch_deg=leg_zeros, hip_mm=hip, knee_mm=at(10.0, 62.0), ankle_mm=at(0.0, 9.0),
        heel_mm=at(-9.0, 0.0), ball_mm=at(16.0, 0.0), toe_mm=at(26.0, 0.0), tie_mm=at(0.0, 0.0), foot_axes=leg_axes,
        toe_axes=leg_axes, thigh_axes=leg_axes, shank_axes=leg_axes, hip_swing_deg=leg_zeros, hip_out_deg=leg_zeros,
        knee_deg=leg_zeros + 20.0, ankle_deg=leg_zeros, toe_deg=leg_zeros, gap_mm=leg_zeros, band=band)
    return replace(plan, **changes)


@pytest.fixture
def made_shot():
    """A function that makes a shot: made_shot(steps=2, poses_per_step=6, names=(...), **fields of Shot)."""
    return _shot


@pytest.fixture
def made_plan():
    """A function that makes a plan of hand-made arrays: made_plan(shot=None, **arrays)."""
    return _plan
