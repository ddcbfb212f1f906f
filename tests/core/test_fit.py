"""A walk made possible for its puppet: what is changed, what never is, and what is said where nothing fits."""

from __future__ import annotations

import random
import re
from dataclasses import replace

import numpy as np
import pytest

from striderule.adjust.fit import fit, trouble_of
from striderule.adjust.hip_curve import hip_curve
from striderule.adjust.in_band import with_curve
from striderule.adjust.values import value_of
from striderule.errors import ModelError
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot, parse_shot, typed_walk_keys
from striderule.model.walk import Hips
from striderule.solve import FootState, solve
from striderule_blender import cli


def starter(name="lamplighter", **values):
    shot = load_shot(starter_paths()[name])
    return replace(shot, walk=replace(shot.walk, **values))


@pytest.mark.parametrize("name", sorted(starter_paths()))
def test_a_possible_walk_comes_back_as_it_is(name):
    shot = starter(name)
    found = fit(shot)
    assert found.shot is shot
    assert found.fits
    assert found.untouched


def test_hips_too_high_come_down_by_a_curve_that_every_stride_repeats():
    shot = starter(steps=8, hips=Hips(contact_mm=121.6))
    found = fit(shot)
    assert found.fits
    assert not found.changed
    plan = solve(found.shot)
    assert (plan.hip_line_mm <= plan.band.highest_mm).all()
    assert (plan.hip_line_mm >= plan.band.lowest_mm).all()
    up = np.array(found.hips_up_mm)
    np.testing.assert_array_equal(up[12:], up[:-12])
    assert found.shot.walk == shot.walk  # typed hip heights stay as they are


def test_the_heel_is_tried_before_the_hips_and_the_step_only_where_it_is_allowed():
    long = starter(step_mm=100.0)
    kept = fit(long)
    assert value_of(kept.shot.walk, "step_mm") == 100.0
    assert not kept.fits
    assert kept.offered is not None
    assert kept.offered.key == "step_mm"
    shorter = fit(long, step=True)
    assert shorter.fits
    assert value_of(shorter.shot.walk, "step_mm") == kept.offered.new
    assert not fit(long, frozenset({"step_mm"}), step=True).fits


def test_where_nothing_fits_the_joint_and_what_it_would_need_are_named():
    shot = starter(heel_off_deg=0.0)
    found = fit(shot, frozenset({"heel_off_deg"}))
    assert not found.fits
    ankle = next(one for one in found.needs if one.joint == "ankle")
    assert (ankle.leg, ankle.has) == ("left", 25.0)
    assert ankle.needs > 30.0
    assert "its stop is at 25 degrees and would need to be at" in ankle.text
    # the puppet that has what is named can take the walk
    legs = tuple(
        replace(
            leg,
            thigh_mm=leg.thigh_mm + max((n.needs - n.has for n in found.needs if n.unit == "mm"), default=0.0),
            limits=replace(leg.limits, ankle_deg=(leg.limits.ankle_deg[0], ankle.needs + 1.0)),
        )
        for leg in shot.puppet.legs
    )
    able = replace(found.shot, puppet=replace(shot.puppet, legs=legs))
    assert trouble_of(solve(able)).findings < trouble_of(solve(found.shot)).findings


@pytest.mark.parametrize("seed", range(16))
def test_a_fit_is_never_worse_than_what_was_asked_keeps_typed_values_and_slides_no_foot(seed):
    rng = random.Random(seed)
    values = {
        "step_mm": round(rng.uniform(40, 110), 1),
        "poses_per_step": rng.randint(5, 13),
        "steps": rng.randint(2, 6),
        "heel_off_deg": rng.choice([None, 10.0, 30.0]),
        "lift_mm": rng.choice([None, 5.0, 30.0]),
        "width_mm": rng.choice([None, 4.0, 40.0]),
        "sway": rng.choice([None, 0.0, 0.9]),
        "start": rng.choice(["walking", "standing"]),
        "hips": Hips(contact_mm=rng.choice([None, 105.0, 117.0, 121.0])),
    }
    try:
        shot = starter(**values)
    except ModelError:
        pytest.fail("the values go together")
    typed = frozenset(rng.sample(sorted(values), 4))
    found = fit(shot, typed, step=rng.random() < 0.5)
    plan = solve(found.shot)
    asked, got = trouble_of(solve(shot)), trouble_of(plan)
    assert not got.exceeds(asked)
    assert found.fits == (got.findings == 0)
    assert bool(found.needs) != found.fits
    for key in typed:
        assert getattr(found.shot.walk, key) == getattr(shot.walk, key)
    assert {one.key for one in found.changed} <= {
        "toe_roll_poses", "heel_off_deg", "lift_mm", "sway", "width_mm", "step_mm"
    } - typed  # fmt: skip
    flat = plan.state == FootState.PLANTED
    both = flat[1:] & flat[:-1]
    assert np.abs(np.diff(plan.ankle_mm, axis=0)[both & (plan.gap_mm[1:] + plan.gap_mm[:-1] == 0)]).max() < 1e-9
    assert fit(found.shot, typed).shot is found.shot or not found.fits


def test_a_curve_adds_to_the_offsets_that_were_there():
    shot = starter(hips=Hips(contact_mm=121.6))
    nudged = replace(shot, edits=replace(shot.edits, hips_up_mm=(0.0, 0.0, -0.5)))
    found = fit(nudged)
    assert found.fits
    before, after = solve(nudged), solve(found.shot)
    added = np.array(found.hips_up_mm)
    added[2] += 0.5
    np.testing.assert_allclose(after.hip_line_mm - before.hip_line_mm, added, atol=1e-9)
    assert with_curve(after) is found.shot


def test_the_hip_curve_of_a_pose_alone_above_its_band_fades_to_both_sides_alike():
    asked, low, high = np.zeros(21), np.full(21, -9.0), np.full(21, 9.0)
    high[10] = -1.0
    curve = hip_curve(asked, low, high, 4.0)
    assert curve[10] == -1.0
    np.testing.assert_allclose(curve, curve[::-1], atol=1e-9)
    assert curve[9] < -0.3


def test_the_hip_curve_lies_between_bounds_that_cross():
    curve = hip_curve(np.zeros(4), np.array([1.0, 3.0, 1.0, 0.0]), np.array([5.0, 1.0, 5.0, 1.0]), 1.0)
    assert curve[1] == 2.0


def run(capsys, *arguments):
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_fit_prints_old_and_new_and_writes_a_file_that_is_possible(capsys, tmp_path):
    source, out = tmp_path / "high.toml", tmp_path / "out" / "fitted.toml"
    text = starter_paths()["lamplighter"].read_text(encoding="utf-8")
    puppets = starter_paths()["lamplighter"].parent / "puppets"
    (tmp_path / "puppets").mkdir()
    (tmp_path / "puppets" / "lamplighter.toml").write_bytes((puppets / "lamplighter.toml").read_bytes())
    text = re.sub(r"(?m)^contact_mm.*\n(.*_mm = .*\n)*", "contact_mm = 121.6            # mine\n", text)
    assert "hips.contact_mm" in typed_walk_keys(text, source)
    source.write_text(text, encoding="utf-8")
    code, told, _ = run(capsys, "fit", source, "--out", out)
    assert code == 0, told
    assert "edit.hips_up_mm" in told
    assert "fits now" in told
    written = out.read_text(encoding="utf-8")
    assert "contact_mm = 121.6            # mine" in written
    assert not trouble_of(solve(parse_shot(written, out, out.parent))).findings
    code, told, _ = run(capsys, "fit", out)
    assert code == 0
    assert "possible as it was" in told
    assert "nothing written" in told
