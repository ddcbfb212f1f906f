"""Chest, head and arms: signs against hand-made matrices, limits, a level top, arms opposite to the legs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.check import findings_of
from striderule.errors import ModelError
from striderule.model.path import PathPiece
from striderule.model.puppet import Body
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.step_change import StepChange
from striderule.model.upper import Arm, ArmLimits, Loose
from striderule.model.walk import Walk
from striderule.solve import solve
from striderule.solve.arms import arm_places
from striderule.solve.plan import Plan
from striderule.solve.rotations import angles_from_axes, trunk_axes
from striderule.solve.upper import Asked, Upper

LIMITS = ("waist", "neck")


def starter(name: str, **walk) -> Shot:
    shot = load_shot(starter_paths()[name])
    return replace(shot, walk=replace(shot.walk, **walk))


def with_body(shot: Shot, **values) -> Shot:
    return replace(shot, puppet=replace(shot.puppet, body=replace(shot.puppet.body, **values)))


def codes(plan: Plan) -> list[str]:
    return [one.code for one in findings_of(plan, with_cures=False)]


def turned_about(axis: str, degrees: float) -> np.ndarray:
    """A turn about one stage axis, written out by hand."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return {
        "x": np.array([(1, 0, 0), (0, c, -s), (0, s, c)]),
        "y": np.array([(c, 0, s), (0, 1, 0), (-s, 0, c)]),
        "z": np.array([(c, -s, 0), (s, c, 0), (0, 0, 1)]),
    }[axis]


# signs


@pytest.mark.parametrize(("index", "axis"), [(0, "z"), (1, "y"), (2, "x")])
def test_the_waist_s_turn_lean_and_tilt_are_turns_about_the_body_s_up_left_and_forward_axes(index, axis):
    """A body that is turned against a level chest by 10 degrees needs a joint of -10."""
    body = np.zeros((1, 3))
    body[0, index] = 10.0
    upper = Upper(Body(), np.zeros((1, 3)), body, turned_about(axis, 10.0)[None], np.zeros(1),
                  Asked(np.zeros(1), level=np.ones(1)))  # fmt: skip
    expected = np.zeros(3)
    expected[index] = -10.0
    np.testing.assert_allclose(upper.waist_deg[0], expected, atol=1e-9)
    np.testing.assert_allclose(turned_about(axis, 10.0) @ turned_about(axis, -10.0), upper.chest_axes[0], atol=1e-12)


def test_angles_from_axes_is_the_inverse_of_trunk_axes():
    angles = np.random.default_rng(5).uniform(-1.4, 1.4, (500, 3))
    np.testing.assert_allclose(angles_from_axes(trunk_axes(*angles.T)), angles, atol=1e-9)


def an_arm(name: str = "left_arm", across: float = 20.0, **values) -> Arm:
    return Arm(name, (0.0, across, 60.0), 30.0, 25.0, **values)


@pytest.mark.parametrize("across", [20.0, -20.0])
def test_an_arm_swings_forward_goes_out_and_bends_its_hand_forward(across):
    arm, shoulder, level = an_arm(across=across), np.zeros((1, 3)), np.eye(3)[None]
    forward = arm_places(arm, np.array([(90.0, 0.0, 0.0)]), shoulder, level)
    np.testing.assert_allclose(forward.wrist_mm, [(55.0, 0.0, 0.0)], atol=1e-9)
    out = arm_places(arm, np.array([(0.0, 90.0, 0.0)]), shoulder, level)
    np.testing.assert_allclose(out.wrist_mm, [(0.0, 55.0 * np.sign(across), 0.0)], atol=1e-9)
    bent = arm_places(arm, np.array([(0.0, 0.0, 90.0)]), shoulder, level)
    np.testing.assert_allclose(bent.elbow_mm, [(0.0, 0.0, -30.0)], atol=1e-9)
    np.testing.assert_allclose(bent.wrist_mm, [(25.0, 0.0, -30.0)], atol=1e-9)
    np.testing.assert_allclose(bent.fore_axes[0], turned_about("y", -90.0), atol=1e-12)
    back = arm_places(replace(arm, elbow="forward"), np.array([(0.0, 0.0, 90.0)]), shoulder, level)
    np.testing.assert_allclose(back.wrist_mm, [(-25.0, 0.0, -30.0)], atol=1e-9)


def test_an_arm_keeps_its_lengths_in_every_pose():
    plan = solve(starter("lamplighter"))
    for arm, had in zip(plan.shot.puppet.arms, plan.arms, strict=True):
        for a, b, length in ((had.shoulder_mm, had.elbow_mm, arm.upper_mm), (had.elbow_mm, had.wrist_mm, arm.fore_mm),
                             (had.wrist_mm, had.hand_mm, arm.hand_mm)):  # fmt: skip
            np.testing.assert_allclose(np.linalg.norm(a - b, axis=1), length, atol=1e-9)


def test_shapes_on_an_arm_turn_with_it():
    plan = solve(starter("lamplighter"))
    arm, had = plan.shot.puppet.arms[0], plan.arms[0]
    hand = np.array(arm.elbow_mm) - (0.0, 0.0, arm.fore_mm + arm.hand_mm)
    np.testing.assert_allclose(plan.on_part("arm.left_arm.fore", hand), had.hand_mm, atol=1e-9)
    np.testing.assert_allclose(plan.on_part("arm.left_arm.upper", np.array(arm.elbow_mm)), had.elbow_mm, atol=1e-9)


# a level top


@pytest.mark.parametrize("name", ["lamplighter", "heron"])
def test_a_level_top_is_level_and_looks_along_the_track_where_the_waist_allows_it(name):
    plan = solve(starter(name, top="level"))
    assert not [code for code in codes(plan) if code == "waist-past-stop"]
    np.testing.assert_allclose(plan.chest_deg[:, 1:], 0.0, atol=1e-9)
    np.testing.assert_allclose(plan.chest_deg[:, 0], plan.heading_deg, atol=1e-9)
    np.testing.assert_allclose(plan.chest_axes[:, :, 2], np.broadcast_to((0.0, 0.0, 1.0), (plan.poses, 3)), atol=1e-9)
    again = plan.body_axes @ trunk_axes(*np.radians(plan.upper.waist_deg).T)
    np.testing.assert_allclose(again, plan.chest_axes, atol=1e-9)
    assert np.ptp(plan.upper.waist_deg, axis=0).min() > 0.2, "the waist really works against the pelvis"


def test_the_chest_that_turns_is_level_sideways_and_its_waist_is_told_as_well():
    plan = solve(starter("lamplighter"))
    again = plan.body_axes @ trunk_axes(*np.radians(plan.upper.waist_deg).T)
    np.testing.assert_allclose(again, plan.chest_axes, atol=1e-12)
    np.testing.assert_array_equal(plan.chest_deg[:, 2], 0.0)


def test_a_waist_stays_inside_its_limits_and_what_it_cannot_take_is_told_with_its_size():
    shot = with_body(starter("lamplighter", top="level"), waist_tilt_deg=(-2.0, 2.0))
    plan, free = solve(shot), solve(starter("lamplighter", top="level"))
    waist = plan.upper.waist_deg
    assert waist[:, 2].min() >= -2.0 - 1e-12
    assert waist[:, 2].max() <= 2.0 + 1e-12
    missing = np.abs(free.upper.waist_deg[:, 2]).max() - 2.0
    found = [one for one in findings_of(plan, with_cures=False) if one.code == "waist-past-stop"]
    assert len(found) == 2, "to its left and to its right"
    assert max(one.number for one in found) == pytest.approx(missing, abs=1e-9)
    assert "tilted too far" in found[0].text
    easy = np.abs(free.upper.waist_deg[:, 2]) <= 2.0
    np.testing.assert_allclose(plan.chest_deg[easy], free.chest_deg[easy], atol=1e-9)
    over = ~easy
    again = plan.body_axes @ trunk_axes(*np.radians(waist).T)
    np.testing.assert_allclose(again, plan.chest_axes, atol=1e-9)
    assert np.abs(plan.chest_deg[over, 2]).min() > 0, "the chest takes what is left"
    assert solve(with_body(shot, waist_tilt_deg=None)).chest_deg.tolist() == free.chest_deg.tolist()


def test_a_waist_that_cannot_move_makes_body_and_chest_one():
    stiff = (0.0, 0.0)
    shot = with_body(starter("lamplighter"), waist_turn_deg=stiff, waist_lean_deg=stiff, waist_tilt_deg=stiff)
    plan = solve(shot)
    np.testing.assert_allclose(plan.chest_axes, plan.body_axes, atol=1e-9)


def test_one_step_alone_may_be_level_and_the_change_is_spread_over_a_step():
    shot = replace(starter("lamplighter"), step_changes=(StepChange("3", (("top", "level"),)),))
    plan, plain = solve(shot), solve(starter("lamplighter"))
    assert plan.asked.level is not None
    np.testing.assert_allclose(plan.asked.level[:19:6], (0, 0, 1, 0))
    np.testing.assert_allclose(plan.chest_deg[12], (0, 0, 0), atol=1e-9)
    np.testing.assert_allclose(plan.chest_deg[:6], plain.chest_deg[:6], atol=1e-9)
    np.testing.assert_allclose(plan.knee_mm, plain.knee_mm, atol=1e-9)


def test_on_a_curve_chest_and_head_look_along_the_track_with_and_without_limits():
    curve = (PathPiece(turn_deg=270.0, radius_mm=300.0),)
    shot = replace(starter("lamplighter", top="level", steps=None), path=curve)
    tight = with_body(shot, waist_turn_deg=(-1.0, 1.0), neck_turn_deg=(-40.0, 40.0))
    plan, short = solve(shot), solve(tight)
    np.testing.assert_allclose(plan.chest_deg[:, 0], plan.heading_deg, atol=1e-9)
    assert np.abs(short.chest_deg[:, 0] - short.heading_deg).max() < 6
    assert short.heading_deg.max() > 260
    np.testing.assert_allclose(short.head_deg, plan.head_deg, atol=1e-9)


# head


def test_a_head_looks_ahead_or_goes_along_with_the_chest_by_a_share():
    steady, half, whole = (solve(starter("lamplighter", head_follows=share)) for share in (0.0, 0.5, 1.0))
    np.testing.assert_array_equal(steady.head_deg, np.zeros((steady.poses, 3)))
    np.testing.assert_allclose(half.head_deg, 0.5 * half.chest_deg, atol=1e-9)
    np.testing.assert_allclose(whole.head_axes, whole.chest_axes, atol=1e-9)
    np.testing.assert_allclose(whole.upper.neck_deg, 0.0, atol=1e-9)


def test_a_head_nods_down_as_the_hips_sink_and_up_as_they_rise():
    plan = solve(starter("lamplighter", head_nod_deg=5.0))
    keys = np.array(plan.keys)
    np.testing.assert_allclose(plan.head_deg[keys == "down", 1], 5.0, atol=1e-9)
    np.testing.assert_allclose(plan.head_deg[keys == "up", 1], -5.0, atol=1e-9)
    assert np.abs(plan.head_deg[:, 1]).max() <= 5.0 + 1e-9
    ahead = turned_about("y", 5.0) @ (1.0, 0.0, 0.0)
    assert ahead[2] < 0
    np.testing.assert_allclose(plan.head_axes[list(plan.keys).index("down"), :, 0], ahead, atol=1e-9)


def test_a_neck_at_its_stop_is_told():
    plan = solve(with_body(starter("lamplighter", head_nod_deg=12.0), neck_lean_deg=(-4.0, 4.0)))
    assert plan.upper.neck_deg[:, 1].max() == pytest.approx(4.0)
    assert codes(plan).count("neck-past-stop") == 2
    assert "arm-past-stop" not in codes(plan)


# arms


def fine(shot: Shot, times: int) -> Shot:
    """The same walk with every pose divided into `times`."""
    walk = shot.settled_walk
    return replace(shot, walk=replace(
        shot.walk, steps=8, poses_per_step=walk.poses_per_step * times, passing_pose=walk.passing_pose * times,
        lift_off_poses=walk.lift_off_poses * times, toe_roll_poses=walk.toe_roll_poses * times,
        flat_after_poses=walk.flat_after_poses * times,
    ))  # fmt: skip


def lag(signal: np.ndarray, reference: np.ndarray, most: int) -> int:
    """By how many poses `signal` is later than `reference`, by the greatest cross-correlation; both repeat."""
    signal, reference = signal - signal.mean(), reference - reference.mean()
    shifts = range(-most, most + 1)
    return max(shifts, key=lambda k: float(signal @ np.roll(reference, k)))


@pytest.mark.parametrize(("arm", "opposite"), [(0, 1), (1, 0)])
@pytest.mark.parametrize("late", [0.0, 0.05, 0.1])
def test_arms_go_with_the_foot_of_the_other_side_late_by_the_share_that_was_asked(arm, opposite, late):
    """Common practice, no source: 0-.1 of a step late. The foot ahead of the hip says where its leg is."""
    times = 20
    plan = solve(fine(starter("lamplighter", arm_late=late), times))
    n = 6 * times
    stride = slice(2 * n, 4 * n)  # a whole stride
    legs = [plan.ankle_mm[stride, leg, 0] - plan.hip_mm[stride, leg, 0] for leg in (0, 1)]
    swing = plan.arm_angles.deg[stride, arm, 0]
    contact = np.cos(np.pi * np.arange(2 * n) / n) * (1 if legs[opposite][0] > 0 else -1)
    assert lag(swing, contact, n) == pytest.approx(late * n, abs=1)
    assert np.corrcoef(swing, legs[opposite])[0, 1] > 0.8, "with the other side's leg"
    assert np.corrcoef(swing, legs[arm])[0, 1] < -0.8, "against its own side's"


def test_both_arms_swing_as_far_as_asked_about_their_rest_and_the_forward_one_bends_more():
    shot = starter("lamplighter", arm_late=0.0, arm_swing_deg=20.0, elbow_swing_deg=10.0)
    arms = tuple(replace(arm, swings=1.0) for arm in shot.puppet.arms)
    plan = solve(replace(shot, puppet=replace(shot.puppet, arms=arms)))
    for k, arm in enumerate(arms):
        swing, out, elbow = plan.arm_angles.deg[:, k].T
        contacts = slice(0, plan.poses, 6)
        assert set(np.round(np.abs(swing[contacts] - arm.rest_swing_deg), 9)) == {20.0}
        assert np.abs(swing - arm.rest_swing_deg).max() == pytest.approx(20.0)
        np.testing.assert_allclose(out, arm.rest_out_deg)
        forward = swing[contacts] > arm.rest_swing_deg
        np.testing.assert_allclose(elbow[contacts][forward], arm.rest_elbow_deg + 10.0)
        np.testing.assert_allclose(elbow[contacts][~forward], arm.rest_elbow_deg)
    np.testing.assert_allclose(plan.arm_angles.deg[:, 0, 0] - arms[0].rest_swing_deg,
                               -(plan.arm_angles.deg[:, 1, 0] - arms[1].rest_swing_deg), atol=1e-9)  # fmt: skip


def limited(shot: Shot, **limits) -> Shot:
    arms = tuple(replace(arm, limits=replace(arm.limits, **limits)) for arm in shot.puppet.arms)
    return replace(shot, puppet=replace(shot.puppet, arms=arms))


def test_an_arm_asked_past_its_stop_goes_there_smoothly_and_it_is_told():
    shot = limited(starter("lamplighter", arm_swing_deg=40.0), swing_deg=(-30.0, 18.0))
    plan = solve(shot)
    swing = plan.arm_angles.deg[:, 0, 0]
    assert swing.max() <= 18.0 + 1e-9
    assert swing.min() >= -30.0 - 1e-9
    found = [one for one in findings_of(plan, with_cures=False) if one.code == "arm-past-stop"]
    assert {one.joint for one in found} == {"left_arm"}
    asked = plan.arm_angles.asked_deg[:, 0, 0]
    assert max(one.number for one in found) == pytest.approx(max(asked.max() - 18.0, -30.0 - asked.min()))
    bend = np.abs(np.diff(np.diff(swing)))
    assert bend.max() < 12, "no corner at the stop"
    assert (np.abs(np.diff(swing))[6:12] > 0.05).all(), "and no plateau: a smaller swing"
    assert not [code for code in codes(solve(starter("lamplighter"))) if code == "arm-past-stop"]


def test_limits_are_kept_in_any_walk_where_no_finding_says_otherwise():
    """Seeded: 150 walks with random limits. Where nothing is told the angles are those asked for."""
    rng = np.random.default_rng(12)
    told = 0
    for _ in range(150):
        walk = {
            "arm_swing_deg": rng.uniform(0, 60), "arm_late": rng.uniform(0, 0.5), "arm_out_deg": rng.uniform(-20, 40),
            "elbow_swing_deg": rng.uniform(0, 60), "elbow_bend_deg": rng.uniform(-20, 40),
            "head_nod_deg": rng.uniform(0, 20), "top": str(rng.choice(["turning", "level"])),
            "poses_per_step": int(rng.integers(4, 13)), "passing_pose": None, "toe_roll_poses": None,
            "flat_after_poses": None, "start": str(rng.choice(["walking", "standing"])),
            "stop": str(rng.choice(["walking", "standing", "apart"])),
        }  # fmt: skip
        shot = limited(
            starter("lamplighter", **walk),
            swing_deg=(-rng.uniform(17, 60), rng.uniform(1, 60)),
            out_deg=(-5.0, rng.uniform(6, 60)),
            elbow_deg=(rng.uniform(0, 12), rng.uniform(105, 140)),
        )
        turns = {f"{joint}_{key}_deg": (-rng.uniform(0, 8), rng.uniform(0, 8))
                 for joint in LIMITS for key in ("turn", "lean", "tilt")}  # fmt: skip
        plan = solve(with_body(shot, **turns))
        said = codes(plan)
        for a, arm in enumerate(plan.shot.puppet.arms):
            for j, key in enumerate(("swing", "out", "elbow")):
                least, most = getattr(arm.limits, f"{key}_deg")
                had = plan.arm_angles.deg[:, a, j]
                assert least - 1e-9 <= had.min() <= had.max() <= most + 1e-9
        for joint in LIMITS:
            had = getattr(plan.upper, f"{joint}_deg")
            for i, (least, most) in enumerate(plan.shot.puppet.body.limits_deg(joint)):
                assert least - 1e-9 <= had[:, i].min() <= had[:, i].max() <= most + 1e-9
            if f"{joint}-past-stop" not in said:
                np.testing.assert_allclose(had, getattr(plan.upper, f"{joint}_asked_deg"), atol=0.02)
        if "arm-past-stop" not in said:
            np.testing.assert_allclose(plan.arm_angles.deg, plan.arm_angles.asked_deg, atol=0.02)
        told += bool({"arm-past-stop", "waist-past-stop", "neck-past-stop"} & set(said))
        assert np.isfinite(plan.chest_axes).all()
        assert np.isfinite(plan.head_axes).all()
    assert told > 20


def test_a_straight_even_walk_repeats_in_every_stride():
    plan = solve(starter("lamplighter", steps=12, head_follows=0.4, head_nod_deg=3.0))
    for values in (plan.chest_deg, plan.head_deg, plan.upper.waist_deg, plan.arm_angles.deg):
        np.testing.assert_allclose(values[12:], values[:-12], atol=1e-9)
    step = plan.reference_mm[12] - plan.reference_mm[0]
    for had in plan.arms:
        np.testing.assert_allclose(had.hand_mm[12:], had.hand_mm[:-12] + step, atol=1e-6)


def test_standing_arms_hang_at_rest_and_a_stop_settles_in_halving_moves_above_the_hand_limit():
    shot = starter("lamplighter", start="standing", stop="standing", steps=6, settle_poses=5, overshoot=0.1)
    plan = solve(shot)
    land = int(shot.laid_out.land[-1])
    for k, arm in enumerate(shot.puppet.arms):
        swing, out, elbow = plan.arm_angles.deg[:, k].T
        rest = (arm.rest_swing_deg, arm.rest_out_deg, arm.rest_elbow_deg)
        np.testing.assert_allclose((swing[0], out[0], elbow[0]), rest, atol=1e-9)
        np.testing.assert_allclose((swing[-1], out[-1], elbow[-1]), rest, atol=1e-9)
        moves = np.abs(np.diff(swing[land:]))
        real = moves[moves > 1e-9]
        np.testing.assert_allclose(real[1:], 0.5 * real[:-1], atol=1e-9)
        assert (real >= 1.0 - 1e-9).all()
    assert np.abs(np.diff(plan.arm_angles.deg[land:, 0, 0])).sum() > 1


def test_shorter_first_and_last_steps_swing_the_arms_less_and_typed_ones_as_typed():
    shot = starter("lamplighter", start="standing", first_step=0.5, arm_late=0.0, steps=6)
    typed = replace(shot, step_changes=(StepChange("1", (("arm_swing_deg", 30.0),)),))
    contact = int(shot.laid_out.land[0])
    for one, swing in ((shot, 0.8 * 10.0), (typed, 0.8 * 30.0)):
        had = solve(one).arm_angles.deg[contact, 0, 0] - one.puppet.arms[0].rest_swing_deg
        assert abs(had) == pytest.approx(swing)


def test_everything_of_the_upper_body_may_be_said_for_one_step():
    keys = ("top", "head_follows", "head_nod_deg", "arm_swing_deg", "arm_late", "arm_out_deg", "elbow_swing_deg",
            "elbow_bend_deg", "chest_counter_turn")  # fmt: skip
    plain = solve(starter("lamplighter"))
    for key in keys:
        value = {"top": "level"}.get(key, 0.3 if key in ("arm_late", "head_follows") else 2.0 if key ==
                 "chest_counter_turn" else 12.0)  # fmt: skip
        plan = solve(replace(starter("lamplighter"), step_changes=(StepChange("4", ((key, value),)),)))
        changed = [np.abs(a - b).max(axis=tuple(range(1, a.ndim))) > 1e-9
                   for a, b in ((plan.chest_deg, plain.chest_deg), (plan.head_deg, plain.head_deg),
                                (plan.arm_angles.deg, plain.arm_angles.deg))]  # fmt: skip
        where = np.flatnonzero(np.any(changed, axis=0))
        assert len(where), key
        assert where.min() > 6, key  # a curve bends a step ahead of its key
        assert where.max() <= 30, key
        np.testing.assert_allclose(plan.knee_mm, plain.knee_mm, atol=1e-9)


def test_a_puppet_without_arms_has_none_of_it_and_its_walk_no_arm_swing():
    shot = starter("heron")
    plan = solve(shot)
    assert plan.arm_angles is None
    assert plan.arms == ()
    assert shot.settled_walk.arm_swing_deg == 0.0
    assert 15 <= starter("lamplighter").settled_walk.arm_swing_deg <= 25


# what is refused


@pytest.mark.parametrize(
    ("make", "expected"),
    [
        (
            lambda: an_arm(limits=ArmLimits(swing_deg=(10.0, 40.0))),
            r"arm\.left_arm\.rest_swing_deg: .*inside its limits",
        ),
        (lambda: Body(waist_tilt_deg=(2.0, 8.0)), r"body\.waist_tilt_deg: .*a range with 0"),
        (lambda: Loose("tail", (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)), r"loose\.tail\.end_mm: .*away from its joint"),
    ],
)
def test_values_that_contradict_each_other_are_refused(make, expected):
    with pytest.raises(ModelError, match=expected):
        make()


@pytest.mark.parametrize("name", ["left", "chest", "left_hip", "floor", "right_arm"])
def test_a_name_whose_columns_could_not_be_told_apart_is_refused(name):
    puppet = starter("lamplighter").puppet
    with pytest.raises(ModelError, match="a name that no other part has"):
        replace(puppet, arms=(replace(puppet.arms[0], name=name), puppet.arms[1]), loose=())


def test_a_walk_with_few_steps_of_a_puppet_with_arms_can_be_solved():
    puppet = starter("lamplighter").puppet
    for steps in (1, 2):
        for n in (2, 3, 6):
            plan = solve(Shot("x", puppet=puppet, walk=Walk(steps=steps, poses_per_step=n, head_nod_deg=3.0)))
            assert np.isfinite(plan.arm_angles.deg).all()
            assert np.isfinite(plan.loose[0].end_mm).all()
