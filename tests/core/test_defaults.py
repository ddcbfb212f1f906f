"""What a walk takes where a person typed nothing."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from striderule.check import findings_of
from striderule.model.defaults import half_up, with_defaults
from striderule.model.puppet import Leg, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips, Walk
from striderule.solve import solve


@pytest.fixture(params=["heron", "lamplighter"])
def puppet(request: pytest.FixtureRequest):
    return load_shot(starter_paths()[request.param]).puppet


def test_every_open_value_is_filled(puppet) -> None:
    walk = with_defaults(Walk(), puppet)
    other_words = {"distance_mm", "gait", "phase", "duty"}  # for what steps, lift_off_poses and the leg order say
    for one in (field for field in fields(Walk) if field.name not in other_words):
        assert getattr(walk, one.name) is not None, one.name
    for one in fields(Hips):
        assert getattr(walk.hips, one.name) is not None, one.name


def test_filling_again_changes_nothing(puppet) -> None:
    walk = with_defaults(Walk(), puppet)
    assert with_defaults(walk, puppet) == walk


def test_a_typed_value_is_never_overwritten(puppet) -> None:
    typed = Walk(step_mm=41.0, sway=0.2, lift_mm=7.0, toe_roll_poses=1, hips=Hips(passing_mm=111.0))
    walk = with_defaults(typed, puppet)
    assert (walk.step_mm, walk.sway, walk.lift_mm, walk.toe_roll_poses, walk.hips.passing_mm) == (
        41.0,
        0.2,
        7.0,
        1,
        111.0,
    )


@pytest.mark.parametrize(
    ("n", "passing", "lift_off", "roll"), [(4, 2, 1, 2), (6, 3, 1, 2), (7, 4, 1, 2), (8, 5, 2, 3), (12, 7, 2, 4)]
)
def test_timing_defaults_follow_the_trade(n: int, passing: int, lift_off: int, roll: int) -> None:
    """Heel starts up max(1, round(n/6)) poses before contact, lift-off round(.2 n) after it (common practice, no
    source); passing half way, or a pose later where the foot would have to hurry more before it than after it."""
    puppet = load_shot(starter_paths()["lamplighter"]).puppet
    walk = with_defaults(Walk(poses_per_step=n), puppet)
    assert (walk.passing_pose, walk.lift_off_poses, walk.toe_roll_poses) == (passing, lift_off, roll)


def test_halves_round_up_and_not_to_even() -> None:
    assert [half_up(x) for x in (0.5, 1.5, 2.5, 2.49)] == [1, 2, 3, 2]


def test_a_heavy_landing_falls_half_as_far_again(puppet) -> None:
    soft, heavy = (with_defaults(Walk(landing=landing), puppet).hips for landing in ("soft", "heavy"))
    assert heavy.contact_mm - heavy.down_mm == pytest.approx(1.5 * (soft.contact_mm - soft.down_mm))


def test_a_person_s_hips_keep_about_97_percent_of_the_straight_leg() -> None:
    puppet = load_shot(starter_paths()["lamplighter"]).puppet
    hips = with_defaults(Walk(step_mm=60.0), puppet).hips
    mean = (hips.contact_mm + hips.down_mm + hips.passing_mm + hips.up_mm) / 4
    assert mean / puppet.legs[0].straight_mm == pytest.approx(0.975, abs=0.005)
    assert hips.up_mm < puppet.legs[0].straight_mm


def test_one_typed_hip_height_moves_the_others_with_it(puppet) -> None:
    open_hips = with_defaults(Walk(), puppet).hips
    typed = with_defaults(replace(Walk(), hips=Hips(contact_mm=open_hips.contact_mm - 4)), puppet).hips
    assert typed.up_mm == pytest.approx(open_hips.up_mm - 4)


@pytest.mark.parametrize("step", [0.0, 160.0, 5000.0])
@pytest.mark.parametrize("contact", [None, 1.0, 5000.0])
def test_open_hip_heights_stay_sensible_whatever_else_is_typed(puppet, step: float, contact: float | None) -> None:
    hips = with_defaults(Walk(step_mm=step, hips=Hips(contact_mm=contact)), puppet).hips
    heights = [hips.contact_mm, hips.down_mm, hips.passing_mm, hips.up_mm]
    assert max(heights) - min(heights) <= 0.07 * puppet.legs[0].straight_mm


@pytest.mark.parametrize("knee", ["forward", "backward"])
@pytest.mark.parametrize("poses", [4, 6, 8, 12, 24])
@pytest.mark.parametrize("landing", ["soft", "heavy"])
def test_a_puppet_measured_without_stops_walks_with_nothing_worse_than_a_note(
    knee: str, poses: int, landing: str
) -> None:
    """Three lines are a walk: two segments, a foot, and no limit measured."""
    left = Leg("left", (0.0, 15.0, 0.0), 140.0, 160.0, 10.0, 10.0, 30.0, knee, sole_width_mm=20.0)
    shot = Shot("x", puppet=Puppet("x", (left, left.mirrored("right"))),
                walk=Walk(poses_per_step=poses, landing=landing))  # fmt: skip
    findings = findings_of(solve(shot))
    assert {one.severity for one in findings} <= {"note"}
    assert "landing-slow" not in {one.code for one in findings}
    assert len(findings) <= 3


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 0.5, 0.6, 0.65])
@pytest.mark.parametrize("foot", [(6.0, 7.0, 11.0), (10.0, 10.0, 30.0)], ids=["small foot", "long foot"])
def test_any_step_up_to_two_thirds_of_the_leg_is_walked_without_locking_a_knee(
    share: float, foot: tuple[float, float, float]
) -> None:
    left = Leg("left", (0.0, 12.0, 0.0), 60.0, 58.0, *foot, "forward", 9.0, 12.0)
    shot = Shot("x", puppet=Puppet("x", (left, left.mirrored("right"))), walk=Walk(step_mm=118.0 * share))
    plan = solve(shot)
    assert plan.gap_mm.max() == 0
    assert plan.knee_deg.min() >= 5
    assert {one.severity for one in findings_of(plan)} <= {"note"}
