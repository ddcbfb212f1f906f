"""What puppets weigh, what their joints carry, ties and rigs: numbers worked by hand, and what holds for any walk."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from striderule.check import findings_of
from striderule.check.weight.findings import weight_findings
from striderule.check.weight.load import CAUTION, weigh
from striderule.check.weight.masses import ARM, PERSON_SHARE, masses_of
from striderule.check.weight.stand import stand_of
from striderule.check.weight.support import hull, hull_margin
from striderule.check.weight.ties import ties_of
from striderule.errors import FileError, ModelError
from striderule.export.poses_csv import poses_csv_text
from striderule.export.weight_table import weight_csv, weight_text
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_puppet, load_shot, parse_puppet
from striderule.model.weight import GRAVITY, Holding, Pull, Rig, held_nmm, torque_nmm
from striderule.solve import solve
from striderule.solve.plan import FootState


def starter(name="heron", rig=None, **leg):
    """A starter with other values of its legs."""
    shot = load_shot(starter_paths()[name])
    legs = tuple(replace(one, **leg) for one in shot.puppet.legs)
    return replace(shot, rig=rig, puppet=replace(shot.puppet, legs=legs))


def at_the_hip(name, hip_mm, knee_nmm):
    """A starter that stands level over its foot with all it carries hung on the hip, as in a sum by hand."""
    shot = load_shot(starter_paths()[name])
    legs = tuple(
        replace(leg, thigh_g=0.0, hip_mm=(0.0, 0.0, 0.0), holding=Holding(knee_nmm=knee_nmm))
        for leg in shot.puppet.legs
    )
    leg = shot.puppet.legs[0]
    whole = masses_of(shot.puppet).total_g
    body = replace(shot.puppet.body, body_g=whole - 2 * (leg.shank_g + leg.foot_g), body_centre_mm=(0, 0, 0), chest_g=0,
                   head_g=0)  # fmt: skip
    puppet = replace(shot.puppet, legs=legs, body=body, arms=(), loose=(), shapes=())
    hips = replace(shot.walk.hips, contact_mm=hip_mm, down_mm=hip_mm, passing_mm=hip_mm, up_mm=hip_mm)
    walk = replace(shot.walk, hips=hips, lean_deg=0, pelvis_turn_deg=0, pelvis_drop_deg=0, sway=0, width_mm=0,
                   step_mm=0, steps=2, heel_off_deg=0, heel_strike_deg=0, lift_mm=0, clearance_mm=0,
                   toe_out_deg=0)  # fmt: skip
    return replace(shot, puppet=puppet, walk=walk)


# sums by hand


def test_a_torque_is_grams_at_a_distance():
    assert torque_nmm(400, 20) == pytest.approx(78.4532)  # 0.4 kg x 9.80665 x 20 mm


def test_a_hanging_test_counts_the_limb():
    pull = Pull("knee", 200, 80, 40, 60)
    assert pull.torque_nmm == pytest.approx(180.44, abs=0.01)
    assert replace(pull, limb_g=0).torque_nmm == pytest.approx(156.91, abs=0.01)


def test_a_joint_holds_the_lowest_of_its_pulls_unless_a_value_was_typed():
    pulls = (Pull("knee", 210, 80), Pull("knee", 200, 80), Pull("ankle", 90, 50))
    assert held_nmm(Holding(), pulls, "knee") == pytest.approx(torque_nmm(200, 80))
    assert held_nmm(Holding(knee_nmm=100), pulls, "knee") == 100
    assert held_nmm(Holding(), pulls, "toe") is None


@pytest.mark.parametrize(
    ("name", "hip_mm", "holds", "out_mm", "carried_g", "carries", "ratio"),
    [("heron", 200, 160, 54.2, 398, 211.6, 1.32), ("lamplighter", 119.5, 60, 11.8, 230, 26.6, 0.44)],
)
def test_a_knee_beside_the_hip_carries_what_a_sum_by_hand_says(name, hip_mm, holds, out_mm, carried_g, carries, ratio):
    """Grams over the knee x 9.80665 / 1000 x how far the knee is beside the hip."""
    shot = at_the_hip(name, hip_mm, holds)
    plan = solve(shot)
    weight = weigh(plan)
    leg = shot.puppet.legs[0]
    away = np.abs(plan.knee_mm[:, 0, 0] - plan.hip_mm[:, 0, 0])
    pose = int(np.argmin(np.abs(plan.ankle_mm[:, 0, 0] - plan.hip_mm[:, 0, 0])))
    assert away[pose] == pytest.approx(out_mm, abs=0.05)
    # the free leg's shank and foot are beside the hip as well: what they add or take is counted apart
    own = weight.parts.weight_n * 1000 / GRAVITY
    alone = np.zeros_like(weight.soles.down)
    alone[:, 0] = True
    beyond = weight.parts.of_leg(0, "shank", "foot")
    above = [k for k in range(len(own)) if k not in beyond]
    moment = float(own[above] @ (weight.parts.places_mm[pose, above, 0] - plan.knee_mm[pose, 0, 0])) * GRAVITY / 1000
    hanging = [k for k in above if weight.parts.masses.parts[k].leg == 1]
    of_hung = (
        float(own[hanging] @ (weight.parts.places_mm[pose, hanging, 0] - plan.hip_mm[pose, 0, 0])) * GRAVITY / 1000
    )
    assert own[above].sum() == pytest.approx(carried_g)
    assert abs(moment - of_hung) == pytest.approx(carries, abs=0.3)
    assert abs(moment - of_hung) / leg.held_nmm("knee") == pytest.approx(ratio, abs=0.005)


def test_the_rig_takes_what_the_knee_may_not_carry():
    """Knee 54.2 mm behind the hip under 398 g, holds 160, margin 1.5: (211.6 - 106.7) / 54.2 mm = 1.94 N = 197 g."""
    assert pytest.approx(197, abs=1) == (211.55 - 160 / 1.5) / 54.2 / GRAVITY * 1000
    plan = solve(load_shot(starter_paths()["heron"]))
    weight = weigh(plan)
    lift = weight.lift
    i = next(k for k, one in enumerate(weight.joints) if (one.leg, one.name) == (1, "knee"))
    pose = 3  # passing, on the right leg
    knee, hip = plan.knee_mm[pose, 1], lift.point_mm[pose]
    axis = plan.thigh_axes[pose, 1, :, 1]
    arm = abs(axis[1] * (hip[0] - knee[0]) - axis[0] * (hip[1] - knee[1]))
    left = abs(weight.torque_nmm[pose, i]) - lift.least_g[pose] * GRAVITY / 1000 * arm
    assert left == pytest.approx(160 / 1.5, rel=1e-9)


def test_a_screw_pulls_by_the_moment_over_its_distance_from_the_edge():
    """500 g 15 mm outside the sole's edge, the screw 20 mm inside it: 73.5 N mm, 3.7 N."""
    plan = solve(load_shot(starter_paths()["heron"]))
    weight = weigh(plan)
    pose = int(np.flatnonzero(weight.soles.down.sum(axis=1) == 1)[0])
    leg = int(np.flatnonzero(weight.soles.down[pose])[0])
    ways, reach = weight.soles.ways[pose, leg], weight.soles.reach[pose, leg]
    centre = weight.parts.centre_mm[pose, :2]
    standing = replace(weight.standing, tie_mm=weight.standing.tie_mm.copy())
    front = 2
    across = ways[1]
    middle = weight.soles.corners[pose, leg].mean(axis=0)
    edge = middle + ways[front] * (reach[front] - middle @ ways[front])
    standing.tie_mm[pose, leg] = edge - 20 * ways[front]
    newtons = 0.5 * GRAVITY
    place = edge + 15 * ways[front] - centre
    push = np.zeros((plan.poses, 2, 3))
    push[pose, leg] = newtons, newtons * place[0], newtons * place[1]
    assert standing.tips_nmm(push)[pose, leg].max() == pytest.approx(73.55, abs=0.01)
    assert standing.pull_needed_n(push)[pose, leg] == pytest.approx(3.68, abs=0.01)
    assert abs(across @ ways[front]) < 1e-9


def test_winters_table_closes_to_one():
    legs = 2 * (PERSON_SHARE["foot"] + PERSON_SHARE["shank"] + PERSON_SHARE["thigh"])
    arms = 2 * sum(PERSON_SHARE[part] for part in ARM)
    trunk = PERSON_SHARE["body"] + PERSON_SHARE["chest"] + PERSON_SHARE["head"]
    assert legs + arms + trunk == pytest.approx(1.0)
    assert trunk == pytest.approx(0.578)  # trunk, head and neck of the same table
    assert legs / 2 == pytest.approx(0.161)


# masses


def unweighed(name, **body):
    shot = load_shot(starter_paths()[name])
    legs = tuple(replace(leg, thigh_g=None, shank_g=None, foot_g=None) for leg in shot.puppet.legs)
    arms = tuple(replace(arm, upper_g=None, fore_g=None, hand_g=None) for arm in shot.puppet.arms)
    loose = tuple(replace(one, mass_g=None) for one in shot.puppet.loose)
    given = {"body_g": None, "chest_g": None, "head_g": None} | body
    return replace(shot.puppet, legs=legs, arms=arms, loose=loose, body=replace(shot.puppet.body, **given))


@pytest.mark.parametrize("how", ["person", "volume"])
def test_a_whole_puppets_mass_is_shared_among_parts_that_were_not_weighed(how):
    masses = masses_of(unweighed("lamplighter", total_g=250, total_by=how, head_g=30))
    assert masses.total_g == pytest.approx(250)
    head = next(one for one in masses.parts if one.part == "head")
    assert (head.grams, head.how) == (30, "weighed")
    assert {one.how for one in masses.shared} == ({"person"} if how == "person" else {one.how for one in masses.shared})
    if how == "person":
        grams = {one.key: one.grams for one in masses.parts}
        assert grams["leg.left.thigh_g"] / grams["leg.left.foot_g"] == pytest.approx(0.100 / 0.0145)


def test_an_arm_without_a_mass_was_weighed_with_its_chest():
    masses = masses_of(unweighed("lamplighter", body_g=30, chest_g=102, head_g=30))
    assert {one.how for one in masses.parts if one.part.startswith(("arm", "loose"))} == {"carrier"}


def test_parts_heavier_than_the_whole_are_refused():
    with pytest.raises(ModelError, match="at least 60 g, what the weighed parts are together"):
        unweighed("lamplighter", body_g=30, head_g=30, total_g=50)


def test_pulls_and_holding_are_read_mirrored_and_written():
    text = dump_puppet(unweighed("heron")) + (
        "\n[leg.left.holding]\nhip_nmm = 200\n[[leg.left.pull]]\njoint = 'knee'\nhung_g = 200\nat_mm = 80\n"
        "[leg.right.holding]\nankle_nmm = 90\n[[leg.right.pull]]\njoint = 'hip'\nhung_g = 100\nat_mm = 100\n"
    )
    start = text.index("[leg.left.holding]")
    text = text[:start] + text[text.index("\n\n", start) + 2 :]  # the starter's own
    puppet = parse_puppet(text, "x")
    left, right = puppet.legs
    assert left.held_nmm("hip") == 200
    assert left.held_nmm("knee") == right.held_nmm("knee") == pytest.approx(torque_nmm(200, 80))
    assert right.held_nmm("hip") == pytest.approx(torque_nmm(100, 100)), "its own pull goes before its twin's value"
    assert (left.held_nmm("ankle"), right.held_nmm("ankle")) == (None, 90)
    assert parse_puppet(dump_puppet(puppet), "y") == puppet


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("joint = 'elbow'\nhung_g = 1\nat_mm = 1", "one of hip, hip_out, knee, ankle, toe"),
        ("joint = 'knee'\nhung_g = 0\nat_mm = 10", "a pull that makes a joint slip"),
        ("joint = 'knee'\nat_mm = 10", "hung_g"),
        ("joint = 'knee'\nhung_g = 1\nat_mm = 1\ngrams = 2", "an unknown one"),
    ],
)
def test_a_pull_that_tells_nothing_is_refused(lines, said):
    text = dump_puppet(unweighed("heron")) + f"\n[[leg.left.pull]]\n{lines}\n"
    with pytest.raises(FileError, match=said):
        parse_puppet(text, "x")


# the area of support


def test_the_margin_of_a_square():
    square = np.array([[[-10.0, -10], [10, -10], [10, 10], [-10, 10]]])
    assert hull_margin(square) == pytest.approx([10])
    assert hull_margin(square + np.array((14, 0))) == pytest.approx([-4])
    assert hull_margin(square + np.array((13, 14))) == pytest.approx([-5])
    assert len(hull(np.concatenate((square[0], [[0, 0], [10, 0]])))) == 4


def test_a_flat_hull_has_nothing_inside():
    edge = np.array([[[-5.0, 0], [5, 0], [-5, 0], [5, 0]]])
    assert hull_margin(edge) == pytest.approx([0])
    assert hull_margin(edge + np.array((0, 3))) == pytest.approx([-3])


# loads


def test_a_foot_alone_carries_everything_and_two_share_it():
    weight = weigh(solve(load_shot(starter_paths()["heron"])))
    share = weight.push[..., 0] / weight.parts.whole_n
    assert share.sum(axis=1) == pytest.approx(np.ones(len(share)))
    alone = weight.soles.down.sum(axis=1) == 1
    assert share[alone].max(axis=1) == pytest.approx(1.0)
    assert (share[~weight.soles.down] == 0).all()


def test_no_share_of_two_feet_is_better_than_the_best():
    plan = solve(load_shot(starter_paths()["lamplighter"]))
    weight = weigh(plan)
    random = np.random.default_rng(3)
    both = np.flatnonzero(weight.soles.down.all(axis=1))
    centre = weight.parts.centre_mm[:, None, :2]
    tried = 0
    for _ in range(4000):
        mix = random.dirichlet(np.full(4, 0.4), (plan.poses, 2))
        spots = (mix[..., None] * weight.soles.corners).sum(axis=2) - centre
        # the share that puts the centre of mass between two places, where it lies on the line through them
        share = random.uniform(0, 1, plan.poses)
        push = np.stack((share, 1 - share), axis=1)[..., None] * np.concatenate(
            (np.ones((plan.poses, 2, 1)), spots), axis=2
        )
        off = push[..., 1:].sum(axis=1)
        fits = both[np.hypot(*off[both].T) < 1.0]
        push *= weight.parts.whole_n
        for pose in fits.tolist():
            ratios = [
                abs(float(np.linalg.norm(rows[pose, :, :3] @ push[pose, joint.leg] + rows[pose, :, 3])))
                / joint.held_nmm
                for joint, rows in zip(weight.joints, weight.standing.rows, strict=True)
            ]
            # within what 1 mm off balance and the polygon of a ball joint can make
            assert max(ratios) >= weight.worst[pose] * 0.97 - 0.05
            tried += 1
    assert tried > 50


def test_a_light_puppet_with_strong_joints_needs_no_rig():
    weight = weigh(solve(starter(holding=Holding(2000, 2000, 2000, 2000, 2000))))
    assert not weight.lift.needed.any()
    assert {one.grams for one in weight.lift.steps} == {0.0}
    assert not weight_findings(weight.plan)


def test_one_value_a_step_serves_every_pose_of_it():
    plan = solve(load_shot(starter_paths()["heron"]))
    weight = weigh(plan)
    for one in weight.lift.steps:
        own = slice(one.first - 1, one.last)
        assert one.grams >= weight.lift.least_g[own].max() - 1e-9
        assert one.grams <= weight.parts.masses.total_g
    assert [one.first for one in weight.lift.steps] == [1, 7, 13, 19, 25, 31]


def test_an_untied_foot_with_the_weight_outside_falls():
    tied, loose = weigh(solve(starter())), weigh(solve(starter(tie="nothing")))
    assert tied.stands.all()
    outside = loose.margin_mm < -1e-9
    assert outside.any()
    assert (loose.stands == ~outside).all()
    assert "tips-over" in {one.code for one in weight_findings(loose.plan)}


def test_a_magnet_that_is_too_weak_lets_go():
    weak = solve(starter(tie="magnet", tie_holds_g=1.0))
    assert "tie-pulled-out" in {one.code for one in weight_findings(weak)}
    strong = solve(starter(tie="magnet", tie_holds_g=5000.0))
    assert "tie-pulled-out" not in {one.code for one in weight_findings(strong)}


# findings


def test_weak_knees_are_found_with_computed_cures():
    plan = solve(load_shot(starter_paths()["heron"]))
    weight = weigh(plan)
    (one,) = [f for f in findings_of(plan) if (f.code, f.leg, f.joint) == ("joint-overloaded", "left", "knee")]
    assert "left knee holds 1.7 times less than it must" in one.text
    assert one.number == pytest.approx(weight.worst.max())
    rig, hips = one.cures
    poses = [k for first, last in one.runs for k in range(first - 1, last)]
    grams = float(weight.lift.least_g[poses].max())
    assert rig.text == f"rig {5 * int(np.ceil(grams / 5))} g at the hip bolt"
    assert (hips.key, hips.value) == ("walk.hips", 10.0)


def test_a_declared_rig_takes_the_finding_away():
    plan = solve(starter(rig=Rig(carries=True)))
    assert not [one for one in weight_findings(plan) if one.code in ("joint-overloaded", "untie-needs-rig")]
    assert weigh(plan).safe_to_leave[weigh(plan).ties.all_tied].all()


def test_a_puppet_without_masses_is_left_in_peace_and_a_half_weighed_one_is_told_once():
    shot = load_shot(starter_paths()["heron"])
    bare = unweighed("heron")
    nothing = replace(bare, legs=tuple(replace(leg, holding=Holding()) for leg in bare.legs))
    assert weight_findings(solve(replace(shot, puppet=nothing))) == ()
    (one,) = weight_findings(solve(replace(shot, puppet=bare)))
    assert one.code == "weight-unknown"
    assert "weigh leg.left.thigh_g" in one.text
    (one,) = weight_findings(solve(load_shot(starter_paths()["tapir"])))
    assert "hang a weight on each limb" in one.text


# ties


@settings(deadline=None, max_examples=40, suppress_health_check=list(HealthCheck))
@given(
    name=st.sampled_from(["heron", "lamplighter", "tapir"]),
    steps=st.integers(1, 6),
    poses=st.integers(3, 14),
    tie=st.sampled_from(["screw", "magnet", "nothing"]),
    start=st.sampled_from(["walking", "standing"]),
    rig=st.booleans(),
    roll=st.integers(0, 5),
)
def test_ties_of_any_walk_keep_their_order(name, steps, poses, tie, start, rig, roll):
    shot = starter(name, Rig(carries=True) if rig else None, tie=tie)
    try:
        walk = replace(shot.walk, steps=steps, poses_per_step=poses, passing_pose=None, lift_off_poses=None,
                       toe_roll_poses=None if roll == 0 else roll, start=start)  # fmt: skip
        plan = solve(replace(shot, walk=walk))
    except ModelError:
        return
    ties = ties_of(plan)
    state, tied = plan.state, ties.tied
    through_toe = np.array([leg.tie_mm[0] > leg.ball_ahead_mm and leg.toe_mm > 0 for leg in plan.shot.puppet.legs])
    assert not tied[(state == FootState.AIR) | (state == FootState.HEEL)].any(), "on its heel a foot is not tied"
    assert not tied[(state == FootState.TOE) & ~through_toe].any(), (
        "a rolling foot is tied through its toe or not at all"
    )
    had = np.zeros(tied.shape[1], dtype=bool)
    for k in range(plan.poses):
        now = had | ties.tie[k]
        moved = ties.tie[k] & ties.untie[k]
        assert not (ties.untie[k] & ~had).any(), "what is untied was tied"
        # never is the last foot let go before another is tied, or the pose says that a rig must carry
        assert (now & ~moved).any() or not had.any() or ties.needs_rig[k]
        had = (had & ~ties.untie[k]) | ties.tie[k]
        assert (had == tied[k]).all()
        assert had.any() or ties.carried[k]
    weight = weigh(plan)
    if weight is not None and not rig:
        assert not (weight.safe_to_leave & ties.carried).any(), "without a rig nothing is left with no foot tied"


def test_holes_are_uncovered_before_a_foot_lands_and_plugged_when_it_has_left():
    ties = ties_of(solve(load_shot(starter_paths()["heron"])))
    assert np.flatnonzero(ties.plug[:, 0]).tolist() == [2, 14, 26]
    assert np.flatnonzero(ties.uncover[:, 0]).tolist() == [0, 6, 18, 30]
    assert np.flatnonzero(ties.tie[:, 0]).tolist() == [0, 6, 18, 30]
    assert np.flatnonzero(ties.untie[:, 0]).tolist() == [2, 14, 26]


# the stand


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_stand_is_beside_the_puppet_and_on_no_coming_print(side):
    rig = Rig(side=side, arm_mm=20.0, base_mm=50.0, slack_mm=30.0)
    plan = solve(starter(rig=rig))
    stand = stand_of(plan)
    assert stand.clear.all()
    assert (np.sign(stand.place_mm[:, 1]) == (1 if side == "left" else -1)).all()
    assert 1 <= stand.moved.sum() < plan.poses / 3, "fewer, larger moves"
    for pose in range(plan.poses):
        for stance in plan.stances:
            if stance.last >= pose:
                x, y = stand.place_mm[pose] - stance.place_mm[:2]  # a print reaches from 14 behind to 50 ahead
                assert max(-14 - x, x - 50, 0) ** 2 + max(abs(y) - 16, 0) ** 2 > 25**2


def test_a_stand_goes_to_the_side_away_from_the_camera():
    assert stand_of(solve(starter())).side == 1, "the side-on camera is on the puppet's right"


# what is written


def test_columns_are_written_where_masses_are_known_alone():
    shot = load_shot(starter_paths()["heron"])
    rows = list(csv.DictReader(io.StringIO(poses_csv_text(solve(shot)))))
    weight = weigh(solve(shot))
    assert float(rows[3]["com_x_mm"]) == pytest.approx(weight.parts.centre_mm[3, 0], abs=1e-4)
    assert float(rows[5]["rig_g"]) == pytest.approx(weight.lift.least_g[5], abs=1e-4)
    assert float(rows[5]["right_knee_load"]) == pytest.approx(weight.worst[5], abs=1e-4)
    bare = poses_csv_text(solve(replace(shot, puppet=unweighed("heron")))).splitlines()[0]
    assert not {"com_x_mm", "rig_g"} & set(bare.split(","))
    tapir = poses_csv_text(solve(load_shot(starter_paths()["tapir"]))).splitlines()[0].split(",")
    assert "support_margin_mm" in tapir
    assert "rig_g" not in tapir


def test_the_table_has_a_row_a_pose_and_says_what_was_shared():
    shot = load_shot(starter_paths()["lamplighter"])
    plan = solve(replace(shot, puppet=unweighed("lamplighter", total_g=250, total_by="person")))
    text = weight_text(weigh(plan))
    assert "Not weighed but shared by the shares of a person's body: leg.left.thigh_g" in text
    rows = list(csv.DictReader(io.StringIO(weight_csv(weigh(plan)))))
    assert len(rows) == plan.poses
    assert float(rows[3]["left_share"]) + float(rows[3]["right_share"]) == pytest.approx(1.0, abs=0.02)
    assert "nothing can fall on a person" in CAUTION
