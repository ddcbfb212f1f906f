"""The solve: exact facts on the starters and on random puppets and walks."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from striderule.errors import ModelError
from striderule.model.puppet import Leg, Limits, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips, Walk
from striderule.solve import FootState, solve
from striderule.solve.feet import FootTurn
from striderule.solve.legs import leg_measures, reach
from striderule.solve.plan import Plan
from striderule.solve.rotations import foot_axes, swung, tilted_out, trunk_axes

STARTERS = sorted(name for name in starter_paths() if load_shot(starter_paths()[name]))


def starter(name: str) -> Shot:
    return load_shot(starter_paths()[name])


def puppet(**changes: object) -> Puppet:
    """An invented biped; changes go to both legs."""
    left = Leg(
        **{
            "name": "left",
            "hip_mm": (0.0, 12.0, 0.0),
            "thigh_mm": 60.0,
            "shank_mm": 58.0,
            "ankle_up_mm": 10.0,
            "heel_behind_mm": 10.0,
            "ball_ahead_mm": 16.0,
            "toe_mm": 9.0,
            "sole_width_mm": 12.0,
            **changes,
        }
    )
    return Puppet("test", (left, left.mirrored("right")))


@st.composite
def shots(draw: st.DrawFn) -> Shot:
    """Random puppets and walks, sensible and odd ones."""
    number = lambda low, high: draw(st.floats(low, high, allow_nan=False))  # noqa: E731
    thigh, shank = number(20, 200), number(20, 200)
    one = puppet(
        thigh_mm=thigh,
        shank_mm=shank,
        knee=draw(st.sampled_from(["forward", "backward"])),
        ankle_up_mm=number(0, 30),
        heel_behind_mm=number(0, 30),
        ball_ahead_mm=number(1, 40),
        toe_mm=draw(st.sampled_from([0.0, 5.0, 25.0])),
        sole_width_mm=number(2, 40),
        hip_mm=(0.0, number(1, 40), number(-10, 10)),
    )
    one = replace(one, body=replace(one.body, reference_mm=(number(-40, 40), number(-20, 20), number(-20, 80))))
    n = draw(st.integers(2, 16))
    p = draw(st.integers(1, n - 1))
    lift_off = draw(st.integers(0, p - 1))
    walk = Walk(
        steps=draw(st.integers(1, 6)),
        poses_per_step=n,
        passing_pose=p,
        lift_off_poses=lift_off,
        step_mm=number(0, 0.9 * (thigh + shank)),
        width_mm=number(0, 90),
        first_foot=draw(st.sampled_from(["left", "right"])),
        heel_off_deg=number(0, 60),
        heel_strike_deg=draw(st.sampled_from([0.0, 5.0, 25.0])),
        lift_mm=number(0, 60),
        lift_top=number(0.1, 0.9),
        clearance_mm=number(0, 15),
        landing=draw(st.sampled_from(["soft", "heavy"])),
        sway=number(0, 1),
        pelvis_turn_deg=number(0, 12),
        pelvis_drop_deg=number(0, 8),
        lean_deg=number(-20, 30),
        toe_out_deg=number(-10, 25),
        hips=Hips(contact_mm=number(20, 420)) if draw(st.booleans()) else Hips(),
    )
    return Shot("random", puppet=one, walk=walk, frames_per_pose=draw(st.integers(1, 3)))


@pytest.mark.parametrize(
    ("leg", "hip", "knee_deg", "swing_deg", "ankle_deg", "knee_at"),
    [
        (
            Leg("left", (0.0, 0.0, 0.0), 100.0, 112.0, 18.0, 14.0, 28.0, "backward", 22.0),
            200.0,
            61.8,
            -32.8,
            -29.0,
            (-54.2, 116.0),
        ),
        (
            Leg("left", (0.0, 0.0, 0.0), 56.4, 56.6, 9.0, 9.0, 16.0, "forward", 10.0),
            119.5,
            24.1,
            12.1,
            12.1,
            (11.8, 64.4),
        ),
    ],
)
def test_the_check_legs_have_their_published_angles(
    leg: Leg, hip: float, knee_deg: float, swing_deg: float, ankle_deg: float, knee_at: tuple[float, float]
) -> None:
    """Heron and lamplighter standing square under their hip: worked out by hand with the cosine law (project's own
    table)."""
    legs = leg_measures(Puppet("one", (leg, leg.mirrored("right"))))
    body, axes = np.array([[0.0, 0.0, hip]]), np.eye(3)[None]
    ankle = np.zeros((3, 2, 1))
    ankle[2] = leg.ankle_up_mm
    flat = np.zeros((2, 1))
    solved = reach(legs, body, axes, ankle, FootTurn.of(flat, flat))
    assert math.degrees(solved.knee_rad[0, 0]) == pytest.approx(knee_deg, abs=0.05)
    assert math.degrees(solved.swing_rad[0, 0]) == pytest.approx(swing_deg, abs=0.05)
    assert math.degrees(solved.ankle_rad[0, 0]) == pytest.approx(ankle_deg, abs=0.06)
    assert solved.knee_mm[:, 0, 0] == pytest.approx((knee_at[0], 0.0, knee_at[1]), abs=0.05)


def test_each_sign_matches_a_matrix_written_by_hand() -> None:
    c, s = math.cos(0.3), math.sin(0.3)
    one, none = np.array(0.3), np.array(0.0)
    np.testing.assert_allclose(trunk_axes(one, none, none), [[c, -s, 0], [s, c, 0], [0, 0, 1]], atol=1e-15)  # left
    np.testing.assert_allclose(trunk_axes(none, one, none), [[c, 0, s], [0, 1, 0], [-s, 0, c]], atol=1e-15)  # forward
    np.testing.assert_allclose(trunk_axes(none, none, one), [[1, 0, 0], [0, c, -s], [0, s, c]], atol=1e-15)  # right
    np.testing.assert_allclose(foot_axes(none, one, none)[:, 0], [c, 0, s], atol=1e-15)  # toe up
    np.testing.assert_allclose(swung(np.eye(3), one) @ [0, 0, -1], [s, 0, -c], atol=1e-15)  # thigh forward
    np.testing.assert_allclose(tilted_out(np.eye(3), one) @ [0, 0, -1], [0, s, -c], atol=1e-15)  # toward the left
    mixed = trunk_axes(np.array(0.2), np.array(-0.4), np.array(0.7))
    by_hand = (
        trunk_axes(np.array(0.2), none, none)
        @ trunk_axes(none, np.array(-0.4), none)
        @ trunk_axes(none, none, np.array(0.7))
    )
    np.testing.assert_allclose(mixed, by_hand, atol=1e-15)


def assert_exact(plan: Plan) -> None:
    """The facts that hold for every plan, possible or not."""
    shot = plan.shot
    for field in fields(plan):
        value = getattr(plan, field.name)
        if isinstance(value, np.ndarray):
            assert np.isfinite(value).all(), field.name
    reached = plan.gap_mm == 0
    for i, leg in enumerate(shot.puppet.legs):
        thigh = np.linalg.norm(plan.knee_mm[:, i] - plan.hip_mm[:, i], axis=-1)
        shank = np.linalg.norm(plan.hock_mm[:, i] - plan.knee_mm[:, i], axis=-1)
        cannon = np.linalg.norm(plan.ankle_mm[:, i] - plan.hock_mm[:, i], axis=-1)
        np.testing.assert_allclose(thigh, leg.thigh_mm, atol=1e-9)
        np.testing.assert_allclose(shank, leg.shank_mm, atol=1e-9)
        np.testing.assert_allclose(cannon, leg.cannon_mm or 0.0, atol=1e-9)
        assert (plan.knee_deg[:, i] >= 0).all()
        for stance in plan.stances:
            if stance.leg != i:
                continue
            poses = np.arange(max(stance.first, 0), min(stance.last, plan.poses - 1) + 1)
            state = plan.state[poses, i]
            assert (state != FootState.AIR).all()
            for kind, stays in (
                (FootState.PLANTED, ("heel_mm", "ball_mm", "toe_mm")),
                (FootState.HEEL, ("heel_mm",)),
                (FootState.TOE, ("ball_mm", "toe_mm")),
            ):
                mine = poses[state == kind]
                for point in stays:
                    flat = flat_point(plan, stance.place_mm, stance.heading_deg, i, point)
                    np.testing.assert_allclose(
                        getattr(plan, point)[mine, i], np.broadcast_to(flat, (len(mine), 3)), atol=1e-9
                    )
    for point in ("heel_mm", "ball_mm", "toe_mm"):
        assert getattr(plan, point)[..., 2].min() > -1e-9, point
    assert (plan.state != FootState.AIR).any(axis=1).all()
    assert_forward_kinematics(plan, reached)


def flat_point(plan: Plan, place: tuple[float, float, float], heading_deg: float, leg: int, point: str) -> np.ndarray:
    measures = plan.shot.puppet.legs[leg]
    ahead = {
        "heel_mm": -measures.heel_behind_mm,
        "ball_mm": measures.ball_ahead_mm,
        "toe_mm": measures.ball_ahead_mm + measures.toe_mm,
    }[point]
    angle = math.radians(heading_deg)
    return np.array(place) + ahead * np.array([math.cos(angle), math.sin(angle), 0.0])


def assert_forward_kinematics(plan: Plan, reached: np.ndarray) -> None:
    """From body and joint angles alone, by plain matrices, the joints are met again; the ankle's angle is the
    sole's."""
    for i, leg in enumerate(plan.shot.puppet.legs):
        hip = plan.on_part(leg.part, np.array(leg.hip_mm))
        np.testing.assert_allclose(hip, plan.hip_mm[:, i], atol=1e-9)
        knee = hip - leg.thigh_mm * plan.thigh_axes[:, i, :, 2]
        hock = knee - leg.shank_mm * plan.shank_axes[:, i, :, 2]
        ankle = hock - (leg.cannon_mm or 0.0) * plan.cannon_axes[:, i, :, 2]
        np.testing.assert_allclose(knee, plan.knee_mm[:, i], atol=1e-9)
        np.testing.assert_allclose(ankle, plan.ankle_mm[:, i], atol=2e-8 if leg.straight_mm > 500 else 1e-9)
        sole_up = np.einsum("pji,pj->pi", plan.cannon_axes[:, i], plan.foot_axes[:, i, :, 2])
        sole_angle = -np.degrees(np.arctan2(sole_up[:, 0], sole_up[:, 2]))
        difference = (sole_angle - plan.ankle_deg[:, i] + 180.0) % 360.0 - 180.0
        np.testing.assert_allclose(difference, 0.0, atol=1e-7)
        foot = plan.ankle_mm[:, i] - leg.ankle_up_mm * plan.foot_axes[:, i, :, 2]
        ball = foot + leg.ball_ahead_mm * plan.foot_axes[:, i, :, 0]
        at = reached[:, i]
        np.testing.assert_allclose(ball[at], plan.ball_mm[at, i], atol=1e-9)
        np.testing.assert_allclose(
            foot[at] - leg.heel_behind_mm * plan.foot_axes[at, i, :, 0], plan.heel_mm[at, i], atol=1e-9
        )
        np.testing.assert_allclose(
            plan.ball_mm[:, i] + leg.toe_mm * plan.toe_axes[:, i, :, 0], plan.toe_mm[:, i], atol=1e-9
        )


@pytest.mark.parametrize("name", STARTERS)
def test_the_exact_facts_hold_on_every_starter(name: str) -> None:
    plan = solve(starter(name))
    assert_exact(plan)
    assert plan.gap_mm.max() == 0
    if plan.shot.repeats:
        moves = np.diff(plan.reference_mm[:, 0])
        np.testing.assert_allclose(moves, moves[0], atol=1e-9)


@settings(max_examples=150, deadline=None)
@given(shots())
def test_the_exact_facts_hold_on_random_puppets_and_walks(shot: Shot) -> None:
    plan = solve(shot)
    assert_exact(plan)
    moves = np.diff(plan.reference_mm[:, 0])
    np.testing.assert_allclose(moves, moves[0], atol=1e-9)
    band = plan.band
    fits = band.lowest_mm <= band.highest_mm
    assert np.isfinite(band.lowest_mm).all()
    assert np.isfinite(band.highest_mm[fits]).all()


@settings(max_examples=60, deadline=None)
@given(shots())
def test_a_left_first_walk_mirrors_a_right_first_one(shot: Shot) -> None:
    shot = replace(
        shot,
        puppet=replace(
            shot.puppet,
            body=replace(
                shot.puppet.body, reference_mm=(shot.puppet.body.reference_mm[0], 0.0, shot.puppet.body.reference_mm[2])
            ),
        ),
    )
    a = solve(replace(shot, walk=replace(shot.walk, first_foot="left")))
    b = solve(replace(shot, walk=replace(shot.walk, first_foot="right")))
    flip = np.array([1.0, -1.0, 1.0])
    for name in ("hip_mm", "knee_mm", "ankle_mm", "heel_mm", "ball_mm", "toe_mm"):
        np.testing.assert_allclose(getattr(a, name), getattr(b, name)[:, ::-1] * flip, atol=1e-9, err_msg=name)
    for name in ("knee_deg", "hip_swing_deg", "hip_out_deg", "ankle_deg", "toe_deg", "gap_mm", "state"):
        np.testing.assert_allclose(getattr(a, name), getattr(b, name)[:, ::-1], atol=1e-7, err_msg=name)
    np.testing.assert_allclose(a.reference_mm, b.reference_mm * flip, atol=1e-9)
    np.testing.assert_allclose(a.body_deg, b.body_deg * [-1, 1, -1], atol=1e-9)


@settings(max_examples=80, deadline=None)
@given(shots())
def test_the_free_ankle_is_level_with_the_standing_one_at_passing(shot: Shot) -> None:
    plan = solve(shot)
    reached = (plan.gap_mm == 0).all(axis=1)
    n, p = shot.walk.poses_per_step, shot.walk.passing_pose
    assert p is not None
    for step in range(len(shot.laid_out.kind)):
        pose = step * n + p
        if reached[pose]:
            assert abs(plan.ankle_mm[pose, 0, 0] - plan.ankle_mm[pose, 1, 0]) < 1e-6
            assert plan.keys[pose] == "passing"


def test_the_passing_pose_does_not_change_the_body_s_travel() -> None:
    shot = starter("lamplighter")
    early, late = (solve(replace(shot, walk=replace(shot.walk, passing_pose=p))) for p in (2, 5))
    np.testing.assert_allclose(early.reference_mm[:, 0], late.reference_mm[:, 0], atol=1e-12)


@settings(max_examples=60, deadline=None)
@given(shots())
def test_clearance_wins_over_lift(shot: Shot) -> None:
    plan = solve(shot)
    lowest = np.minimum(np.minimum(plan.heel_mm, plan.ball_mm), plan.toe_mm)[..., 2]
    n, lift_off = shot.walk.poses_per_step, shot.walk.lift_off_poses
    assert lift_off is not None
    for step in range(len(shot.laid_out.kind)):
        for pose in range(step * n + lift_off + 1, (step + 1) * n):
            share = (pose - step * n - lift_off) / (n - lift_off)
            if 0.1 <= share <= 0.9:
                assert lowest[pose, plan.swing_leg[pose]] >= shot.walk.clearance_mm - 1e-9


@pytest.mark.parametrize("width", [0.0, 8.0, 13.0, 17.0])
@pytest.mark.parametrize("toe_out", [-5.0, 0.0, 12.0])
def test_soles_that_pass_each_other_keep_their_gap(width: float, toe_out: float) -> None:
    """However narrow the walk, the swing bows outward; 1.5 mm is the gap between soles (common practice, no source)."""
    shot = starter("lamplighter")
    plan = solve(replace(shot, walk=replace(shot.walk, width_mm=width, toe_out_deg=toe_out)))
    corners = []
    for i, leg in enumerate(shot.puppet.legs):
        half = 0.5 * leg.sole_width_mm * plan.foot_axes[:, i, :2, 1]
        ends = (plan.heel_mm[:, i, :2], plan.toe_mm[:, i, :2])
        corners.append(np.stack([end + side * half for end in ends for side in (-1, 1)], axis=1))
    for pose in np.flatnonzero((plan.state == FootState.AIR).any(axis=1)):
        assert rectangle_gap(corners[0][pose], corners[1][pose]) >= 1.5 - 1e-6, pose


def rectangle_gap(a: np.ndarray, b: np.ndarray) -> float:
    """Distance between two convex quadrilaterals by the separating axis (a lower bound on the true distance)."""
    best = -math.inf
    for shape in (a[[0, 2, 3, 1]], b[[0, 2, 3, 1]]):
        for k in range(4):
            edge = shape[(k + 1) % 4] - shape[k]
            normal = np.array([edge[1], -edge[0]]) / np.hypot(*edge)
            pa, pb = a @ normal, b @ normal
            best = max(best, pb.min() - pa.max(), pa.min() - pb.max())
    return best


def test_an_unreachable_foot_gives_a_straight_leg_toward_it_and_the_gap() -> None:
    shot = starter("lamplighter")
    plan = solve(replace(shot, walk=replace(shot.walk, step_mm=160.0)))
    far = plan.gap_mm > 0
    assert far.any()
    assert_exact(plan)
    np.testing.assert_allclose(plan.knee_deg[far], 0.0, atol=1e-9)
    wanted = (
        plan.ball_mm
        - shot.puppet.legs[0].ball_ahead_mm * plan.foot_axes[..., 0]
        + shot.puppet.legs[0].ankle_up_mm * plan.foot_axes[..., 2]
    )
    np.testing.assert_allclose(np.linalg.norm(wanted - plan.ankle_mm, axis=-1)[far], plan.gap_mm[far], atol=1e-9)


def test_poses_and_frames_are_counted_as_the_trade_counts_them() -> None:
    """N steps of n poses = N n + 1 poses, the last contact included; on twos every pose holds two frames."""
    shot = replace(starter("heron"), frames_per_pose=2)
    plan = solve(shot)
    n = shot.walk.poses_per_step
    assert plan.poses == shot.walk.steps * n + 1
    assert plan.first_frame[:3].tolist() == [1, 3, 5]
    assert plan.last_frame[:3].tolist() == [2, 4, 6]
    assert plan.frames == 2 * plan.poses
    assert plan.step.tolist() == [min(k // n, shot.walk.steps - 1) + 1 for k in range(plan.poses)]
    assert [k for k, key in enumerate(plan.keys) if key == "contact"] == list(range(0, plan.poses, n))


@pytest.mark.parametrize(
    ("n", "p", "down", "up"), [(4, 2, 1, 3), (6, 3, 1, 4), (7, 4, 1, 5), (8, 4, 1, 5), (12, 9, 3, 10)]
)
def test_down_and_up_lie_where_drawn_walks_put_them(n: int, p: int, down: int, up: int) -> None:
    """Keys of drawn walks (common practice, no source)."""
    shot = starter("heron")
    plan = solve(replace(shot, walk=Walk(steps=2, poses_per_step=n, passing_pose=p)))
    assert plan.keys[:n].index("down") == down
    assert plan.keys[:n].index("up") == up
    assert plan.keys[:n].index("passing") == p
    assert np.argmin(plan.hip_line_mm[:n]) == down
    assert np.argmax(plan.hip_line_mm[:n]) == up


def test_the_first_foot_is_behind_at_pose_1_and_swings_first() -> None:
    for first in ("left", "right"):
        shot = starter("heron")
        plan = solve(replace(shot, walk=replace(shot.walk, first_foot=first)))
        i = plan.legs.index(first)
        assert plan.ankle_mm[0, i, 0] < plan.ankle_mm[0, 1 - i, 0]
        assert plan.swing_leg[0] == i


def test_more_legs_than_two_walk_one_after_the_other() -> None:
    base = puppet()
    fore = [replace(leg, name=f"fore_{leg.name}", hip_mm=(70.0, leg.hip_mm[1], 0.0)) for leg in base.legs]
    hind = [replace(leg, name=f"hind_{leg.name}") for leg in base.legs]
    shot = Shot("four", puppet=Puppet("four", (hind[0], fore[0], hind[1], fore[1])), walk=Walk(steps=8, step_mm=12.0))
    plan = solve(shot)
    assert_exact(plan)
    assert ((plan.state == FootState.AIR).sum(axis=1) <= 1).all()
    assert plan.gap_mm.max() == 0


def test_limits_by_ruler_are_the_same_as_by_angle() -> None:
    by_angle = puppet(limits=Limits(knee_deg=(8.0, 100.0)))
    spans = [math.sqrt(60**2 + 58**2 + 2 * 60 * 58 * math.cos(math.radians(bend))) for bend in (100.0, 8.0)]
    by_ruler = puppet(limits=Limits(hip_to_ankle_mm=(spans[0], spans[1])))
    assert by_ruler.legs[0].knee_range_deg == pytest.approx((8.0, 100.0), abs=1e-9)
    a, b = (solve(Shot("x", puppet=one)) for one in (by_angle, by_ruler))
    np.testing.assert_allclose(a.band.lowest_mm, b.band.lowest_mm, atol=1e-9)


def test_solve_is_a_pure_function_of_the_shot() -> None:
    shot = starter("heron")
    a, b = solve(shot), solve(starter("heron"))
    for field in fields(a):
        one, other = getattr(a, field.name), getattr(b, field.name)
        if isinstance(one, np.ndarray):
            assert np.array_equal(one, other)


@pytest.mark.parametrize(
    "typed",
    [
        {"poses_per_step": 6, "passing_pose": 6},
        {"poses_per_step": 6, "passing_pose": 3, "lift_off_poses": 3},
        {"steps": 20000, "poses_per_step": 240},
    ],
    ids=["passing after the step", "lift-off at passing", "too many poses"],
)
def test_a_walk_that_contradicts_itself_is_refused(typed: dict[str, int]) -> None:
    with pytest.raises(ModelError):
        Walk(**typed)


def test_a_foot_that_must_roll_before_it_is_flat_is_refused() -> None:
    with pytest.raises(ModelError, match="toe_roll_poses"):
        Shot("x", puppet=puppet(), walk=Walk(poses_per_step=6, toe_roll_poses=7, flat_after_poses=2))


@pytest.mark.parametrize("name", ["lamplighter", "heron"])
@pytest.mark.parametrize("n", [2, 3, 4, 8, 24, 48, 240])
@pytest.mark.parametrize("roll", [None, 1, 2])
@pytest.mark.parametrize("landing", ["soft", "heavy"])
def test_a_swing_stays_between_its_prints_whatever_the_timing(
    name: str, n: int, roll: int | None, landing: str
) -> None:
    """A short, fast toe roll in a long step must not throw the foot beyond its landing, backward or into the air."""
    shot = starter(name)
    for passing in sorted({1, max(1, n // 2), n - 1}):
        timing = {"steps": 3, "poses_per_step": n, "passing_pose": passing, "toe_roll_poses": roll if n > 2 else None}
        walk = replace(shot.walk, **timing, flat_after_poses=None, lift_off_poses=None, landing=landing)
        plan = solve(replace(shot, walk=walk))
        leg = plan.swing_leg[n]
        ankle = plan.ankle_mm[n : 2 * n + 1, leg]
        step = shot.walk.step_mm
        assert step is not None
        assert ankle[:, 0].max() <= ankle[-1, 0] + 0.02 * step
        assert np.diff(ankle[:, 0]).min() >= -0.05 * step / n
        assert ankle[:, 2].max() <= 1.6 * (shot.walk.lift_mm or 0.0) + shot.puppet.legs[leg].ankle_up_mm + 3.0
