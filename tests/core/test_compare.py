"""Comparing walks: the table of what differs, the curves over time, and the one beat of a film."""

from __future__ import annotations

import csv
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage
from striderule.camera.placing import shared_views, view_named, views_of
from striderule.check import findings_of
from striderule.compare.beat import beat_of
from striderule.compare.over_time import QUANTITIES, curve_of
from striderule.compare.rows import different_values, facts
from striderule.compare.walks import shots_of, walks_of
from striderule.draw.compare_chart import compare_chart, ink_of
from striderule.draw.drawing import Dot, Label, Line
from striderule.errors import ModelError
from striderule.export.compare_table import compare_csv, compare_text
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.step_change import StepChange
from striderule.model.variant import Variant
from striderule.model.walk import Walk
from striderule.solve import solve


@pytest.fixture
def varied():
    """The lamplighter with a slow and a quick variant, the quick one at twice the rate."""
    shot = load_shot(starter_paths()["lamplighter"])
    slow = Variant.of("slow", {"step_mm": 48.0, "poses_per_step": 9, "passing_pose": 5}, frames_per_pose=2)
    quick = Variant.of("quick", {"step_mm": 66.0, "steps": 3}, title="Late for tea", fps="24")
    return replace(shot, variants=(slow, quick))


@pytest.fixture
def walks(varied):
    """Those three, solved."""
    return walks_of(shots_of(varied))


def by_key(rows):
    return {row.key: row.cells for row in rows}


def test_only_values_that_differ_stand_in_the_table_as_they_come_to(walks) -> None:
    rows = by_key(different_values(walks))
    assert rows["walk.step_mm"] == (60.0, 48.0, 66.0)
    assert rows["frames_per_pose"] == (1, 2, 1)
    assert rows["fps"] == ("12", "12", "24")
    assert rows["walk.steps"] == (6, 6, 3)
    assert rows["walk.lift_off_poses"] == (1, 2, 1), "an open value that follows another one"
    assert not rows.keys() & {"walk.lift_mm", "walk.landing", "name", "puppet", "stage.start_mm"}


def test_values_of_single_steps_are_told_by_their_own_keys(varied) -> None:
    limping = Variant("limping", step_changes=(StepChange("left", (("step_mm", 35.0), ("poses_per_step", 9))),))
    rows = different_values(walks_of(shots_of(replace(varied, variants=(limping,)))))
    told = [(row.key, row.unit, row.cells) for row in rows]
    assert told == [("step.left.step_mm", "mm", (None, 35.0)), ("step.left.poses_per_step", "", (None, 9))]


def test_facts_are_those_of_each_plan(walks) -> None:
    rows = by_key(facts(walks))
    assert rows["poses"] == (37, 55, 19)
    assert rows["frames"] == (37, 110, 19)
    assert rows["seconds"] == pytest.approx((37 / 12, 110 / 12, 19 / 24))
    assert rows["step_seconds"] == pytest.approx((0.5, 1.5, 0.25))
    assert rows["distance"] == pytest.approx((360, 288, 198), abs=1e-9)
    assert rows["speed"] == pytest.approx((120, 32, 264))
    for k, one in enumerate(walks):
        notes = sum(found.severity == "note" for found in findings_of(one.plan))
        assert rows["findings_note"][k] == notes
        band = one.plan.band
        assert rows["least_band_room"][k] == min(band.highest_mm - band.lowest_mm)
        assert rows["hips_highest"][k] == max(one.plan.hip_line_mm)


def test_an_impossible_walk_is_counted_and_its_hips_are_outside_the_band(varied) -> None:
    tall = Variant.of("tall", {"step_mm": 110.0})
    rows = by_key(facts(walks_of(shots_of(replace(varied, variants=(tall,))))))
    assert rows["findings_impossible"][0] == 0 < rows["findings_impossible"][1]
    assert rows["hips_to_band_edge"][1] < 0 < rows["hips_to_band_edge"][0]


def test_walks_of_several_puppets_are_compared_and_equal_labels_are_numbered() -> None:
    heron, lamplighter = (load_shot(starter_paths()[name]) for name in ("heron", "lamplighter"))
    walks = walks_of([("walk", "a", heron), ("walk", "b", lamplighter), ("walk", "c", heron)])
    assert [one.label for one in walks] == ["walk", "walk-2", "walk-3"]
    assert by_key(different_values(walks))["puppet"] == ("Marsh heron", "Lamplighter", "Marsh heron")


def test_equal_walks_differ_in_nothing_and_the_text_says_so(varied) -> None:
    walks = walks_of([("a", "", varied), ("b", "", varied)])
    assert different_values(walks) == ()
    assert compare_text(walks).splitlines()[1:3] == ["what differs", "  nothing"]


def test_a_comparison_needs_two_walks_and_variants_that_fit(varied) -> None:
    with pytest.raises(ModelError, match="at least two walks, given 1"):
        walks_of(shots_of(replace(varied, variants=())))
    bad = Variant.of("bad", {"passing_pose": 9})
    with pytest.raises(ModelError, match=r"variant.bad.walk.passing_pose"):
        shots_of(replace(varied, variants=(bad,)))


def test_the_csv_has_a_column_for_each_walk_and_four_decimals(walks) -> None:
    rows = {row["what"]: row for row in csv.DictReader(compare_csv(walks).splitlines())}
    assert list(rows["poses"]) == ["what", "unit", "main", "slow", "quick"]
    assert rows["walk.step_mm"] == {"what": "walk.step_mm", "unit": "mm", "main": "60.0000", "slow": "48.0000",
                                    "quick": "66.0000"}  # fmt: skip
    assert rows["seconds"]["quick"] == "0.7917"
    assert compare_csv(walks).endswith("\n")
    assert "\r" not in compare_csv(walks)


def test_the_text_names_every_walk_and_keeps_its_columns(walks) -> None:
    lines = compare_text(walks).splitlines()
    assert lines[:3] == ["main: Lamplighter", "quick: Late for tea", ""]
    table = [line for line in lines[3:] if line.startswith("  ")]
    assert len({len(line) for line in table}) == 1


def test_curves_stand_at_the_second_in_which_their_pose_begins(walks) -> None:
    hips, spacing, *_ = QUANTITIES
    for one in walks:
        rate = float(one.plan.shot.rate)
        curve = curve_of(one.plan, hips)
        assert np.array_equal(curve.values, one.plan.hip_line_mm)
        assert np.allclose(curve.seconds, (one.plan.first_frame - 1) / rate)
        assert curve.contact.sum() == one.plan.shot.walk.steps + 1
        moves = curve_of(one.plan, spacing)
        assert len(moves.values) == one.plan.poses - 1, "the first pose has none before it"
        assert moves.values == pytest.approx(np.linalg.norm(np.diff(one.plan.reference_mm, axis=0), axis=1))
        assert moves.seconds[0] == pytest.approx(one.plan.shot.frames_per_pose / rate)


def test_the_chart_has_a_line_of_another_look_for_every_walk_in_every_row(walks) -> None:
    drawing = compare_chart(walks, "three")
    lines = [item for item in drawing.layer("walks").items if isinstance(item, Line)]
    looks = [(one.ink.colour, one.ink.dash) for one in lines]
    assert looks == [(ink_of(k).colour, ink_of(k).dash) for k in range(3)] * len(QUANTITIES)
    assert len({ink.colour for ink in map(ink_of, range(6))}) == 6
    assert len({(ink.colour, ink.dash) for ink in map(ink_of, range(12))}) == 12
    names = {item.text for item in drawing.layer("words").items if isinstance(item, Label)}
    assert {"main: Lamplighter", "slow", "quick: Late for tea"} <= names
    for item in drawing.layer("walks").items:
        places = item.points if isinstance(item, Line) else np.array([[item.x, item.y]])
        assert (places >= 0).all()
        assert (places <= (drawing.width, drawing.height)).all()
    slow_hips = lines[1].points
    assert np.ptp(slow_hips[:, 0]) > 2 * np.ptp(lines[0].points[:, 0]), "equal seconds are equally long"


def test_a_long_walk_has_dots_at_its_contacts_alone(varied) -> None:
    long = replace(varied, walk=replace(varied.walk, steps=60), variants=())
    drawing = compare_chart(walks_of([("a", "", long), ("b", "", long)]), "long")
    dots = [item for item in drawing.layer("walks").items if isinstance(item, Dot)]
    assert len(dots) == 2 * (61 + 60 + 61)


def test_all_walks_begin_together_and_shorter_ones_hold_their_last_pose(walks) -> None:
    plans = [one.plan for one in walks]
    beat = beat_of(plans)
    assert beat.rate == 24
    assert beat.poses.shape == (3, 220)
    assert (beat.poses[:, 0] == 0).all()
    for plan, shown in zip(plans, beat.poses, strict=True):
        assert (np.diff(shown) >= 0).all()
        assert shown[-1] == plan.poses - 1
        for frame in (0, 7, 18, 40, 73, 219):
            own = min(int(Fraction(frame, 24) * plan.shot.rate) + 1, plan.frames)
            assert plan.first_frame[shown[frame]] <= own <= plan.last_frame[shown[frame]]


def test_a_short_comparison_is_repeated_as_a_whole(made_shot) -> None:
    plans = [solve(made_shot(walk=Walk(steps=steps, poses_per_step=6, step_mm=40.0))) for steps in (1, 2)]
    beat = beat_of(plans, 3)
    assert beat.poses.shape == (2, 39)
    assert np.array_equal(beat.poses[:, :13], beat.poses[:, 26:])


@pytest.mark.parametrize("name", ["side-on", "three-quarter-front", "head-on", "high", "following"])
def test_one_camera_shows_every_walk_of_a_comparison_in_the_same_way(walks, name) -> None:
    plans = [one.plan for one in walks]
    views = shared_views(plans, name)
    for plan, view in zip(plans, views, strict=True):
        assert np.array_equal(view.rotation, views[0].rotation)
        assert (view.fx, view.width) == (views[0].fx, views[0].width)
        pixels, depth = pixels_from_stage(view, plan.toe_mm)
        assert depth.min() > 0
        assert ((pixels > 0) & (pixels < (view.width, view.height))).all()
        if not view.moving:
            assert np.array_equal(view.translation_mm, views[0].translation_mm)
    at = [pixels_from_stage(view.at(0), plan.reference_mm[0][None])[0] for plan, view in zip(plans, views, strict=True)]
    assert np.abs(at[0][0, 0] - at[2][0, 0]) < 40


def test_a_view_of_one_walk_is_the_shots_own(walks) -> None:
    plan = walks[0].plan
    for view in views_of(plan):
        alone = view_named(plan, view.name)
        assert np.array_equal(alone.translation_mm, view.translation_mm)
        assert np.array_equal(shared_views([plan, plan], view.name)[1].translation_mm, view.translation_mm)
