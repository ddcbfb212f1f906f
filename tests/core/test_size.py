"""The character's size: poses a step by the pendulum rule, and what would be a run."""

from dataclasses import replace

import pytest

from striderule.adjust.size import froude_number, pendulum_poses, pendulum_step_s, sized
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot


def lamplighter():
    return load_shot(starter_paths()["lamplighter"])


@pytest.mark.parametrize(
    ("hip_m", "seconds", "poses", "whole"),
    [(9.0, 1.581, 18.97, 19), (3.6, 1.0, 12.0, 12), (0.2, 0.236, 2.83, 3), (0.9, 0.5, 6.0, 6)],
)
def test_poses_a_step_follow_the_pendulum_rule_at_12_fps(hip_m, seconds, poses, whole):
    """T = .5 s sqrt(h / .9 m): common practice, no source."""
    assert pendulum_step_s(hip_m) == pytest.approx(seconds, abs=0.001)
    assert pendulum_poses(hip_m, 12) == pytest.approx(poses, abs=0.005)
    assert sized(lamplighter(), hip_m).suggested.poses == whole


def test_poses_on_twos_are_half_as_many():
    assert pendulum_poses(3.6, 24, 2) == pytest.approx(12.0)
    assert sized(replace(lamplighter(), fps="24", frames_per_pose=2), 3.6).suggested.poses == 12


def test_speed_and_froude_number_are_of_the_character_and_not_of_the_puppet():
    """v = step (h_character / h_puppet) / T; by hand: 60 mm x 900 / 118.9 in half a second."""
    found = sized(lamplighter(), 0.9)
    assert found.puppet_hip_mm == pytest.approx(118.9, abs=0.2)
    assert found.planned.speed_m_s == pytest.approx(0.06 * 900 / 118.9 / 0.5, rel=0.002)
    assert found.planned.froude == pytest.approx(found.planned.speed_m_s**2 / (9.80665 * 0.9))
    assert not found.planned.is_run
    assert found.warnings == ()


def test_a_giant_in_a_person_s_time_would_run_and_the_warning_s_cures_are_walks():
    shot = lamplighter()
    found = sized(shot, 9.0)
    assert found.planned.is_run
    assert not found.suggested.is_run
    (warning,) = found.warnings
    assert "6 poses a step would be a run: Froude number 0.93" in warning
    assert "step_mm at most 43.8, or 9 poses a step" in warning
    slower = sized(replace(shot, walk=replace(shot.walk, poses_per_step=9)), 9.0).planned
    assert not slower.is_run
    assert sized(replace(shot, walk=replace(shot.walk, poses_per_step=8)), 9.0).planned.is_run
    assert not sized(replace(shot, walk=replace(shot.walk, step_mm=43.8)), 9.0).planned.is_run


def test_a_small_character_is_told_that_its_poses_are_too_few():
    (warning,) = sized(lamplighter(), 0.2).warnings
    assert "2.8 poses are too few" in warning
    assert "more frames a second" in warning


def test_a_walk_on_the_spot_has_no_speed_and_no_warning():
    shot = lamplighter()
    found = sized(replace(shot, walk=replace(shot.walk, step_mm=0.0)), 9.0)
    assert found.planned.speed_m_s == 0
    assert found.warnings == ()


def test_a_froude_number_of_1_is_the_speed_of_a_body_that_leaves_its_arc():
    """v^2 / h = g: the centripetal acceleration over a straight leg is gravity's."""
    assert froude_number((9.80665 * 0.9) ** 0.5, 0.9) == pytest.approx(1.0)
