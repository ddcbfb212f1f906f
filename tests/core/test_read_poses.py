"""Values of a walk read from a contact, a passing pose and a measured pose 1."""

from dataclasses import replace

import numpy as np
import pytest

from striderule.adjust.read_poses import START, read_poses
from striderule.adjust.values import typed_values, value_of, with_values
from striderule.errors import ModelError
from striderule.model.edits import FootfallEdit
from striderule.model.path import PathPiece
from striderule.model.poses import Contact, Passing, PosedFoot, Poses
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.stage import Stage
from striderule.model.walk import Hips, Walk
from striderule.solve import solve

READ = ("step_mm", "width_mm", "heel_off_deg", "heel_strike_deg", "lift_mm", "sway", "toe_out_deg",
        "hips.contact_mm", "hips.passing_mm")  # fmt: skip
TOLERANCE = {"mm": 0.2, "deg": 0.5, "": 0.005}


def foot_of(plan, pose, leg, point, **more):
    """A foot of a solved pose as a person would measure it, by one point of it."""
    place = getattr(plan, point)[pose, plan.legs.index(leg)]
    pitch = float(plan.foot_pitch_deg[pose, plan.legs.index(leg)])
    side = plan.shot.puppet.legs[plan.legs.index(leg)].outward_side
    out = side * float(plan.foot_heading_deg[pose, plan.legs.index(leg)])
    return PosedFoot(leg, foot_pitch_deg=pitch, toe_out_deg=out, **{point: (float(place[0]), float(place[1]))}, **more)


def hips_of(plan, pose):
    middle = plan.hip_mm[pose].mean(axis=0)
    return {"hip_mm": float(plan.hip_line_mm[pose]), "hip_at_mm": (float(middle[0]), float(middle[1]))}


def contact_of(plan, pose, points=("ankle_mm", "ankle_mm")):
    feet = tuple(foot_of(plan, pose, leg, point) for leg, point in zip(plan.legs, points, strict=True))
    return Contact(**hips_of(plan, pose), feet=feet)


def passing_of(plan):
    """The passing pose of the first step."""
    at = plan.shot.settled_walk.passing_pose
    free = plan.shot.settled_walk.first_foot
    stands = next(leg for leg in plan.legs if leg != free)
    up = float(plan.ankle_mm[at, plan.legs.index(free), 2])
    feet = (foot_of(plan, at, stands, "ankle_mm"), foot_of(plan, at, free, "ankle_mm", ankle_up_mm=up, state="air"))
    return Passing(**hips_of(plan, at), passing_pose=at, feet=feet)


def some_shot(rng, base):
    """A walk of any values that the base's puppet can set; None where it cannot, or the values contradict."""
    n = int(rng.integers(4, 25))
    passing = int(rng.integers(2, n))
    off = int(rng.integers(0, passing))
    strike = float(rng.choice([0.0, rng.uniform(1, 25)]))
    flat = int(rng.integers(1, 4)) if strike else 0
    even = replace(base, walk=Walk()).settled_walk
    contact = even.hips.contact_mm * rng.uniform(0.9, 0.99)
    walk = Walk(
        steps=2, poses_per_step=n, passing_pose=passing, lift_off_poses=off, flat_after_poses=flat,
        toe_roll_poses=int(rng.integers(0, n + off - flat + 1)), heel_off_deg=rng.uniform(5, 60),
        heel_strike_deg=strike, step_mm=even.step_mm * rng.uniform(0.3, 1.2), width_mm=rng.uniform(15, 60),
        lift_mm=rng.uniform(5, 30), clearance_mm=rng.uniform(0, 5), sway=rng.uniform(0, 1),
        lean_deg=rng.uniform(-10, 20), toe_out_deg=rng.uniform(-5, 20), pelvis_turn_deg=rng.uniform(0, 8),
        pelvis_drop_deg=rng.uniform(0, 6), first_foot=str(rng.choice(["left", "right"])),
        landing=str(rng.choice(["soft", "heavy"])),
        hips=Hips(contact, contact * 0.98, contact * rng.uniform(0.98, 1.03), contact * 1.03),
    )  # fmt: skip
    try:
        return replace(base, walk=walk, stage=Stage((float(rng.uniform(-500, 500)), float(rng.uniform(-500, 500)))))
    except ModelError:
        return None


def opened(shot):
    """The shot with everything open that poses show, and the keys that are still typed."""
    bare = replace(shot, walk=with_values(shot.walk, {}, frozenset(READ)), stage=Stage())
    return bare, typed_values(bare.walk) - {"first_foot"}


@pytest.mark.parametrize("starter", ["lamplighter", "heron"])
def test_what_is_read_from_a_solved_walk_is_that_walk(starter):
    """A seeded sweep of random walks, each measured by a random point of each foot. The lift is compared where only one
    gives the foot its height; where clearance holds the foot up, several do, and the poses alone must be met."""
    rng = np.random.default_rng(11)
    base = load_shot(starter_paths()[starter])
    told = set()
    tried = 0
    while tried < 60:
        shot = some_shot(rng, base)
        if shot is None:
            continue
        plan = solve(shot)
        at = shot.walk.passing_pose
        if plan.gap_mm[[0, at]].max() > 0:
            continue  # the leg ends short of its foot: no such pose can be set
        tried += 1
        points = tuple(rng.choice(["ankle_mm", "heel_mm", "toe_mm"], 2))
        bare, typed = opened(shot)
        poses = Poses(contact_of(plan, 0, points), passing_of(plan), contact_of(plan, 0, points))
        found = read_poses(bare, poses, typed)
        walk = shot.settled_walk
        raised = -plan.foot_pitch_deg[0, plan.legs.index(walk.first_foot)]
        for key in READ:
            if key == "heel_off_deg" and raised < 0.05:
                continue  # the heel is still down at contact, which says nothing about it later
            if key == "lift_mm" and not lift_is_told(shot):
                continue
            told.add(key)
            unit = "mm" if key.endswith("_mm") else "deg" if key.endswith("_deg") else ""
            off = abs(value_of(found.shot.settled_walk, key) - value_of(walk, key))
            assert off <= TOLERANCE[unit], (key, value_of(found.shot.settled_walk, key), value_of(walk, key))
        assert found.shot.stage.start_mm == pytest.approx(shot.stage.start_mm, abs=0.05)
        assert found.shot.walk.first_foot == walk.first_foot
        for one in found.differences:
            if raised < 0.05 and one.what.endswith("tilt"):
                continue  # a heel that is not yet seen to rise: how fast it will is not known either
            in_air = one.pose == "passing" and one.what.startswith(walk.first_foot)
            if not in_air or (one.what.endswith("ankle up") and raised >= 0.05):
                assert abs(one.off) < 0.1, one  # tilt and bow of the free foot follow from which lift it is
    assert told == set(READ)


def lift_is_told(shot):
    """True where the passing foot rises with the lift all the way, so that a height belongs to one lift alone."""
    leg = shot.puppet.leg_names.index(shot.settled_walk.first_foot)
    heights = []
    for lift in np.linspace(0.0, shot.walk.lift_mm + 30.0, 25):
        changed = replace(shot, walk=replace(shot.walk, lift_mm=float(lift)))
        heights.append(float(solve(changed).ankle_mm[shot.walk.passing_pose, leg, 2]))
    return min(np.diff(heights)) > 0.05


LAMPLIGHTER = replace(load_shot(starter_paths()["lamplighter"]), walk=Walk(steps=3))


def a_contact(**rear):
    """A contact by hand: heel down 60 mm ahead (heel edge at 51, ankle 9 before it), rear foot on its toe."""
    rear = {"toe_mm": (26.0, -10.0), "foot_pitch_deg": -20.0} | rear
    return Contact(
        118.0, feet=(PosedFoot("left", heel_mm=(51.0, 10.0), foot_pitch_deg=10.0), PosedFoot("right", **rear))
    )


def test_step_and_width_are_between_the_feet_as_they_would_lie_flat():
    """By hand: the heel edge is 9 mm behind the ankle, the toe tip 26 mm ahead of it: ankles at 60 and 0."""
    leg = LAMPLIGHTER.puppet.legs[0]
    front = PosedFoot("left", heel_mm=(60.0 - leg.heel_behind_mm, 10.0), foot_pitch_deg=10.0)
    rear = PosedFoot("right", toe_mm=(leg.ball_ahead_mm + leg.toe_mm, -8.0), foot_pitch_deg=-20.0)
    values = read_poses(LAMPLIGHTER, Poses(Contact(118.0, feet=(front, rear)))).values
    assert (values["step_mm"], values["width_mm"], values["heel_strike_deg"]) == (60.0, 18.0, 10.0)
    assert values["hips.contact_mm"] == 118.0


def test_a_raised_rear_heel_begins_to_rise_in_time_with_the_angle_it_leaves_at_near_the_walks_own():
    found = read_poses(LAMPLIGHTER, Poses(a_contact()))
    assert found.values["heel_off_deg"] == pytest.approx(33.0, abs=5.0)  # the default of straight-leg walkers
    tilt = next(one for one in found.differences if one.what == "right foot tilt")
    assert (tilt.given, tilt.solved) == (-20.0, pytest.approx(-20.0, abs=0.05))


def test_a_flat_rear_foot_rises_only_after_contact():
    found = read_poses(LAMPLIGHTER, Poses(a_contact(toe_mm=(26.0, -10.0), foot_pitch_deg=0.0)))
    (tilt,) = [one.solved for one in found.differences if one.what == "right foot tilt"]
    assert tilt == 0.0
    assert solve(found.shot).foot_pitch_deg.min() < -20.0


def test_a_typed_value_stays_and_what_the_poses_say_is_told():
    shot = replace(LAMPLIGHTER, walk=Walk(steps=3, step_mm=50.0))
    found = read_poses(shot, Poses(a_contact()), typed={"step_mm", "steps"})
    assert found.shot.walk.step_mm == 50.0
    assert "step_mm" not in found.values
    (kept,) = found.kept
    assert (kept.key, kept.old) == ("step_mm", 50.0)
    along = next(one for one in found.differences if one.what == "right toe along")
    assert along.off == pytest.approx(kept.new - 50.0, abs=0.02)


def test_what_a_plain_walk_cannot_show_is_told_with_its_number():
    """A front foot with its heel up, and hips 20 mm ahead of where a plain walk has them."""
    plan = solve(LAMPLIGHTER)
    contact = contact_of(plan, 0)
    front = replace(contact.foot("right"), foot_pitch_deg=-15.0)
    at = contact.hip_at_mm
    odd = replace(contact, hip_at_mm=(at[0] + 20.0, at[1]), feet=(contact.foot("left"), front))
    found = {one.what: one for one in read_poses(LAMPLIGHTER, Poses(odd)).differences}
    assert found["right foot tilt"].off == pytest.approx(15.0)
    assert found["hips along"].off == pytest.approx(-20.0, abs=1.0)


def test_pose_1_stands_exactly_on_the_measured_feet():
    first = Contact(112.0, feet=(PosedFoot("left", ankle_mm=(412.0, 33.0)), PosedFoot("right", ankle_mm=(350.5, 14.0))))
    found = read_poses(LAMPLIGHTER, Poses(first=first))
    plan = solve(found.shot)
    assert found.shot.walk.first_foot == "right"
    assert plan.ankle_mm[0, :, :2] == pytest.approx(np.array([[412.0, 33.0], [350.5, 14.0]]), abs=0.011)
    assert plan.hip_line_mm[0] == pytest.approx(112.0)


def test_with_a_contact_of_its_own_pose_1_is_exact_under_both_feet_by_an_edit():
    """The contact is 60 mm long, the feet of pose 1 are 52 mm apart: the rear one, 8 mm off, is pinned."""
    first = Contact(
        117.0,
        feet=(PosedFoot("left", ankle_mm=(412.0, 33.0)), PosedFoot("right", ankle_mm=(360.0, 14.0), toe_out_deg=5.0)),
    )
    found = read_poses(LAMPLIGHTER, Poses(a_contact(), first=first))
    assert found.footfalls == (FootfallEdit(-1, at_mm=(360.0, 14.0), turn_deg=-5.0),)
    assert found.shot.edits.footfalls == found.footfalls
    footing = solve(found.shot).footing
    for leg, place in ((0, [412.0, 33.0]), (1, [360.0, 14.0])):
        assert footing.place_mm[int((footing.leg == leg).argmax()), :2] == pytest.approx(place, abs=0.02)
    assert found.nudge_mm == pytest.approx(-1.0)
    assert solve(found.shot).hip_line_mm[0] == pytest.approx(117.0, abs=0.02)
    walk = found.shot.settled_walk
    assert (walk.hips.contact_mm, round(walk.step_mm, 1)) == (118.0, 60.0), "the contact's own, not pose 1's"


def test_feet_far_from_where_the_walk_starts_are_not_pinned_and_that_is_told():
    shot = replace(LAMPLIGHTER, stage=Stage((5.0, 0.0)))
    first = Contact(feet=(PosedFoot("left", ankle_mm=(412.0, 33.0)), PosedFoot("right", ankle_mm=(352.0, 14.0))))
    found = read_poses(shot, Poses(first=first), typed={START})
    assert found.footfalls == ()
    assert sum("is not pinned: it is 3" in note for note in found.notes) == 2


def test_pose_1_of_a_walk_that_begins_aslant_is_refused():
    first = Contact(feet=(PosedFoot("left", ankle_mm=(412.0, 33.0)), PosedFoot("right", ankle_mm=(352.0, 14.0))))
    slanted = replace(LAMPLIGHTER, path=(PathPiece(straight_mm=100, heading_deg=10),))
    with pytest.raises(ModelError, match="first: expected a walk that begins along X"):
        read_poses(slanted, Poses(first=first))


def test_a_typed_start_stays_and_is_told():
    shot = replace(LAMPLIGHTER, stage=Stage((5.0, 0.0)))
    first = Contact(feet=(PosedFoot("left", ankle_mm=(412.0, 33.0)), PosedFoot("right", ankle_mm=(352.0, 14.0))))
    found = read_poses(shot, Poses(first=first), typed={START})
    assert found.start_mm is None
    assert found.shot.stage == shot.stage
    assert any("stage.start_mm stays as typed at 5, 0" in note for note in found.notes)


def test_open_heights_of_down_and_up_stay_on_their_side_of_a_steep_rise():
    passing = Passing(135.0, free="right", feet=())
    found = read_poses(LAMPLIGHTER, Poses(Contact(100.0, ahead="left"), passing))
    hips = found.shot.settled_walk.hips
    assert hips.down_mm < hips.contact_mm < hips.passing_mm < hips.up_mm
    assert (hips.contact_mm, hips.passing_mm) == (100.0, 135.0)


@pytest.mark.parametrize(
    ("poses", "said"),
    [
        (Poses(Contact(feet=(PosedFoot("left", ankle_mm=(0, 9)), PosedFoot("right", ankle_mm=(0.5, -9))))), "a stand"),
        (Poses(Contact(118.0)), "contact.ahead: expected the leg that is ahead: left or right"),
        (Poses(replace(a_contact(), ahead="right")), "contact.ahead: expected the leg whose foot is ahead, left"),
        (Poses(passing=Passing(118.0)), "passing.free: expected the leg in the air"),
    ],
)
def test_poses_that_do_not_say_which_foot_is_which_are_refused(poses, said):
    with pytest.raises(ModelError, match=said):
        read_poses(LAMPLIGHTER, poses)


def test_a_puppet_of_more_than_two_legs_is_refused(made_shot):
    with pytest.raises(ModelError, match="two legs"):
        read_poses(made_shot(names=("a", "b", "c", "d")), Poses(a_contact()))
