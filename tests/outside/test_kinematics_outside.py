"""Our chain of joints against MuJoCo's forward kinematics: hinges in the order and signs that DEVELOPERS.md gives.

MuJoCo (Apache-2.0) turns its own quaternions and knows nothing of our closed forms. Lengths go in as millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import mujoco
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from striderule.model.puppet import Leg, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import solve
from striderule.solve.arms import arm_places
from striderule.solve.feet import FootTurn
from striderule.solve.legs import leg_measures, reach
from striderule.solve.rotations import angles_from_axes, trunk_axes, turned_by

WEIGHT = '<inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/>'


def hinge(axis: tuple[int, int, int]) -> str:
    return f'<joint type="hinge" axis="{axis[0]} {axis[1]} {axis[2]}"/>'


def place(point: tuple[float, float, float]) -> str:
    return " ".join(repr(float(one)) for one in point)


def leg_xml(leg: Leg) -> str:
    """hip_out, hip_swing, knee, hock of a third bone, and ankle as hinges, one in the other."""
    last = -(leg.shank_mm if leg.cannon_mm is None else leg.cannon_mm)
    foot = f'<body name="{leg.name}_foot" pos="{place((0, 0, last))}">{WEIGHT}{hinge((0, -1, 0))}</body>'
    if leg.cannon_mm is not None:
        hock = f"{WEIGHT}{hinge((0, -leg.knee_side, 0))}"
        foot = f'<body name="{leg.name}_cannon" pos="{place((0, 0, -leg.shank_mm))}">{hock}{foot}</body>'
    return f"""
    <body name="{leg.name}_thigh" pos="{place(leg.hip_mm)}">{WEIGHT}
      {hinge((leg.outward_side, 0, 0))}{hinge((0, -1, 0))}
      <body name="{leg.name}_shank" pos="{place((0, 0, -leg.thigh_mm))}">{WEIGHT}{hinge((0, leg.knee_side, 0))}
        {foot}
      </body>
    </body>"""


def sole_xml(leg: Leg) -> str:
    """A foot of its own: heading, pitch, and the toe's bend at the ball; hung where the ankle is."""
    heel, ball = (-leg.heel_behind_mm, 0, -leg.ankle_up_mm), (leg.ball_ahead_mm, 0, -leg.ankle_up_mm)
    turn = hinge((0, 0, 1)) + hinge((0, -1, 0))
    return f"""
    <body name="{leg.name}_sole">{WEIGHT}{turn}
      <site name="{leg.name}_heel" pos="{place(heel)}"/>
      <body name="{leg.name}_ball" pos="{place(ball)}">{WEIGHT}{hinge((0, -1, 0))}
        <site name="{leg.name}_toe" pos="{place((leg.toe_mm, 0, 0))}"/>
      </body>
    </body>"""


def chest_xml(puppet: Puppet) -> str:
    """The chest, turned, leaned and tilted at the waist, with the legs that hang on it."""
    waist = puppet.body.waist_mm
    legs = [replace(leg, hip_mm=tuple(a - b for a, b in zip(leg.hip_mm, waist, strict=True)))
            for leg in puppet.legs if leg.part == "chest"]  # fmt: skip
    turns = hinge((0, 0, 1)) + hinge((0, 1, 0)) + hinge((1, 0, 0))
    return f'<body name="chest" pos="{place(waist)}">{WEIGHT}{turns}{"".join(leg_xml(leg) for leg in legs)}</body>'


def model_of(inside: str, slides: bool) -> tuple[mujoco.MjModel, mujoco.MjData]:
    moves = "".join(f'<joint type="slide" axis="{axis}"/>' for axis in ("1 0 0", "0 1 0", "0 0 1")) if slides else ""
    turns = hinge((0, 0, 1)) + hinge((0, 1, 0)) + hinge((1, 0, 0)) if slides else ""
    body = f'<body name="trunk">{WEIGHT}{moves}{turns}{inside}</body>' if slides else inside
    xml = f'<mujoco><compiler angle="radian"/><worldbody>{body}</worldbody></mujoco>'
    model = mujoco.MjModel.from_xml_string(xml)
    return model, mujoco.MjData(model)


def posed(puppet: Puppet, joints: np.ndarray) -> Iterator[mujoco.MjData]:
    """MuJoCo's data for each row: body x, y, z, yaw, pitch, roll, then out, swing, knee, (hock,) ankle of each leg,
    before the first leg on a chest its turn, lean and tilt."""
    inside = "".join(leg_xml(leg) for leg in puppet.legs if leg.part == "body")
    model, data = model_of(inside + (chest_xml(puppet) if puppet.bends else ""), slides=True)
    assert model.nq == joints.shape[1]
    for row in joints:
        data.qpos[:] = row
        mujoco.mj_kinematics(model, data)
        yield data


def joints_of(puppet: Puppet, out, swing, knee, hock, ankle, waist=None) -> np.ndarray:
    """(P, joints) of all legs (L, P) in MuJoCo's order; a leg of two bones has no hock. waist (3, P): of a spine that
    bends; legs on the chest are the last."""
    rows = []
    for i, leg in enumerate(puppet.legs):
        if leg.part == "chest" and waist is not None:
            rows, waist = [*rows, *waist], None
        rows += [out[i], swing[i], knee[i], *(() if leg.cannon_mm is None else (hock[i],)), ankle[i]]
    return np.stack(rows, axis=1)


@pytest.fixture(params=["lamplighter", "heron", "tapir"])
def shot(request):
    return load_shot(starter_paths()[request.param])


def test_a_foot_reached_at_random_is_where_mujoco_puts_it_within_1e_9_mm(shot):
    """2,000 random trunks and feet: knees, ankles, the way the sole's upright leans in the leg's plane."""
    random = np.random.default_rng(1976)
    poses, puppet = 2000, replace(shot.puppet, legs=tuple(replace(leg, part="body") for leg in shot.puppet.legs))
    legs = leg_measures(puppet)
    body = random.uniform(-300, 300, (poses, 3))
    angles = random.uniform((-np.pi, -0.6, -0.6), (np.pi, 0.6, 0.6), (poses, 3))
    axes = trunk_axes(*angles.T)
    longest = np.array([[leg.bones_mm] for leg in puppet.legs])
    shortest = np.array([[leg.folded_mm] for leg in puppet.legs])
    distance = shortest + (longest - shortest) * random.uniform(0.02, 0.999, (len(puppet.legs), poses))
    forward, aside = random.uniform(-1.2, 1.2, distance.shape), random.uniform(-0.7, 0.7, distance.shape)
    below = np.stack((np.sin(forward), np.cos(forward) * np.sin(aside), -np.cos(forward) * np.cos(aside))) * distance
    ankle = np.einsum("pij,jlp->ilp", axes, legs.hip_mm + below) + body.T[:, None]
    heading = angles[:, 0] + random.uniform(-0.5, 0.5, distance.shape)
    pitch = random.uniform(-0.7, 0.4, distance.shape)
    ours = reach(legs, body, axes, ankle, FootTurn.of(heading, pitch))
    np.testing.assert_array_equal(ours.gap_mm, 0)

    joints = np.concatenate((body, angles, joints_of(puppet, ours.out_rad, ours.swing_rad, ours.knee_rad,
                                                    ours.hock_rad, ours.ankle_rad)), axis=1)  # fmt: skip
    upright = np.stack((-np.sin(pitch) * np.cos(heading), -np.sin(pitch) * np.sin(heading), np.cos(pitch)))
    off, lean = 0.0, 0.0
    for k, data in enumerate(posed(puppet, joints)):
        off = max(off, np.abs(data.body("trunk").xmat.reshape(3, 3) - axes[k]).max())
        for i, leg in enumerate(puppet.legs):
            off = max(off, np.abs(data.body(f"{leg.name}_thigh").xpos - ours.hip_mm[:, i, k]).max())
            off = max(off, np.abs(data.body(f"{leg.name}_shank").xpos - ours.knee_mm[:, i, k]).max())
            off = max(off, np.abs(data.body(f"{leg.name}_foot").xpos - ankle[:, i, k]).max())
            if leg.cannon_mm is not None:
                off = max(off, np.abs(data.body(f"{leg.name}_cannon").xpos - ours.hock_mm[:, i, k]).max())
            foot = data.body(f"{leg.name}_foot").xmat.reshape(3, 3)
            lean = max(lean, abs(foot[:, 0] @ upright[:, i, k]))
            assert foot[:, 2] @ upright[:, i, k] > 0
    assert off < 1e-9
    assert lean < 1e-12


def test_every_pose_of_a_starters_walk_is_where_mujoco_puts_it_within_1e_9_mm(shot):
    """The plan's printed quantities, in degrees: trunk, hip, knee and ankle of every leg."""
    shot = replace(shot, walk=replace(shot.walk, toe_out_deg=6.0))
    plan = solve(shot)
    joints = joints_of(shot.puppet, plan.hip_out_deg.T, plan.hip_swing_deg.T, plan.knee_deg.T, plan.hock_deg.T,
                       plan.ankle_deg.T, plan.upper.waist_deg.T if shot.puppet.bends else None)  # fmt: skip
    angles = np.radians(np.concatenate((plan.body_deg, joints), axis=1))
    off = 0.0
    for k, data in enumerate(posed(shot.puppet, np.concatenate((plan.body_mm, angles), axis=1))):
        for i, leg in enumerate(plan.legs):
            off = max(off, np.abs(data.body(f"{leg}_thigh").xpos - plan.hip_mm[k, i]).max())
            off = max(off, np.abs(data.body(f"{leg}_shank").xpos - plan.knee_mm[k, i]).max())
            off = max(off, np.abs(data.body(f"{leg}_foot").xpos - plan.ankle_mm[k, i]).max())
            thigh = data.body(f"{leg}_thigh").xmat.reshape(3, 3)
            off = max(off, np.abs(thigh - plan.thigh_axes[k, i]).max())
            shank = data.body(f"{leg}_shank").xmat.reshape(3, 3)
            off = max(off, np.abs(shank - plan.shank_axes[k, i]).max())
            if shot.puppet.legs[i].cannon_mm is not None:
                off = max(off, np.abs(data.body(f"{leg}_cannon").xpos - plan.hock_mm[k, i]).max())
                cannon = data.body(f"{leg}_cannon").xmat.reshape(3, 3)
                off = max(off, np.abs(cannon - plan.cannon_axes[k, i]).max())
    assert off < 1e-9


def test_heel_ball_and_toe_of_a_starters_walk_are_where_mujoco_puts_them_within_1e_9_mm(shot):
    shot = replace(shot, walk=replace(shot.walk, toe_out_deg=6.0))
    plan = solve(shot)
    model, data = model_of("".join(sole_xml(leg) for leg in shot.puppet.legs), slides=False)
    per_leg = np.stack((plan.foot_heading_deg, plan.foot_pitch_deg, plan.toe_deg), axis=-1)
    off = 0.0
    for k, row in enumerate(np.radians(per_leg.reshape(plan.poses, -1))):
        data.qpos[:] = row
        mujoco.mj_kinematics(model, data)
        for i, leg in enumerate(plan.legs):
            for found, ours in (
                (data.site(f"{leg}_heel").xpos, plan.heel_mm),
                (data.body(f"{leg}_ball").xpos, plan.ball_mm),
                (data.site(f"{leg}_toe").xpos, plan.toe_mm),
            ):
                off = max(off, np.abs(found + plan.ankle_mm[k, i] - ours[k, i]).max())
    assert np.any(plan.toe_deg > 20)
    assert off < 1e-9


def test_arms_at_random_are_where_mujoco_puts_them_within_1e_9_mm():
    """Shoulder as hinges out and swing, elbow as a hinge, on a chest that MuJoCo turns by yaw, pitch and roll."""
    random = np.random.default_rng(9)
    poses = 1000
    for arm in load_shot(starter_paths()["lamplighter"]).puppet.arms:
        xml = f"""
        <body name="upper" pos="{place(arm.shoulder_mm)}">{WEIGHT}
          {hinge((arm.outward_side, 0, 0))}{hinge((0, -1, 0))}
          <body name="fore" pos="{place((0, 0, -arm.upper_mm))}">{WEIGHT}{hinge((0, -arm.bend_side, 0))}
            <site name="hand" pos="{place((0, 0, -arm.fore_mm - arm.hand_mm))}"/>
          </body>
        </body>"""
        model, data = model_of(xml, slides=True)
        body, turn = random.uniform(-300, 300, (poses, 3)), random.uniform(-1, 1, (poses, 3))
        angles = random.uniform((-60, -30, 0), (150, 120, 140), (poses, 3))
        axes = trunk_axes(*turn.T)
        ours = arm_places(arm, angles, body + axes @ np.array(arm.shoulder_mm), axes)
        joints = np.column_stack((body, turn, np.radians(angles[:, [1, 0, 2]])))
        off = 0.0
        for k, row in enumerate(joints):
            data.qpos[:] = row
            mujoco.mj_kinematics(model, data)
            off = max(off, np.abs(data.site("hand").xpos - ours.hand_mm[k]).max())
            off = max(off, np.abs(data.body("fore").xpos - ours.elbow_mm[k]).max())
            off = max(off, np.abs(data.body("fore").xmat.reshape(3, 3) - ours.fore_axes[k]).max())
        assert off < 1e-9


def test_rotation_vectors_and_angles_out_of_axes_are_those_of_scipy():
    """scipy.spatial.transform.Rotation (BSD-3), intrinsic Z-Y'-X'' and rotation vectors, 5,000 at random."""
    random = np.random.default_rng(4)
    vectors = random.uniform(-1.8, 1.8, (5000, 3))
    np.testing.assert_allclose(turned_by(vectors), Rotation.from_rotvec(vectors).as_matrix(), atol=1e-12)
    axes = Rotation.random(5000, random_state=7).as_matrix()
    np.testing.assert_allclose(angles_from_axes(axes), Rotation.from_matrix(axes).as_euler("ZYX"), atol=1e-8)
