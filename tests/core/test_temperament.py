"""Temperaments: what they write, what they leave alone, and that starters can walk them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from striderule.adjust.temperament import TEMPERAMENTS, temperament_named
from striderule.adjust.tempering import NEVER, kept_values, sound_values, temperament_values, tempered
from striderule.adjust.values import all_keys, changes, typed_values, value_of, with_values
from striderule.check import findings_of
from striderule.check.weight.findings import weight_findings
from striderule.errors import ModelError
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.step_change import StepChange
from striderule.model.walk import Hips, Walk
from striderule.solve import solve

NAMES = list(TEMPERAMENTS)
PUPPETS = {name: load_shot(starter_paths()[name]).puppet for name in ("heron", "lamplighter")}


def bare(puppet: str = "lamplighter", **fields) -> Shot:
    return Shot("bare", puppet=PUPPETS[puppet], walk=Walk(**fields))


@pytest.mark.parametrize("puppet", list(PUPPETS))
@pytest.mark.parametrize("name", NAMES)
def test_a_starter_s_puppet_can_walk_every_temperament(name, puppet):
    """No impossible and no risky finding, at most 3 notes; what its joints carry is for ties and a rig to say."""
    plan = solve(tempered(bare(puppet), TEMPERAMENTS[name]))
    weight = weight_findings(plan)
    findings = [one for one in findings_of(plan, with_cures=False) if one not in weight]
    assert [one.code for one in findings if one.severity != "note"] == []
    assert len(findings) <= 3


@pytest.mark.parametrize("puppet", list(PUPPETS))
def test_the_even_walk_is_the_walk_of_a_puppet_without_values(puppet):
    plain, even = bare(puppet), tempered(bare(puppet), TEMPERAMENTS["even"])
    np.testing.assert_allclose(solve(even).ankle_mm, solve(plain).ankle_mm, atol=1e-9)


@pytest.mark.parametrize("puppet", list(PUPPETS))
def test_each_temperament_shows_its_character_beside_the_even_walk(puppet):
    """What a person sees from the side: how long a step takes, how far it goes, the trunk, hips and feet."""
    plans = {name: solve(tempered(bare(puppet), one)) for name, one in TEMPERAMENTS.items()}
    even = plans["even"]

    def step(plan):
        return plan.shot.settled_walk.step_mm

    def poses(plan):
        return plan.shot.walk.poses_per_step

    def hips(plan):
        return plan.hip_line_mm.mean()

    def lift(plan):
        return (plan.ankle_mm[..., 2]).max()

    def lean(plan):
        return plan.body_deg[:, 1].mean()

    burdened, stealthy, proud, hurried, old = (plans[name] for name in NAMES[1:6])
    assert poses(burdened) == 2 * poses(even)
    assert hips(burdened) < hips(even)
    assert step(burdened) < step(even)
    n = poses(burdened)
    forward = np.abs(np.diff(burdened.ankle_mm[n : 2 * n + 1, burdened.swing_leg[n], 0]))
    assert forward[-1] > 0.8 * forward.max()  # lands fast
    assert hips(stealthy) < hips(even)
    assert np.ptp(stealthy.hip_line_mm) < np.ptp(even.hip_line_mm)
    assert stealthy.toe_mm[..., 2].max() > even.toe_mm[..., 2].max()
    assert lean(proud) < 0 < lean(even)
    assert lift(proud) > lift(even)
    assert proud.hip_line_mm.max() > even.hip_line_mm.max()
    assert poses(hurried) < poses(even)
    assert step(hurried) > step(even)
    assert step(old) < 0.5 * step(even)
    assert lift(old) < lift(even)
    assert lean(old) > 3 * lean(even)
    assert min(lean(stealthy), lean(burdened), lean(hurried)) > lean(even)


def test_a_temperament_never_overwrites_what_was_typed_and_fits_the_rest_to_it():
    shot = bare(step_mm=50.0, poses_per_step=8, lean_deg=1.0, hips=Hips(passing_mm=117.0))
    for one in TEMPERAMENTS.values():
        walk = tempered(shot, one).walk
        assert (walk.step_mm, walk.poses_per_step, walk.lean_deg, walk.hips.passing_mm) == (50.0, 8, 1.0, 117.0)
        assert walk.passing_pose is not None
        assert 4 <= walk.passing_pose <= 7


def test_hip_heights_keep_their_distance_from_a_typed_one():
    one = TEMPERAMENTS["burdened"]
    free = tempered(bare(), one).walk.hips
    raised = tempered(bare(hips=Hips(down_mm=(free.down_mm or 0.0) + 2.0)), one).walk.hips
    for key in ("contact_mm", "down_mm", "passing_mm", "up_mm"):
        assert value_of(raised, key) - value_of(free, key) == pytest.approx(2.0, abs=0.1001)  # rounded to .1 mm


def test_a_value_that_a_file_holds_at_its_default_counts_as_typed():
    shot = bare()
    one = TEMPERAMENTS["burdened"]
    assert tempered(shot, one).walk.poses_per_step == 12
    assert tempered(shot, one, typed=frozenset({"poses_per_step", "landing"})).walk.poses_per_step == 6
    assert tempered(shot, one, typed=frozenset({"poses_per_step", "landing"})).walk.landing == "soft"


def test_what_is_no_longer_typed_is_written_or_open():
    shot = bare(steps=4, first_foot="right", step_mm=50.0, flat_after_poses=3, hips=Hips(up_mm=118.0))
    walk = tempered(shot, TEMPERAMENTS["stealthy"], typed=frozenset()).walk
    assert walk == tempered(bare(steps=4, first_foot="right"), TEMPERAMENTS["stealthy"]).walk
    assert walk.flat_after_poses is None  # it lands flat


def test_poses_follow_frames_a_second_and_frames_a_pose():
    one = TEMPERAMENTS["even"]
    for fps, held, poses in (("12", 1, 6), ("24", 1, 12), ("24", 2, 6), ("30000/1001", 1, 15), ("1", 1, 2)):
        shot = replace(bare(), fps=fps, frames_per_pose=held)
        assert tempered(shot, one).walk.poses_per_step == poses


def test_values_scale_with_the_puppet():
    """A puppet twice as large in every length gets every length doubled, to the tenth that they are rounded to."""
    puppet = PUPPETS["lamplighter"]
    legs = tuple(
        replace(leg, **{key: 2 * getattr(leg, key) for key in LENGTHS}, hip_mm=tuple(2 * x for x in leg.hip_mm))
        for leg in puppet.legs
    )
    large = Shot("large", puppet=replace(puppet, legs=legs))
    for one in TEMPERAMENTS.values():
        small, big = temperament_values(bare(), one), temperament_values(large, one)
        for key, value in small.items():
            if key == "width_mm" or key == "clearance_mm":
                continue  # they hold gaps that are the same for every puppet
            factor = 2 if key.endswith("_mm") else 1
            assert big[key] == (value if isinstance(value, str) else pytest.approx(factor * value, abs=0.5)), key


LENGTHS = ("thigh_mm", "shank_mm", "ankle_up_mm", "heel_behind_mm", "ball_ahead_mm", "toe_mm", "sole_width_mm")


def test_what_stays_as_typed_is_told_with_what_the_temperament_has():
    kept = {one.key: (one.old, one.new) for one in kept_values(bare(step_mm=50.0), TEMPERAMENTS["hurried"])}
    assert kept == {"step_mm": (50.0, 68.3)}


def test_changes_tell_old_and_new_also_of_values_that_were_open():
    shot = bare(poses_per_step=6)
    told = {one.key: (one.old, one.new) for one in changes(shot, temperament_values(shot, TEMPERAMENTS["proud"]))}
    assert told["poses_per_step"] == (6, 8)
    assert told["lean_deg"] == (2.0, -5.0)


def test_an_unknown_temperament_is_refused_with_all_names():
    with pytest.raises(ModelError, match="one of even, burdened, stealthy, proud, hurried, very-old, limp, given"):
        temperament_named("odd")


@pytest.mark.parametrize("lame", ["left", "right"])
@pytest.mark.parametrize("puppet", list(PUPPETS))
def test_a_limp_spares_its_leg_a_short_quick_step_while_that_one_carries(puppet, lame):
    """Common practice, no source: the sound leg hurries to take the weight and lands only a little ahead."""
    plan = solve(tempered(bare(puppet, steps=8), TEMPERAMENTS["limp"], lame=lame))
    laid = plan.shot.laid_out
    lamed = plan.legs.index(lame)
    poses, length, sink = {}, {}, {}
    for step in range(2, 6):
        begin, land = int(laid.start[step]), int(laid.land[step])
        swings = int(plan.swing_leg[begin])
        poses[swings] = land - begin
        other = 1 - swings
        length[swings] = plan.ankle_mm[land, swings, 0] - plan.ankle_mm[land, other, 0]
        sink[other] = plan.hip_line_mm[begin : land + 1].max()
    sound = 1 - lamed
    assert poses[sound] <= 0.65 * poses[lamed]
    assert length[sound] == pytest.approx(0.6 * length[lamed], rel=0.05)
    assert sink[lamed] < sink[sound]  # the body comes up less over the leg that hurts
    carries = (plan.state[:, lamed] != 3).mean(), (plan.state[:, sound] != 3).mean()
    assert carries[0] < carries[1]


def test_a_limp_writes_no_value_of_a_step_that_was_typed_for_the_walk_or_for_that_step():
    typed = replace(
        bare(step_mm=50.0, poses_per_step=8), step_changes=(StepChange("left", (("sway", 0.2), ("lean_deg", 3.0))),)
    )
    which, own = sound_values(typed, TEMPERAMENTS["limp"])
    assert which == "left"
    assert not own.keys() & {"step_mm", "poses_per_step", "sway", "lean_deg"}
    new = tempered(typed, TEMPERAMENTS["limp"])
    assert dict(new.step_changes[0].values) == {"sway": 0.2, "lean_deg": 3.0} | own


def test_a_leg_that_cannot_be_spared_is_refused():
    with pytest.raises(ModelError, match="a leg that leads: left, right"):
        tempered(bare(), TEMPERAMENTS["limp"], lame="tail")
    with pytest.raises(ModelError, match="spares a leg"):
        tempered(bare(), TEMPERAMENTS["proud"], lame="left")


typed_walks = st.fixed_dictionaries(
    {},
    optional={
        "steps": st.integers(1, 6),
        "step_mm": st.floats(0, 90),
        "poses_per_step": st.integers(2, 30),
        "passing_pose": st.integers(1, 29),
        "lift_off_poses": st.integers(0, 20),
        "toe_roll_poses": st.integers(0, 40),
        "flat_after_poses": st.integers(0, 20),
        "heel_strike_deg": st.sampled_from([0.0, 12.0]),
        "heel_off_deg": st.sampled_from([0.0, 30.0]),
        "landing": st.sampled_from(["soft", "heavy"]),
        "lift_mm": st.floats(0, 60),
        "hips": st.builds(Hips, contact_mm=st.none() | st.floats(90, 120), up_mm=st.none() | st.floats(90, 120)),
    },
)


@settings(max_examples=300, deadline=None)
@given(typed_walks, st.sampled_from(NAMES), st.sampled_from(["1", "12", "24", "120"]), st.data())
def test_any_walk_takes_any_temperament_and_keeps_what_is_typed(values, name, fps, data):
    """Whatever stays typed of a walk that stands by itself, the tempered one stands too and solves without a NaN."""
    try:
        shot = Shot("any", puppet=PUPPETS["lamplighter"], fps=fps, walk=Walk(**values))
    except ModelError:
        return
    typed = data.draw(st.none() | st.frozensets(st.sampled_from(sorted(typed_values(shot.walk) | {"landing"}))))
    keep = typed_values(shot.walk) if typed is None else typed
    try:  # what stays must stand by itself, too
        replace(shot, walk=with_values(Walk(), {key: value_of(shot.walk, key) for key in keep}))
    except ModelError:
        return
    new = tempered(shot, TEMPERAMENTS[name], typed)
    for key in keep | (NEVER & all_keys()):
        assert value_of(new.walk, key) == value_of(shot.walk, key)
    plan = solve(new)
    assert np.isfinite(plan.ankle_mm).all()
    assert np.isfinite(plan.knee_deg).all()
