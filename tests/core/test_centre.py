"""The puppet's centre over the feet that are down; walks of four and six legs by the definitions of their gaits."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import numpy as np
import pytest

from striderule.check import findings_of
from striderule.check.centre import support_of
from striderule.check.weight.support import hull_margin
from striderule.errors import ModelError
from striderule.export.poses_csv import poses_csv_text
from striderule.model.groups import GAIT_PHASES
from striderule.model.puppet import Body, Leg, Limits, Puppet, Shape
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips, Walk
from striderule.solve import FootState, solve
from striderule.solve.plan import Plan

STEP = 40.0


def beast(pairs: int) -> Puppet:
    """Pairs of legs 120 mm apart on feet that are nearly points; all the mass in one ball in the middle."""
    along = np.linspace(-60.0 * (pairs - 1), 60.0 * (pairs - 1), pairs).tolist()
    legs: list[Leg] = []
    for i, x in enumerate(along):
        left = Leg(f"left{i}", (x, 20.0, 0.0), 60.0, 60.0, 5.0, 0.0, 0.01, "forward", 0.0, 0.5, (0.0, 0.0), "left")
        left = replace(left, thigh_g=0.0, shank_g=0.0, foot_g=0.0, limits=Limits(ankle_deg=(-80.0, 70.0)))
        legs += [left, left.mirrored(f"right{i}")]
    body = Body(body_g=400.0, chest_g=0.0, head_g=0.0)
    return Puppet("beast", tuple(legs), body, (Shape("ball", centre_mm=(0.0, 0.0, 20.0), radius_mm=30.0),))


def creep(pairs: int = 2, **values) -> Shot:
    """A walk without sway, turn, drop, lean, heel strike or toe roll: an ideal beast's."""
    still = ("sway", "pelvis_turn_deg", "pelvis_drop_deg", "lean_deg", "heel_off_deg", "heel_strike_deg")
    ideal = {
        "steps": 8,
        "step_mm": STEP,
        "width_mm": 40.0,
        "lift_mm": 8.0,
        "hips": Hips(*[110.0] * 4),
        **dict.fromkeys(still, 0.0),
    }
    return Shot("beast", puppet=beast(pairs), walk=Walk(**(ideal | values)))


def landings(plan: Plan, leg: str) -> np.ndarray:
    """Poses at which a foot lands, of the whole walk."""
    f = plan.footing
    mine = f.leg == plan.legs.index(leg)
    return np.sort(f.first[mine])


def least_margin(plan: Plan) -> float:
    """The least margin of the walk with feet as points, also in the moment of a landing, when the foot that lifts then
    carries nothing any more and the landing one nothing yet."""
    centre = support_of(plan).centre_mm[:, :2]
    down = plan.state != FootState.AIR
    least = np.inf
    for pose in range(1, plan.poses - 1):
        feet = [i for i in range(len(plan.legs)) if down[pose, i]]
        always = [i for i in feet if down[pose - 1, i] and down[pose + 1, i]]
        leaving = [i for i in feet if down[pose - 1, i] and not down[pose + 1, i]]
        coming = [i for i in feet if not down[pose - 1, i] and down[pose + 1, i]]
        for standing in ([*always, *leaving], [*always, *coming]):
            points = plan.ankle_mm[pose, standing, :2] - centre[pose]
            least = min(least, float(hull_margin(points[None])[0]))
    return least


@pytest.mark.parametrize("n", [4, 8, 12, 24])
def test_at_a_duty_of_three_quarters_the_centre_touches_the_edge_of_the_feet(n) -> None:
    """McGhee & Frank, Math. Biosci. 3 (1968) 331: an ideal quadruped can walk and never fall only where each foot is
    down for more than 3/4 of the stride, best with a phase of 1 - duty; at exactly 3/4 its margin is 0."""
    plan = solve(creep(poses_per_step=n, duty=0.75, phase=0.25))
    assert least_margin(plan) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("duty", "n"), [(0.8, 10), (0.85, 10), (0.9, 10), (0.875, 8)])
def test_at_a_longer_duty_it_stays_inside_by_the_longitudinal_margin_that_the_theory_gives(duty, n) -> None:
    """Along, the margin at its least is (duty - 3/4) of the stride (McGhee & Frank 1968); square to a triangle's side
    it is less, by that side's slant."""
    plan = solve(creep(poses_per_step=n, duty=duty, phase=1.0 - duty))
    least = least_margin(plan)
    assert 0 < least <= (duty - 0.75) * 2 * STEP + 1e-6
    assert not [one for one in findings_of(plan, with_cures=False) if one.code == "centre-outside"]


@pytest.mark.parametrize("duty", [0.55, 0.6])
def test_at_a_shorter_duty_the_centre_is_outside_and_a_finding_says_where_and_how_far(duty) -> None:
    plan = solve(creep(poses_per_step=10, duty=duty, phase=1.0 - duty))
    assert least_margin(plan) < -1
    (one,) = [one for one in findings_of(plan) if one.code == "centre-outside"]
    support = support_of(plan)
    assert (one.severity, one.unit) == ("note", "mm")
    assert one.number == pytest.approx(-support.margin_mm.min())
    outside = np.flatnonzero(support.margin_mm < -1e-6) + 1
    assert [pose for first, last in one.runs for pose in range(first, last + 1)] == outside.tolist()
    assert f"{one.number:.1f} mm in pose" in one.text
    assert "centre of mass" in one.text


def test_two_legs_get_no_finding_and_the_column_only_where_they_were_weighed() -> None:
    plan = solve(load_shot(starter_paths()["lamplighter"]))
    assert not [one for one in findings_of(plan, with_cures=False) if one.code == "centre-outside"]
    assert "support_margin_mm" in poses_csv_text(plan)
    body = replace(plan.shot.puppet.body, head_g=None)
    plan = solve(replace(plan.shot, puppet=replace(plan.shot.puppet, body=body)))
    assert "support_margin_mm" not in poses_csv_text(plan)


def test_a_puppet_that_was_not_weighed_stands_by_the_middle_of_its_hips_and_says_so() -> None:
    shot = creep(poses_per_step=10, duty=0.6, phase=0.4)
    plan = solve(replace(shot, puppet=replace(shot.puppet, body=Body())))
    support = support_of(plan)
    assert not support.weighed
    np.testing.assert_allclose(support.centre_mm, plan.hip_mm.mean(axis=1))
    (one,) = [one for one in findings_of(plan, with_cures=False) if one.code == "centre-outside"]
    assert "not all parts were weighed" in one.text


def test_the_centre_of_mass_is_the_mean_of_what_was_weighed() -> None:
    """One part after the other made heavy: the centre goes to where that part is."""
    tapir = load_shot(starter_paths()["tapir"])
    plan = solve(tapir)
    for part, near, far, share in (
        ("thigh", "hip_mm", "knee_mm", 0.433),
        ("shank", "knee_mm", "hock_mm", 0.433),
        ("cannon", "hock_mm", "ankle_mm", 0.5),
        ("foot", "ankle_mm", "ball_mm", 0.5),
    ):
        legs = tuple(replace(leg, **{f"{part}_g": 1e5 if leg.name == "hind_right" else getattr(leg, f"{part}_g")})
                     for leg in tapir.puppet.legs)  # fmt: skip
        heavy = support_of(replace(plan, shot=replace(tapir, puppet=replace(tapir.puppet, legs=legs))))
        at = getattr(plan, near)[:, 1] + share * (getattr(plan, far) - getattr(plan, near))[:, 1]
        np.testing.assert_allclose(heavy.centre_mm, at, atol=1.0)
    headless = replace(tapir.puppet, body=replace(tapir.puppet.body, head_g=0.0))
    without = support_of(replace(plan, shot=replace(tapir, puppet=headless)))
    assert (without.centre_mm[:, 0] < support_of(plan).centre_mm[:, 0] - 10).all()


def test_at_every_pose_of_the_tapir_three_feet_are_down_and_its_centre_is_inside_them() -> None:
    plan = solve(load_shot(starter_paths()["tapir"]))
    assert ((plan.state != FootState.AIR).sum(axis=1) >= 3).all()
    margin = support_of(plan).margin_mm
    assert margin.min() > 5
    rows = list(csv.DictReader(io.StringIO(poses_csv_text(plan))))
    assert [row["support_margin_mm"] for row in rows] == [f"{one:.4f}" for one in margin]


@pytest.mark.parametrize("duty", [0.5, 0.55, 0.62, 0.7, 0.75, 0.8, 0.9, 0.95])
@pytest.mark.parametrize("n", [4, 5, 8, 11])
def test_a_stance_is_never_rounded_shorter_than_its_duty(duty, n) -> None:
    if duty > 1 - 1 / n + 1e-9:
        with pytest.raises(ModelError, match=rf"walk\.duty: expected at most {1 - 1 / n:.3g}"):
            creep(poses_per_step=n, duty=duty)
        return
    plan = solve(creep(poses_per_step=n, duty=duty))
    f = plan.footing
    assert ((f.last - f.first) >= 2 * n * duty - 1e-9).all()
    assert ((f.last - f.first) < 2 * n * duty + 1).all()


@pytest.mark.parametrize("gait", sorted(GAIT_PHASES))
@pytest.mark.parametrize("n", [8, 12])
def test_a_gait_s_phase_is_hildebrand_s_measured_on_the_footfalls(gait, n) -> None:
    """Hildebrand, Science 150 (1965) 701: the share of a stride by which a fore footfall follows that of the hind foot
    of its side; left and right of a pair are half a stride apart."""
    known = {"pace": 0.0, "lateral-sequence": 0.25, "trot": 0.5, "diagonal-sequence": 0.75}[gait]
    plan = solve(creep(poses_per_step=n, gait=gait))
    stride = 2 * n
    for side in ("left", "right"):
        hind, fore = landings(plan, f"{side}0"), landings(plan, f"{side}1")
        assert (np.diff(hind) == stride).all()
        assert (np.diff(fore) == stride).all()
        assert {(one - hind[0]) % stride / stride for one in fore.tolist()} == {known}
    for pair in (0, 1):
        assert (landings(plan, f"right{pair}")[0] - landings(plan, f"left{pair}")[0]) % stride == n


def test_six_legs_walk_as_two_tripods() -> None:
    """Half a stride from pair to pair: fore and hind foot of a side step with the middle one of the other (the
    alternating tripod of insects; common knowledge, no source). Three feet are down in every pose, and the centre is
    inside them."""
    plan = solve(creep(3, poses_per_step=8, phase=0.5, duty=0.55))
    down = plan.state != FootState.AIR
    one, other = ([plan.legs.index(name) for name in names] for names in (
        ("left0", "right1", "left2"), ("right0", "left1", "right2")))  # fmt: skip
    for tripod in (one, other):
        assert (down[:, tripod] == down[:, tripod[:1]]).all()
    assert (down[:, one[0]] | down[:, other[0]]).all()
    assert not down[:, one[0]].all()
    assert (down.sum(axis=1) >= 3).all()
    assert support_of(plan).margin_mm.min() > 10
    assert not plan.gap_mm.any()
    assert not [one for one in findings_of(plan, with_cures=False) if one.severity == "impossible"]


def test_six_legs_of_a_wave_gait_never_have_two_neighbours_of_a_side_free() -> None:
    plan = solve(creep(3, poses_per_step=12, phase=0.25, duty=0.75))
    free = plan.state == FootState.AIR
    for side in ("left", "right"):
        hind, middle, fore = (free[:, plan.legs.index(f"{side}{k}")] for k in range(3))
        assert not (hind & middle).any()
        assert not (middle & fore).any()
    assert support_of(plan).margin_mm.min() > 10
