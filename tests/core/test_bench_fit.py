"""The range test: what it predicts, and which written value it finds wrong from measurements with a hand's noise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.check.bench import (
    DISTANCES,
    bench_of,
    farthest_mm,
    flat_band,
    foot_distances,
    leg_lengths_mm,
    walk_band,
)
from striderule.check.bench_fit import HAND_MM, bench_fit
from striderule.check.bench_model import predicted, values_of
from striderule.check.bench_words import BLANK, fit_lines, to_half
from striderule.export.bench_table import CSV_COLUMNS, bench_csv, bench_text
from striderule.model.bench import Measured
from striderule.model.puppet import Leg, Limits
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import FootState, Stop, solve

STARTERS = ("heron", "lamplighter")


def starter_leg(name: str) -> Leg:
    return load_shot(starter_paths()[name]).puppet.legs[0]


def leg_with(leg: Leg, changes: dict[int, float]) -> Leg:
    """A leg whose nine values are off by `changes`, in the order of `values_of`."""
    v = values_of(leg)[1].tolist()
    for k, by in changes.items():
        v[k] += by
    limits = replace(leg.limits, knee_deg=(v[3], v[4]), ankle_deg=(v[5], v[6]), hip_swing_deg=(v[7], v[8]))
    return replace(leg, thigh_mm=v[0], shank_mm=v[1], ankle_up_mm=v[2], limits=limits)


def read(written: Leg, real: Leg, seed: int, noise: float = HAND_MM) -> Leg:
    """`written` with the measurements of the real leg at its sheet's foot distances, off by a hand and read to 0.5."""
    rng = np.random.default_rng(seed)
    foot = np.array(foot_distances(written))
    band = flat_band(real, foot)

    def by_hand(value: float) -> float:
        return round(2.0 * (value + rng.uniform(-noise, noise))) / 2.0 if noise else value

    folded, straight = leg_lengths_mm(real)
    lines = [Measured(folded_mm=by_hand(folded), straight_mm=by_hand(straight))]
    for at, low, high, fits in zip(foot, band.lowest_mm, band.highest_mm, band.fits, strict=True):
        if fits:
            low, high = sorted((by_hand(float(low)), by_hand(float(high))))
            lines.append(Measured(foot_mm=float(at), lowest_mm=low, highest_mm=high))
    return replace(written, measured=tuple(lines))


def test_the_sheet_predicts_the_hip_heights_that_the_trade_gives_for_the_starters() -> None:
    """Values worked out by hand from the measures; the band of a flat lamplighter foot 30 behind: 116.4-117.8."""
    band = flat_band(starter_leg("lamplighter"), np.array([-30.0]))
    assert band.lowest_mm[0] == pytest.approx(116.4, abs=0.05)
    assert band.highest_mm[0] == pytest.approx(117.8, abs=0.05)
    assert (band.lowest_stop[0], band.highest_stop[0]) == (Stop.ANKLE_UP, Stop.KNEE_LEAST)
    heron = starter_leg("heron")
    assert flat_band(heron, np.zeros(1)).lowest_mm[0] == pytest.approx(168, abs=0.5)
    assert flat_band(heron, np.zeros(1)).highest_mm[0] == pytest.approx(217, abs=0.5)
    assert leg_lengths_mm(heron)[0] == pytest.approx(150.147, abs=0.001)


@pytest.mark.parametrize("name", STARTERS)
def test_foot_distances_are_round_five_a_direction_and_all_within_reach(name: str) -> None:
    leg = starter_leg(name)
    foot = np.array(foot_distances(leg))
    assert (foot == 0).sum() == 1
    assert ((foot > 0).sum(), (foot < 0).sum()) == (4, 4)
    assert flat_band(leg, foot).fits.all()
    assert (np.round(2 * foot) == 2 * foot).all()
    behind, ahead = farthest_mm(leg)
    assert foot.max() > 0.75 * ahead
    assert foot.min() < 0.7 * behind


def test_at_every_height_of_the_band_and_none_outside_it_all_joints_are_inside_their_stops() -> None:
    """Against the cosine law, joint by joint, over a fine net of heights."""
    for name in STARTERS:
        leg = starter_leg(name)
        foot = np.linspace(*foot_distances(leg)[:: 2 * DISTANCES - 2], 61)
        band = flat_band(leg, foot)
        for at, low, high, fits in zip(foot, band.lowest_mm, band.highest_mm, band.fits, strict=True):
            over = np.linspace(leg.ankle_up_mm + 1, leg.straight_mm, 400)
            away = np.hypot(at, over - leg.ankle_up_mm)
            t, s = leg.thigh_mm, leg.shank_mm
            cosine = (away**2 - t * t - s * s) / (2 * t * s)
            bend = np.degrees(np.arccos(np.clip(cosine, -1, 1)))
            at_hip = np.degrees(np.arccos(np.clip((away**2 + t * t - s * s) / (2 * away * t), -1, 1)))
            swing = np.degrees(np.arctan2(at, over - leg.ankle_up_mm)) + leg.knee_side * at_hip
            ankle = leg.knee_side * bend - swing
            good = np.abs(cosine) <= 1
            for angle, (least, most) in ((bend, leg.limits.knee_deg), (swing, leg.limits.hip_swing_deg),
                                         (ankle, leg.limits.ankle_deg)):  # fmt: skip
                good &= (angle >= least - 1e-9) & (angle <= most + 1e-9)
            inside = (over >= low) & (over <= high) & fits
            assert (good == inside).all(), (name, at)


def test_a_leg_fits_everywhere_alike_by_the_sheet_and_by_the_formula_that_is_fitted() -> None:
    rng = np.random.default_rng(3)
    for name in STARTERS:
        for _ in range(30):
            leg = leg_with(starter_leg(name), dict(enumerate(rng.uniform(-4, 4, 9).tolist())))
            foot = np.linspace(-120, 120, 49)
            band, found = flat_band(leg, foot), predicted(leg, values_of(leg)[1][None], foot)
            np.testing.assert_allclose(found.lowest_mm[0, band.fits], band.lowest_mm[band.fits], atol=1e-9)
            np.testing.assert_allclose(found.highest_mm[0, band.fits], band.highest_mm[band.fits], atol=1e-9)
            assert (found.folded_mm[0], found.straight_mm[0]) == pytest.approx(leg_lengths_mm(leg))


@pytest.mark.parametrize("name", STARTERS)
def test_what_fits_the_written_leg_finds_nothing_wrong(name: str) -> None:
    for seed in range(6):
        leg = starter_leg(name)
        fit = bench_fit(read(leg, leg, seed))
        assert fit is not None
        assert fit.offsets == ()
        assert "as well as hands can tell" in fit_lines(fit)[0]


@pytest.mark.parametrize(
    ("name", "value", "by"),
    [
        *((name, value, by) for name in STARTERS for value in (0, 1, 2) for by in (1.8, -2.5)),
        *(("heron", value, by) for value in (3, 4, 5, 7) for by in (5.0, -4.0)),
        *(("lamplighter", value, by) for value in (4, 6, 8) for by in (5.0, -4.0)),
    ],
)
def test_one_wrong_value_is_named_alone_and_right_to_a_millimetre_or_a_degree_and_a_half(
    name: str, value: int, by: float
) -> None:
    written = starter_leg(name)
    for seed in range(3):
        fit = bench_fit(read(written, leg_with(written, {value: by}), seed))
        assert fit is not None
        assert [one.value for one in fit.offsets] == [values_of(written)[0][value]]
        off = fit.offsets[0].measured - fit.offsets[0].written
        assert off == pytest.approx(by, abs=1.0 if value < 3 else 1.5)
        assert fit.others == ()


def test_a_limit_given_by_ruler_is_told_by_ruler() -> None:
    written = starter_leg("lamplighter")
    written = replace(written, limits=replace(written.limits, hip_to_ankle_mm=(65.0, 112.0)))
    real = replace(written, limits=replace(written.limits, hip_to_ankle_mm=(65.0, 109.0)))
    fit = bench_fit(read(written, real, 1))
    assert fit is not None
    assert [one.value.words for one in fit.offsets] == ["longest hip to ankle"]
    assert fit.offsets[0].measured == pytest.approx(109, abs=0.6)


def test_two_wrong_values_are_both_named() -> None:
    written = starter_leg("heron")
    fit = bench_fit(read(written, leg_with(written, {1: -2.0, 5: 5.0}), 2))
    assert fit is not None
    assert [one.value.key for one in fit.offsets] == ["shank_mm", "limits.ankle_deg.1"]
    assert [one.measured - one.written for one in fit.offsets] == pytest.approx([-2.0, 5.0], abs=1.0)


def test_what_cannot_be_told_apart_is_not_guessed() -> None:
    """A straight leg alone, 2 mm too long at every foot: thigh and shank are as likely."""
    feet = (Measured(foot_mm=0.0, highest_mm=123.9), Measured(foot_mm=15.0, highest_mm=122.9))
    leg = replace(starter_leg("lamplighter"), measured=(Measured(straight_mm=114.9), *feet))
    fit = bench_fit(leg)
    assert fit is not None
    told = {fit.offsets[0].value.key, *(one[0].value.key for one in fit.others)}
    assert told == {"thigh_mm", "shank_mm"}
    assert any(line.startswith("or as likely: ") for line in fit_lines(fit))
    assert "ankle's toe-up stop" in fit_lines(fit)[-1]


def test_a_slip_of_one_reading_is_pointed_at() -> None:
    leg = read(starter_leg("heron"), starter_leg("heron"), 5)
    lines = list(leg.measured)
    at = next(k for k, one in enumerate(lines) if one.foot_mm == 60)
    lines[at] = replace(lines[at], lowest_mm=lines[at].lowest_mm + 7)
    fit = bench_fit(replace(leg, measured=tuple(lines)))
    assert fit is not None
    assert fit.offsets == ()
    assert fit.left_mm == pytest.approx(7, abs=1)
    assert fit_lines(fit)[0].endswith("mm (foot 60 ahead, lowest): measure it again")


def test_the_line_of_a_wrong_value_says_how_much_and_what_it_is() -> None:
    written = starter_leg("lamplighter")
    fit = bench_fit(read(written, leg_with(written, {1: 1.8}), 0, noise=0.0))
    assert fit is not None
    assert fit_lines(fit)[0].startswith("shank measures 1.8 mm longer than written: 58.4 (written 56.6, give or take ")
    assert bench_fit(written) is None


def test_any_measured_lines_give_a_finite_answer() -> None:
    """Readings that no leg could give: out of reach, upside down, far too long."""
    for lines in (
        (Measured(foot_mm=500.0, lowest_mm=0.0, highest_mm=4000.0),),
        (Measured(foot_mm=0.0, lowest_mm=0.0), Measured(foot_mm=0.0, lowest_mm=900.0), Measured(folded_mm=4000.0)),
        (Measured(straight_mm=0.0),),
    ):
        for leg in (starter_leg("heron"), replace(starter_leg("lamplighter"), limits=Limits())):
            fit = bench_fit(replace(leg, measured=lines))
            assert fit is not None
            assert all(np.isfinite((one.measured, one.give)).all() for one in fit.offsets)
            assert np.isfinite(fit.left_mm)
            assert fit_lines(fit)


def test_along_a_walk_each_touching_leg_s_own_band_meets_in_the_plan_s_band() -> None:
    for name in STARTERS:
        plan = solve(load_shot(starter_paths()[name]))
        touching = plan.state != int(FootState.AIR)
        bands = [walk_band(plan, leg) for leg in range(len(plan.legs))]
        rise = np.array([band.highest_mm - plan.hip_mm[:, k, 2] for k, band in enumerate(bands)])
        least = np.where(touching.T, rise, np.inf).min(axis=0)
        np.testing.assert_allclose(least, plan.band.highest_mm - plan.hip_line_mm, atol=1e-9)


def test_mirrored_legs_stand_once_on_the_sheet_and_measured_ones_by_themselves() -> None:
    puppet = load_shot(starter_paths()["heron"]).puppet
    assert [(one.leg.name, one.also) for one in bench_of(puppet)] == [("left", ("right",))]
    right = replace(puppet.legs[1], measured=(Measured(straight_mm=199.0),))
    apart = bench_of(replace(puppet, legs=(puppet.legs[0], right)))
    assert [(one.leg.name, one.also) for one in apart] == [("left", ()), ("right", ())]
    assert apart[1].measured_straight_mm == 199.0


def test_the_text_is_aligned_rounded_to_half_a_millimetre_and_leaves_blanks() -> None:
    text = bench_text(load_shot(starter_paths()["lamplighter"]).puppet)
    rows = [line for line in text.splitlines() if "ahead " in line and BLANK in line]
    assert len(rows) == 4
    assert {line.index(BLANK) for line in rows} == {rows[0].index(BLANK)}
    assert "15 ahead        101.0" in text
    assert all(line == line.rstrip() for line in text.splitlines())
    assert (to_half(117.74), to_half(-0.2), to_half(117.76)) == ("117.5", "0.0", "118.0")


def test_the_csv_holds_exact_numbers_and_what_was_measured() -> None:
    puppet = load_shot(starter_paths()["lamplighter"]).puppet
    left = replace(puppet.legs[0], measured=(Measured(foot_mm=-17.0, highest_mm=120.5),))
    rows = [line.split(",") for line in bench_csv(replace(puppet, legs=(left, puppet.legs[1]))).splitlines()]
    assert tuple(rows[0]) == CSV_COLUMNS
    mine = next(row for row in rows if row[3] == "-17.0000" and row[2] == "highest")
    exact = flat_band(left, np.array([-17.0])).highest_mm[0]
    assert (mine[4], mine[6]) == (f"{exact:.4f}", "120.5000")
    assert {len(row) for row in rows} == {len(CSV_COLUMNS)}
