"""Legs of three bones: the third, the cannon, bends at the hock as the knee bends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from striderule.check import findings_of
from striderule.check.bench import flat_band, leg_lengths_mm
from striderule.check.bench_fit import bench_fit
from striderule.check.bench_model import predicted, values_of
from striderule.check.bench_words import stop_words
from striderule.check.limits import excesses
from striderule.check.weight.centres import parts_of
from striderule.check.weight.masses import masses_of
from striderule.check.weight.moments import joints_of, of_push
from striderule.draw.band_chart import band_chart
from striderule.draw.drawing import Label
from striderule.errors import ModelError
from striderule.export.poses_csv import columns_of, poses_csv_text
from striderule.model.bench import Measured
from striderule.model.bones import bend_of, crossing, length_of, most_bend
from striderule.model.puppet import Leg, Limits, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_puppet, load_shot, parse_puppet
from striderule.model.walk import Hips, Walk
from striderule.solve import Stop, solve

CANNON = Leg(
    "left", (0.0, 14.0, 0.0), 50.0, 48.0, 14.0, 8.0, 11.0, "forward", 9.0, 16.0, cannon_mm=36.0,
    limits=Limits((-60.0, 75.0), (-20.0, 25.0), (15.0, 115.0), (-75.0, 45.0), hock_deg=(10.0, 120.0)),
)  # fmt: skip
RATIOS = (0.6, 0.9, 1.0, 1.25)


def walk_of(leg: Leg, **values) -> Shot:
    puppet = Puppet("three bones", (leg, leg.mirrored("right")))
    values = {"steps": 3, "poses_per_step": 8, "step_mm": 50.0, "heel_off_deg": 15.0, **values}
    return Shot("x", puppet=puppet, walk=Walk(**values))


def unit(vectors: np.ndarray) -> np.ndarray:
    return vectors / np.linalg.norm(vectors, axis=-1, keepdims=True)


@settings(max_examples=200, deadline=None)
@given(*[st.floats(1, 300)] * 3, st.floats(0.2, 3.0), st.floats(0, 1))
def test_a_bend_is_found_again_from_the_length_it_gives(thigh, shank, cannon, ratio, share) -> None:
    bones = [np.array(one) for one in (thigh, shank, cannon, ratio - 1.0)]
    bend = share * most_bend(bones[3])
    length = length_of(*bones, bend)
    found = bend_of(*bones, length)
    assert 0 <= found <= most_bend(bones[3])
    assert abs(length_of(*bones, found) - length) < 1e-9


def test_ten_thousand_random_legs_fold_shorter_all_the_way_and_are_solved_within_1e_9_mm() -> None:
    rng = np.random.default_rng(1976)
    bones = *rng.uniform(5, 200, (3, 10_000)), rng.uniform(-0.8, 2.0, 10_000)
    bends = np.linspace(0, 1, 200)[:, None] * most_bend(bones[3])
    lengths = length_of(*bones, bends)
    assert (np.diff(lengths, axis=0) < 1e-9).all()
    at = rng.uniform(0, 1, 10_000) * most_bend(bones[3])
    np.testing.assert_allclose(length_of(*bones, bend_of(*bones, length_of(*bones, at))), length_of(*bones, at),
                               rtol=0, atol=1e-9)  # fmt: skip


def test_a_length_out_of_reach_gives_the_end_of_the_range() -> None:
    bones = [np.array(one) for one in (50.0, 48.0, 36.0, -0.2)]
    assert bend_of(*bones, np.array(500.0)) == 0
    assert bend_of(*bones, np.array(0.0)) == pytest.approx(np.pi, abs=1e-6)


def test_a_crossing_is_found_in_every_entry_and_an_entry_without_one_gives_an_end() -> None:
    slope = np.linspace(0.1, 9, 500)
    found = crossing(lambda x: np.cos(x) - slope * x, np.zeros(500), np.full(500, 1.5))
    np.testing.assert_allclose(np.cos(found), slope * found, atol=1e-11)
    assert crossing(lambda x: x + 1.0, np.zeros(1), np.ones(1))[0] in (0.0, 1.0)
    assert crossing(lambda x: x, np.zeros(1), np.ones(1))[0] == 0
    assert crossing(lambda x: x - 1.0, np.zeros(1), np.ones(1))[0] == 1


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("knee", ["forward", "backward"])
def test_every_bone_keeps_its_length_and_the_hock_bends_with_the_knee_the_other_way(ratio, knee) -> None:
    plan = solve(walk_of(replace(CANNON, hock_ratio=ratio, knee=knee), toe_out_deg=8.0, lean_deg=6.0))
    assert not plan.gap_mm.any()
    for places, mm in (((plan.hip_mm, plan.knee_mm), 50), ((plan.knee_mm, plan.hock_mm), 48),
                       ((plan.hock_mm, plan.ankle_mm), 36)):  # fmt: skip
        np.testing.assert_allclose(np.linalg.norm(places[1] - places[0], axis=-1), mm, rtol=0, atol=1e-9)
    np.testing.assert_allclose(plan.hock_deg, ratio * plan.knee_deg, rtol=0, atol=1e-9)
    thigh, shank, cannon = (unit(b - a) for a, b in ((plan.hip_mm, plan.knee_mm), (plan.knee_mm, plan.hock_mm),
                                                    (plan.hock_mm, plan.ankle_mm)))  # fmt: skip
    for one, other, bend in ((thigh, shank, plan.knee_deg), (shank, cannon, plan.hock_deg)):
        cosine = np.einsum("pld,pld->pl", one, other)
        np.testing.assert_allclose(cosine, np.cos(np.radians(bend)), rtol=0, atol=1e-9)
    # one turns forward where the other turns back
    assert (np.sign(np.cross(thigh, shank)[..., 1]) == -np.sign(np.cross(shank, cannon)[..., 1])).all()
    side = 1 if knee == "forward" else -1
    assert (side * np.cross(thigh, shank)[..., 1] > 0).all()
    for axes, down in ((plan.thigh_axes, thigh), (plan.shank_axes, shank), (plan.cannon_axes, cannon)):
        np.testing.assert_allclose(-axes[..., 2], down, rtol=0, atol=1e-9)


def test_at_ratio_1_the_cannon_is_parallel_to_the_thigh_and_the_leg_reaches_as_two_bones_do() -> None:
    plan = solve(walk_of(CANNON))
    np.testing.assert_allclose(unit(plan.ankle_mm - plan.hock_mm), unit(plan.knee_mm - plan.hip_mm), rtol=0, atol=1e-12)
    two = replace(CANNON, thigh_mm=86.0, cannon_mm=None, limits=replace(CANNON.limits, hock_deg=(0.0, 175.0)))
    walk = plan.shot.settled_walk
    same = {"hips": walk.hips, "lift_mm": walk.lift_mm, "clearance_mm": walk.clearance_mm, "heel_strike_deg": 0.0}
    other = solve(walk_of(two, **same))
    np.testing.assert_allclose(other.ankle_mm, plan.ankle_mm, rtol=0, atol=1e-9)
    np.testing.assert_allclose(other.knee_deg, plan.knee_deg, rtol=0, atol=1e-9)
    np.testing.assert_allclose(other.hip_swing_deg, plan.hip_swing_deg, rtol=0, atol=1e-9)


def test_a_ratio_that_is_nearly_1_gives_nearly_the_closed_form() -> None:
    exact, near = (solve(walk_of(replace(CANNON, hock_ratio=ratio))) for ratio in (1.0, 1.0 + 1e-9))
    for name in ("knee_mm", "hock_mm", "ankle_deg"):
        np.testing.assert_allclose(getattr(near, name), getattr(exact, name), rtol=0, atol=1e-5)
    for name in ("lowest_mm", "highest_mm"):
        np.testing.assert_allclose(getattr(near.band, name), getattr(exact.band, name), rtol=0, atol=1e-5)


def test_legs_of_two_and_three_bones_in_one_puppet_do_not_change_each_other() -> None:
    tapir = load_shot(starter_paths()["tapir"])
    plan = solve(tapir)
    np.testing.assert_array_equal(plan.hock_mm[:, 2:], plan.ankle_mm[:, 2:])
    assert not plan.hock_deg[:, 2:].any()
    assert (plan.hock_deg[:, :2] > 0).all()
    hind = tapir.puppet.legs[0]
    no_cannon = {"cannon_mm": None, "hock_ratio": 1.0, "cannon_width_mm": None, "cannon_g": None}
    limits = replace(hind.limits, hock_deg=(0.0, 175.0))
    straight = replace(hind, thigh_mm=hind.thigh_mm + (hind.cannon_mm or 0), limits=limits, **no_cannon)
    settled = tapir.settled_walk
    walk = replace(settled, distance_mm=None)
    legs = (straight, straight.mirrored("hind_right"), *tapir.puppet.legs[2:])
    two = solve(replace(tapir, puppet=replace(tapir.puppet, legs=legs), walk=walk))
    for name in ("knee_mm", "ankle_mm"):
        np.testing.assert_allclose(getattr(two, name)[:, 2:], getattr(plan, name)[:, 2:], rtol=0, atol=1e-9)


@pytest.mark.parametrize("ratio", RATIOS)
def test_a_foot_out_of_reach_leaves_a_straight_leg_and_a_gap_and_nothing_is_nan(ratio) -> None:
    plan = solve(walk_of(replace(CANNON, hock_ratio=ratio), step_mm=260.0))
    far = plan.gap_mm > 1.0
    assert far.any()
    np.testing.assert_allclose(plan.knee_deg[far], 0.0, atol=1e-6)
    for name in ("knee_mm", "hock_mm", "ankle_mm", "hock_deg", "ankle_deg"):
        assert np.isfinite(getattr(plan, name)).all()
    np.testing.assert_allclose(np.linalg.norm(plan.ankle_mm - plan.hock_mm, axis=-1), 36.0, atol=1e-9)


def test_the_hock_s_stops_end_the_bend_where_they_come_first() -> None:
    leg = replace(CANNON, hock_ratio=0.8, limits=replace(CANNON.limits, knee_deg=(10.0, 120.0), hock_deg=(24.0, 80.0)))
    assert leg.knee_range_deg == pytest.approx((30.0, 100.0))
    assert leg.hock_sets_deg == (True, True)
    band = flat_band(leg, np.zeros(1))
    assert (band.lowest_stop[0], band.highest_stop[0]) == (Stop.HOCK_MOST, Stop.HOCK_LEAST)
    assert stop_words(leg, Stop.HOCK_MOST) == "hock's most bend 80"
    assert leg_lengths_mm(leg) == pytest.approx((leg.length_mm(100.0), leg.length_mm(30.0)))
    assert band.highest_mm[0] - leg.ankle_up_mm == pytest.approx(leg.length_mm(30.0))
    free = replace(CANNON, hock_ratio=0.8)
    assert free.hock_sets_deg == (False, False)


def test_hips_that_straighten_the_hock_too_far_are_told_once_with_the_hock_s_stop() -> None:
    leg = replace(CANNON, limits=replace(CANNON.limits, knee_deg=(20.0, 120.0), hock_deg=(40.0, 120.0)))
    plan = solve(walk_of(leg, hips=Hips(142.0, 142.0, 142.0, 142.0), step_mm=20.0))
    assert 20 < plan.hock_deg.min() < 40 - 1
    found = [one for one in findings_of(plan, with_cures=False) if one.joint in ("knee", "hock")]
    assert {(one.code, one.joint) for one in found if one.severity == "impossible"} == {
        ("hips-too-high", "hock"), ("joint-past-stop", "hock")  # standing, and in the air
    }  # fmt: skip
    assert "hock's least bend" in found[0].text
    assert {one.joint for one in excesses(plan)} == {"hip_swing", "hip_out", "knee", "hock", "ankle", "toe"}


def test_ruler_lengths_give_the_bends_of_a_leg_of_three_bones() -> None:
    leg = replace(CANNON, hock_ratio=0.9)
    ruler = (leg.length_mm(110.0), leg.length_mm(20.0))
    by_ruler = replace(leg, limits=replace(leg.limits, hip_to_ankle_mm=ruler, hock_deg=(0.0, 175.0)))
    assert by_ruler.knee_range_deg == pytest.approx((20.0, 110.0), abs=1e-9)
    assert leg_lengths_mm(by_ruler) == pytest.approx(ruler)
    with pytest.raises(ModelError, match="what thigh, shank and cannon can make"):
        replace(leg, limits=replace(leg.limits, hip_to_ankle_mm=(90.0, 200.0)))


def test_stops_that_never_meet_and_values_of_a_bone_that_is_not_there_are_refused() -> None:
    with pytest.raises(ModelError, match=r"leg\.left\.limits\.hock_deg: .*the knee bends 15 to 115"):
        replace(CANNON, limits=replace(CANNON.limits, hock_deg=(120.0, 150.0)))
    with pytest.raises(ModelError, match=r"leg\.left\.hock_ratio: .*no cannon_mm"):
        replace(CANNON, cannon_mm=None, hock_ratio=0.8, limits=Limits())
    with pytest.raises(ModelError, match=r"leg\.left\.limits\.hock_deg: .*no cannon_mm"):
        replace(CANNON, cannon_mm=None)


def test_a_puppet_of_three_bones_survives_being_written() -> None:
    puppet = Puppet("x", (leg := replace(CANNON, hock_ratio=0.85, cannon_width_mm=7.0, cannon_g=5.0),
                          leg.mirrored("right")))  # fmt: skip
    text = dump_puppet(puppet)
    assert parse_puppet(text, "x") == puppet
    assert "cannon_mm = 36 " in text


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("knee", ["forward", "backward"])
def test_the_range_test_s_model_is_the_band_that_the_walk_has(ratio, knee) -> None:
    leg = replace(CANNON, hock_ratio=ratio, knee=knee)
    if knee == "backward":
        leg = replace(leg, limits=replace(leg.limits, hip_swing_deg=(-75.0, 60.0), ankle_deg=(-45.0, 75.0)))
    foot = np.linspace(-50, 50, 21)
    band = flat_band(leg, foot)
    found = predicted(leg, values_of(leg)[1][None], foot)
    assert band.fits.all()
    np.testing.assert_allclose(found.lowest_mm[0], band.lowest_mm, rtol=0, atol=1e-6)
    np.testing.assert_allclose(found.highest_mm[0], band.highest_mm, rtol=0, atol=1e-6)
    assert (found.folded_mm[0], found.straight_mm[0]) == pytest.approx(leg_lengths_mm(leg))


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("knee", ["forward", "backward"])
def test_at_every_height_of_the_band_and_none_outside_it_all_joints_are_inside_their_stops(ratio, knee) -> None:
    """Against the leg bent degree by degree, without any solving: bends give heights, not heights bends."""
    leg = replace(CANNON, hock_ratio=ratio, knee=knee)
    stops = (-25.0, 45.0), (-45.0, 20.0)
    swing_range, ankle_range = stops if knee == "forward" else ((-45.0, 25.0), (-20.0, 45.0))
    leg = replace(leg, limits=replace(leg.limits, hip_swing_deg=swing_range, ankle_deg=ankle_range))
    side = leg.knee_side
    least, most = leg.knee_range_deg
    bend = np.radians(np.linspace(0.0, 130.0, 4001))
    last = (ratio - 1) * bend  # of the cannon from the thigh, to the knee's side
    across = 48 * np.sin(-bend) + 36 * np.sin(last)
    down = 50 + 48 * np.cos(bend) + 36 * np.cos(last)
    length, off = np.hypot(across, down), np.arctan2(across, down)
    cut = 0
    for foot in np.linspace(-45, 45, 19):
        band = flat_band(leg, np.array([foot]))
        over = np.sqrt(np.maximum(length**2 - foot**2, 0))
        thigh = np.arctan2(foot, over) - side * off
        ankle = -(thigh + side * last)
        good = (length > abs(foot)) & (np.degrees(bend) >= least) & (np.degrees(bend) <= most)
        for angle, (low, high) in ((thigh, swing_range), (ankle, ankle_range)):
            good &= (np.degrees(angle) >= low) & (np.degrees(angle) <= high)
        assert band.fits[0] == good.any()
        if good.any():
            heights = over[good] + leg.ankle_up_mm
            step = np.abs(np.diff(over)).max()
            assert heights.min() == pytest.approx(band.lowest_mm[0], abs=step)
            assert heights.max() == pytest.approx(band.highest_mm[0], abs=step)
            assert good[np.argmax(good) : len(good) - np.argmax(good[::-1])].all()  # one run of heights
            cut += {int(band.lowest_stop[0]), int(band.highest_stop[0])} - {1, 2, 9, 10} != set()
    assert cut > 4  # hip and ankle do set edges here


def test_a_range_test_says_which_of_the_three_bones_is_off() -> None:
    written = replace(CANNON, hock_ratio=0.7)
    real = replace(written, shank_mm=50.5)
    foot = np.arange(-40.0, 41.0, 10.0)
    band = flat_band(real, foot)
    folded, straight = leg_lengths_mm(real)
    lines = [Measured(foot_mm=float(u), lowest_mm=float(a), highest_mm=float(b))
             for u, a, b in zip(foot, band.lowest_mm, band.highest_mm, strict=True)]  # fmt: skip
    fit = bench_fit(replace(written, measured=(Measured(folded_mm=folded, straight_mm=straight), *lines)))
    assert fit is not None
    assert [one.value.key for one in fit.offsets] == ["shank_mm"]
    assert fit.offsets[0].measured == pytest.approx(50.5, abs=0.2)
    assert "cannon_mm" in {one.key for one in values_of(written)[0]}


def test_poses_csv_has_the_hocks_behind_its_other_columns() -> None:
    plan = solve(load_shot(starter_paths()["tapir"]))
    header, first, *_ = (line.split(",") for line in poses_csv_text(plan).splitlines())
    own = columns_of(plan.legs)
    assert tuple(header[: len(own)]) == own
    hocks = [name for name in header if "_hock_" in name]
    assert hocks == [f"hind_{side}_hock_{one}" for side in ("left", "right") for one in ("x_mm", "y_mm", "z_mm", "deg")]
    row = dict(zip(header, first, strict=True))
    assert row["hind_right_hock_z_mm"] == f"{plan.hock_mm[0, 1, 2]:.4f}"
    assert row["hind_left_hock_deg"] == f"{plan.hock_deg[0, 0]:.4f}"


def turned(points: np.ndarray, at: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    """Points (n, 3) turned about an axis through a place (Rodrigues 1840, from memory)."""
    away = points - at
    c, s = np.cos(angle), np.sin(angle)
    return at + away * c + np.cross(axis, away) * s + np.outer(away @ axis, axis) * (1 - c)


@pytest.mark.parametrize("ratio", [0.8, 1.0, 1.3])
def test_a_linked_knee_carries_what_bending_it_would_lift(ratio) -> None:
    """Virtual work: the energy of all that the knee and the hock move together, a hair more bent, foot and cannon
    still."""
    tapir = load_shot(starter_paths()["tapir"])
    legs = tuple(replace(leg, hock_ratio=ratio) if leg.cannon_mm else leg for leg in tapir.puppet.legs)
    plan = solve(replace(tapir, puppet=replace(tapir.puppet, legs=legs)))
    parts = parts_of(plan)
    assert parts is not None
    leg, side = 0, legs[0].knee_side
    joint = next(one for one in joints_of(plan, parts) if (one.leg, one.name) == (leg, "knee"))
    push = np.tile((parts.whole_n, 0.0, 0.0), (plan.poses, 1))  # this foot alone under the whole weight
    carried = of_push(joint.rows(parts), push)
    still, below = parts.of_leg(leg, "cannon", "foot"), parts.of_leg(leg, "shank")
    above = [i for i in range(len(parts.weight_n)) if i not in (*still, *below)]
    bend = 1e-5
    for pose in range(0, plan.poses, 7):
        axis, hock = plan.thigh_axes[pose, leg, :, 1], plan.hock_mm[pose, leg]
        energies = []
        for more in (-bend, bend):
            # the shank turns on the still cannon by the hock, the thigh and all it carries on the shank by the knee
            knee = plan.knee_mm[pose, leg][None]
            moved = parts.places_mm[pose].copy()
            knee, moved = (turned(one, hock, axis, side * ratio * more) for one in (knee, moved))
            moved[above] = turned(moved[above], knee[0], axis, -side * more)
            moved[still] = parts.places_mm[pose][still]
            energies.append(float(parts.weight_n @ moved[:, 2]))
        work = (energies[1] - energies[0]) / (2 * bend)
        assert abs(work) == pytest.approx(abs(carried[pose]), abs=1e-4)
    assert np.abs(carried).max() > 10


def test_a_cannon_s_mass_counts_in_the_whole_and_is_shared_where_it_was_not_weighed() -> None:
    puppet = load_shot(starter_paths()["tapir"]).puppet
    weighed = {(one.part, one.leg): one.grams for one in masses_of(puppet).parts}
    assert weighed["cannon", 0] == puppet.legs[0].cannon_g == 7
    assert ("cannon", 2) not in weighed
    no_cannon = tuple(replace(leg, cannon_g=None, shank_g=None) for leg in puppet.legs)
    for how in ("volume", "person"):
        whole = replace(puppet, legs=no_cannon, body=replace(puppet.body, total_g=700.0, total_by=how))
        shared = {(one.part, one.leg): one for one in masses_of(whole).parts}
        cannon, shank = shared["cannon", 0], shared["shank", 0]
        assert cannon.how == shank.how == how
        assert 0 < (cannon.grams or 0) < (shank.grams or 0)
        assert masses_of(whole).total_g == pytest.approx(700.0)


def test_a_band_chart_names_the_hock_s_stops() -> None:
    leg = replace(CANNON, hock_ratio=0.8, limits=replace(CANNON.limits, knee_deg=(10.0, 120.0), hock_deg=(24.0, 80.0)))
    drawing = band_chart(Puppet("x", (leg, leg.mirrored("right"))), 0)
    words = [item.text for layer in drawing.layers for item in layer.items if isinstance(item, Label)]
    assert {"hock's most bend 80", "hock's least bend 24"} <= set(words)
