"""A spine that bends: the pelvis follows the hind legs, the chest, at the waist, the legs that hang on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.check import findings_of
from striderule.check.bench import flat_band, walk_band
from striderule.errors import ModelError
from striderule.export.poses_csv import poses_csv_text
from striderule.model.floor import Floor
from striderule.model.path import PathPiece
from striderule.model.puppet import Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_puppet, load_shot, parse_puppet
from striderule.model.stage import Stage
from striderule.model.track import track_of
from striderule.solve import FootState, solve
from striderule.solve.plan import Plan

TAPIR = load_shot(starter_paths()["tapir"])
HIND, FORE = slice(0, 2), slice(2, 4)
DELAY = 4  # poses: a quarter of a stride of 16


def with_waist(shot: Shot, turn=None, lean=None, tilt=None) -> Shot:
    body = replace(shot.puppet.body, waist_turn_deg=turn, waist_lean_deg=lean, waist_tilt_deg=tilt)
    return replace(shot, puppet=replace(shot.puppet, body=body))


def stiff(shot: Shot) -> Shot:
    legs = tuple(replace(leg, part="body") for leg in shot.puppet.legs)
    return replace(shot, puppet=replace(shot.puppet, legs=legs))


def middle(plan: Plan, legs: slice) -> np.ndarray:
    return plan.hip_mm[:, legs].mean(axis=1)


def test_each_pair_s_hips_go_as_its_own_legs_ask_the_fore_ones_as_much_later_as_they_step() -> None:
    """Height and sway of both pairs to rounding, which a stiff trunk cannot give both."""
    plan = solve(with_waist(TAPIR))
    hind, fore = middle(plan, HIND), middle(plan, FORE)
    np.testing.assert_allclose(hind[:, 2], plan.hip_line_mm, rtol=0, atol=1e-9)
    np.testing.assert_allclose(fore[DELAY:, 1:], hind[:-DELAY, 1:], rtol=0, atol=1e-9)
    other = solve(stiff(with_waist(TAPIR)))
    assert np.abs(middle(other, FORE)[DELAY:, 1] - middle(other, HIND)[:-DELAY, 1]).max() > 1.0


def test_pelvis_and_chest_turn_and_roll_as_their_own_legs_ask() -> None:
    """The pelvis turns 2 degrees to each side at the hind pair's contacts, the chest at the fore pair's: what is
    between them follows those, whatever both turn together."""
    shot = with_waist(replace(TAPIR, walk=replace(TAPIR.walk, pelvis_turn_deg=2.0, pelvis_drop_deg=1.5)))
    plan = solve(shot)
    apart = plan.chest_deg - plan.body_deg
    own = solve(
        replace(stiff(shot), walk=replace(shot.walk, sway=0.0, phase=0.0))
    )  # both pairs at once: one trunk turns
    turn, roll = own.body_deg[:, 0], own.body_deg[:, 2]
    assert np.abs(turn).max() == pytest.approx(2.0)
    np.testing.assert_allclose(apart[DELAY:, 0], turn[:-DELAY] - turn[DELAY:], rtol=0, atol=1e-9)
    np.testing.assert_allclose(apart[DELAY:, 2], roll[:-DELAY] - roll[DELAY:], rtol=0, atol=1e-9)
    np.testing.assert_allclose(apart[:, 1], 0.0, atol=1e-9)  # a flat floor bends no back
    assert np.abs(plan.upper.waist_deg[:, 0]).max() > 2.0


def test_legs_of_the_chest_hang_on_it_and_keep_their_lengths() -> None:
    plan = solve(TAPIR)
    for i, leg in enumerate(TAPIR.puppet.legs):
        np.testing.assert_allclose(plan.hip_mm[:, i], plan.on_part(leg.part, np.array(leg.hip_mm)), atol=1e-9)
        np.testing.assert_allclose(np.linalg.norm(plan.knee_mm[:, i] - plan.hip_mm[:, i], axis=1), leg.thigh_mm)
        thigh = plan.hip_mm[:, i] - leg.thigh_mm * plan.thigh_axes[:, i, :, 2]
        np.testing.assert_allclose(thigh, plan.knee_mm[:, i], atol=1e-9)
    assert not plan.gap_mm.any()
    np.testing.assert_allclose(np.diff(plan.reference_mm[:, 0]), 5.5, atol=1e-9)  # the reference point goes on evenly


def test_the_waist_s_stops_hold_both_give_way_alike_and_a_finding_says_what_is_missing() -> None:
    plan = solve(with_waist(TAPIR, (-1.0, 1.0), (-5.0, 5.0), (-0.5, 0.5)))
    waist = plan.upper.waist_deg
    assert np.abs(waist[:, 0]).max() <= 1.0 + 1e-9
    assert np.abs(waist[:, 2]).max() <= 0.5 + 1e-9
    found = {(one.code, one.joint) for one in findings_of(plan, with_cures=False)}
    assert ("waist-past-stop", "waist") in found
    assert np.abs(middle(plan, HIND)[:, 2] - plan.hip_line_mm).max() < 0.01
    free = solve(with_waist(TAPIR))
    assert np.abs(free.upper.waist_deg[:, 0]).max() == pytest.approx(
        np.abs(plan.upper.waist_asked_deg[:, 0]).max(), abs=0.02
    )


def test_a_waist_that_does_not_move_leaves_a_stiff_trunk() -> None:
    plan = solve(with_waist(TAPIR, (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)))
    np.testing.assert_allclose(plan.chest_axes, plan.body_axes, atol=1e-12)
    other = solve(stiff(TAPIR))
    assert np.abs(plan.hip_mm - other.hip_mm).max() < 2.0
    assert np.isfinite(plan.hip_mm).all()


def test_on_a_curve_hips_and_shoulders_both_stay_over_the_track() -> None:
    walk = replace(TAPIR.walk, steps=14, sway=0.0)
    shot = with_waist(replace(TAPIR, path=(PathPiece(straight_mm=150.0), PathPiece(turn_deg=90.0, radius_mm=260.0)),
                              walk=walk))  # fmt: skip
    track = track_of(shot.path, shot.stage.start_mm, 1.0)
    net = track.on(np.arange(-300.0, 1200.0, 0.05))[0].T

    def off(plan: Plan, legs: slice) -> float:
        places = middle(plan, legs)[:, :2]
        return max(float(np.sqrt(((net - one) ** 2).sum(axis=1).min())) for one in places)

    bent, straight = solve(shot), solve(stiff(shot))
    assert off(bent, HIND) < 0.1
    assert off(bent, FORE) < 1.5
    assert max(off(straight, HIND), off(straight, FORE)) > 3.0
    middle_of_curve = bent.poses // 2
    assert bent.upper.waist_deg[middle_of_curve - 8 : middle_of_curve + 8, 0].mean() > 10  # bends to the left
    assert not bent.gap_mm.any()


def test_where_a_slope_begins_the_back_bends_as_the_floor_does() -> None:
    floor = Floor(heights_mm=((0.0, 0.0), (160.0, 0.0), (1000.0, 147.0)))  # 10 degrees up
    plan = solve(with_waist(replace(TAPIR, floor=floor, walk=replace(TAPIR.walk, steps=10))))
    lean = plan.upper.waist_deg[:, 1]
    assert lean.min() < -4  # the chest leans back against the pelvis while only it is on the slope
    assert abs(lean[-4:]).max() < 1.5  # and lies in line again when both are
    hind, fore = middle(plan, HIND), middle(plan, FORE)
    np.testing.assert_allclose(hind[:, 2], plan.hip_line_mm + plan.floor_mm, rtol=0, atol=1e-6)
    assert (fore[-8:, 2] - hind[-8:, 2]).mean() == pytest.approx(144 * np.sin(np.arctan(147 / 840)), abs=1.5)


@pytest.mark.parametrize("values", [
    {"start": "standing", "stop": "standing"}, {"on_the_spot": True}, {"surge": 0.3}, {"gait": "trot", "duty": 0.6},
    {"lean_deg": 4.0}, {"pause_poses": 3},
])  # fmt: skip
def test_every_kind_of_walk_bends_without_a_gap_or_a_number_that_is_none(values) -> None:
    plan = solve(replace(TAPIR, walk=replace(TAPIR.walk, **values), stage=Stage(start_mm=(30.0, -20.0))))
    for name in ("body_mm", "hip_mm", "knee_mm", "chest_deg", "waist_mm"):
        assert np.isfinite(getattr(plan, name)).all()
    down = plan.state == FootState.PLANTED
    for i in range(4):
        for stance in (one for one in plan.stances if one.leg == i):
            poses = np.arange(max(stance.first, 0), min(stance.last, plan.poses - 1) + 1)
            flat = poses[down[poses, i]]
            still = plan.heel_mm[flat, i] - plan.floor_shift_mm[flat]
            if len(flat):
                np.testing.assert_allclose(still - still[0], 0.0, atol=1e-9)


def test_a_turn_on_the_spot_bends_nothing_it_should_not() -> None:
    shot = replace(TAPIR, path=(PathPiece(turn_deg=60.0, radius_mm=0.0),), walk=replace(TAPIR.walk, steps=None))
    plan = solve(shot)
    assert np.isfinite(plan.hip_mm).all()
    assert np.abs(plan.upper.waist_deg).max() < 15.0 + 1e-9


def test_a_leg_of_the_chest_has_its_band_where_the_plan_has_it() -> None:
    plan = solve(TAPIR)
    for leg in range(4):
        band = walk_band(plan, leg)
        mine = plan.band.highest_leg == leg
        np.testing.assert_allclose((band.highest_mm - plan.hip_mm[:, leg, 2])[mine],
                                   (plan.band.highest_mm - plan.hip_line_mm)[mine], atol=1e-6)  # fmt: skip
    fore = TAPIR.puppet.legs[2]
    assert (
        flat_band(fore, np.zeros(1)).highest_mm[0] == flat_band(replace(fore, part="body"), np.zeros(1)).highest_mm[0]
    )


def test_six_legs_may_have_two_pairs_on_the_body_and_one_on_the_chest() -> None:
    hind, fore = TAPIR.puppet.legs[0], TAPIR.puppet.legs[2]
    middle_pair = replace(hind, name="mid_left", hip_mm=(0.0, 19.0, 0.0))
    legs = (*TAPIR.puppet.legs[:2], middle_pair, middle_pair.mirrored("mid_right"), fore, fore.mirrored("fore_right"))
    plan = solve(
        replace(TAPIR, puppet=replace(TAPIR.puppet, legs=legs), walk=replace(TAPIR.walk, gait="trot", duty=0.6))
    )
    assert not plan.gap_mm.any()
    np.testing.assert_allclose(middle(plan, slice(0, 4))[:, 2], plan.body_mm[:, 2], atol=6.0)


def test_chest_legs_are_refused_where_no_spine_could_bend() -> None:
    legs = TAPIR.puppet.legs
    with pytest.raises(ModelError, match=r"leg\.hind_left\.part: .*4 on the chest and 0 on the body"):
        replace(TAPIR.puppet, legs=tuple(replace(leg, part="chest") for leg in legs))
    with pytest.raises(ModelError, match="1 on the chest and 3 on the body"):
        replace(TAPIR.puppet, legs=(*legs[:2], replace(legs[2], part="body"), legs[3]))
    with pytest.raises(ModelError, match="ahead of all that are on the body"):
        replace(TAPIR.puppet, legs=tuple(replace(leg, part="chest" if k < 2 else "body") for k, leg in enumerate(legs)))
    with pytest.raises(ModelError, match=r"walk\.top: expected turning, because the chest carries legs"):
        replace(TAPIR, walk=replace(TAPIR.walk, top="level"))


def test_the_part_is_written_and_read_and_the_columns_tell_the_waist() -> None:
    text = dump_puppet(TAPIR.puppet)
    assert text.count('part = "chest"') >= 1
    assert parse_puppet(text, "x") == TAPIR.puppet
    assert isinstance(TAPIR.puppet, Puppet)
    header = poses_csv_text(solve(TAPIR)).splitlines()[0].split(",")
    assert {"chest_yaw_deg", "waist_turn_deg", "waist_x_mm", "support_margin_mm"} <= set(header)
