"""Another pace: poses a step by number, by seconds or by a beat."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from striderule.adjust.retime import SCALED, choices_for, retimed, retimed_to_seconds, seconds_of_beat
from striderule.errors import ModelError
from striderule.model.edits import BodyEdit, Edits, FootfallEdit, Hold
from striderule.model.step_change import StepChange
from striderule.model.walk import Walk

BURDENED = Walk(steps=4, poses_per_step=12, passing_pose=9, lift_off_poses=5, toe_roll_poses=9, step_mm=60.0)


def test_what_counts_poses_is_scaled_half_up_and_told_old_to_new(made_shot):
    found = retimed(made_shot(walk=BURDENED), 18)
    assert [(one.key, one.old, one.new) for one in found.changed] == [
        ("poses_per_step", 12, 18), ("passing_pose", 9, 14), ("lift_off_poses", 5, 8), ("toe_roll_poses", 9, 14)
    ]  # fmt: skip
    assert found.exact == {"passing_pose": 13.5, "lift_off_poses": 7.5, "toe_roll_poses": 13.5}


def test_nothing_but_what_counts_poses_changes(made_shot):
    shot = made_shot(walk=BURDENED)
    new = retimed(shot, 7).shot
    back = replace(new.walk, poses_per_step=12, **{key: getattr(shot.walk, key) for key in SCALED})
    assert replace(new, walk=back) == shot


def test_open_values_stay_open_and_are_told_where_they_go_along(made_shot):
    found = retimed(made_shot(walk=Walk(steps=2, poses_per_step=6)), 12)
    assert found.values == {"poses_per_step": 12}
    assert found.shot.walk.passing_pose is None
    assert ("passing_pose", 3, 7) in [(one.key, one.old, one.new) for one in found.follows]


def test_a_value_typed_at_its_default_is_scaled_as_well(made_shot):
    found = retimed(made_shot(walk=Walk(flat_after_poses=1)), 24, typed={"flat_after_poses"})
    assert found.values == {"poses_per_step": 24, "flat_after_poses": 4}


def test_a_heel_landing_and_a_roll_keep_a_pose_however_fast_the_walk(made_shot):
    walk = Walk(poses_per_step=24, heel_strike_deg=10.0, flat_after_poses=2, toe_roll_poses=3)
    new = retimed(made_shot(walk=walk), 3).shot.walk
    assert (new.flat_after_poses, new.toe_roll_poses) == (1, 1)


def test_any_valid_walk_is_valid_at_any_pace(made_shot):
    """A seeded sweep: the model refuses what does not fit, so that making the shot is the test."""
    rng = np.random.default_rng(5)
    tried = 0
    while tried < 3000:
        n = int(rng.integers(2, 40))
        typed = {key: int(rng.integers(0, n + 2)) for key in SCALED if rng.random() < 0.6}
        strike = float(rng.choice([0.0, 10.0]))
        try:
            shot = made_shot(walk=Walk(steps=2, poses_per_step=n, heel_strike_deg=strike,
                                       landing=str(rng.choice(["soft", "heavy"])), **typed))  # fmt: skip
        except ModelError:
            continue
        tried += 1
        new = int(rng.integers(2, 60))
        found = retimed(shot, new)
        assert found.shot.settled_walk.poses_per_step == new
        if len(typed) == len(SCALED) and new >= n:  # in longer steps nothing is squeezed by more than the rounding
            assert all(abs(found.values[key] - exact) <= 1.0 for key, exact in found.exact.items())


def test_doubling_and_halving_gives_the_walk_back(made_shot):
    shot = made_shot(walk=BURDENED)
    assert retimed(retimed(shot, 24).shot, 12).shot == shot


def test_the_nearest_whole_poses_are_told_best_first_with_how_far_off_they_are():
    """By hand: 100 beats a minute are .6 s; at 12 fps 7.2 poses; 7 take 583.3 ms, 8 take 666.7 ms."""
    best, other = choices_for(seconds_of_beat(100), Fraction(12))
    assert (best.poses, other.poses) == (7, 8)
    assert best.off_s == pytest.approx(-1 / 60)
    assert best.off_share == pytest.approx(-1 / 36)
    assert other.off_s == pytest.approx(1 / 15)


def test_a_beat_that_whole_poses_meet_has_one_choice_without_error():
    """120 beats a minute are half a second: 6 poses at 12 fps, 12 at 24 fps, 6 of them on twos."""
    for fps, held, poses in ((12, 1, 6), (24, 1, 12), (24, 2, 6)):
        (only,) = choices_for(seconds_of_beat(120), Fraction(fps), held)
        assert (only.poses, only.off_s) == (poses, 0.0)


@pytest.mark.parametrize(("per_beat", "seconds"), [(1, 0.5), (2, 0.25), (0.5, 1.0)])
def test_steps_per_beat_share_the_beat(per_beat, seconds):
    assert seconds_of_beat(120, per_beat) == seconds


def test_on_twos_a_finer_choice_on_ones_is_named_where_it_is_nearer(made_shot):
    """By hand: 130 beats a minute at 24 fps are 11.08 frames: 6 poses on twos are 12 frames, 11 on ones are 11."""
    shot = made_shot(walk=Walk(steps=2), fps="24", frames_per_pose=2)
    found = retimed_to_seconds(shot, seconds_of_beat(130))
    assert (found.shot.walk.poses_per_step, found.shot.frames_per_pose) == (6, 2)
    assert found.finer is not None
    assert (found.finer.poses, found.finer.frames_per_pose) == (11, 1)
    assert retimed_to_seconds(shot, 0.5).finer is None


def test_of_two_choices_equally_far_the_slower_one_is_best():
    assert [one.poses for one in choices_for(6.5 / 12, Fraction(12))] == [7, 6]


def test_no_step_has_fewer_than_two_poses():
    (only,) = choices_for(0.01, Fraction(12))
    assert only.poses == 2


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan"), 1e9])
def test_a_step_of_no_time_is_refused(seconds):
    with pytest.raises(ModelError, match="seconds"):
        choices_for(seconds, Fraction(12))


def test_too_many_poses_are_refused_by_the_walk_itself(made_shot):
    with pytest.raises(ModelError, match="poses_per_step"):
        retimed(made_shot(), 241)


def test_steps_of_their_own_pauses_holds_and_edits_go_along(made_shot):
    """By hand, twice as many poses: step 2 of 8 poses gets 16; pose 10, in the middle of it, comes to be 19."""
    shot = replace(
        made_shot(walk=Walk(steps=3, step_mm=40.0, pause_poses=1)),
        step_changes=(StepChange("2", (("poses_per_step", 8), ("lift_mm", 9.0))),),
        holds=(Hold(12, 5),),
        edits=Edits((FootfallEdit(3, later_poses=1),), (BodyEdit(12, up_mm=2.0, over_poses=3.0),), (0.0, 1.0, 2.0)),
    )
    assert shot.laid_out.start.tolist() == [0, 7, 16]
    found = retimed(shot, 12, typed={"pause_poses", "steps", "step_mm"})
    new = found.shot
    assert new.laid_out.start.tolist() == [0, 14, 32]
    assert dict(new.step_changes[0].values) == {"poses_per_step": 16, "lift_mm": 9.0}
    assert [(one.key, one.old, one.new) for one in found.in_steps] == [("step.2.poses_per_step", 8, 16)]
    assert found.values["pause_poses"] == 2
    assert new.holds == (Hold(23, 5),)
    assert (new.edits.footfalls[0].later_poses, new.edits.body) == (2, (BodyEdit(23, up_mm=2.0, over_poses=6.0),))
    assert new.edits.hips_up_mm == (0.0, 0.5, 1.0, 1.5, 2.0)


def test_a_step_that_the_walks_new_values_would_not_fit_gets_its_own(made_shot):
    walk = Walk(steps=2, step_mm=40.0, poses_per_step=12, passing_pose=9, lift_off_poses=2)
    shot = replace(made_shot(walk=walk), step_changes=(StepChange("2", (("poses_per_step", 10),)),))
    new = retimed(shot, 6).shot
    assert new.walk.passing_pose == 5
    assert dict(new.step_changes[0].values)["passing_pose"] == 4


def test_two_holds_that_come_to_be_one_pose_keep_the_longer(made_shot):
    shot = replace(made_shot(walk=Walk(steps=2, step_mm=40.0, poses_per_step=12)), holds=(Hold(4, 3), Hold(5, 7)))
    assert retimed(shot, 3).shot.holds == (Hold(2, 7),)
