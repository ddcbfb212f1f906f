"""The band as a picture: what is on it, and that its words can be read."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import numpy as np
import pytest

from striderule.check.bench import flat_band
from striderule.draw.band_chart import band_chart, chart_pixels, track_of
from striderule.draw.bench_sheet import bench_drawing
from striderule.draw.chart_paper import Axes, round_step
from striderule.draw.drawing import Dot, Drawing, Label, Ring
from striderule.draw.font import ascent, descent, text_width
from striderule.draw.svg import document
from striderule.model.bench import Measured
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips
from striderule.solve import FootState, solve

STARTERS = ("heron", "heron-burdened", "lamplighter")


def starter(name: str) -> Shot:
    return load_shot(starter_paths()[name])


def labels(drawing: Drawing) -> list[Label]:
    return [item for layer in drawing.layers for item in layer.items if isinstance(item, Label)]


def texts(drawing: Drawing) -> set[str]:
    return {label.text for label in labels(drawing)}


@pytest.mark.parametrize("name", STARTERS)
def test_no_two_words_of_a_chart_overlap_and_all_are_inside(name: str) -> None:
    shot = starter(name)
    for plan in (None, solve(shot)):
        for leg in (0, 1):
            drawing = band_chart(shot.puppet, leg, plan)
            boxes = []
            for one in labels(drawing):
                rise, fall = ascent(one.size), descent(one.size)
                boxes.append((one.x, one.y - rise, one.x + text_width(one.text, one.size), one.y + fall, one.text))
                assert boxes[-1][0] > 0
                assert boxes[-1][2] < drawing.width
                assert boxes[-1][3] < drawing.height
            for a, b in combinations(boxes, 2):
                apart = a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]
                assert apart, (a[4], b[4])


def test_each_edge_names_the_joint_that_limits_it_and_each_key_pose_its_key() -> None:
    shot = starter("lamplighter")
    told = texts(band_chart(shot.puppet, 0, solve(shot)))
    assert {"knee's least bend 5", "ankle's toe-up stop 25", "hip's forward stop 70"} <= told
    assert {"contact", "down", "passing", "up", "next contact", "last on the floor"} <= told
    assert "contact" not in texts(band_chart(shot.puppet, 0))


@pytest.mark.parametrize("name", STARTERS)
def test_there_is_a_dot_for_every_pose_in_which_the_foot_touches_and_none_is_ringed(name: str) -> None:
    shot = starter(name)
    plan = solve(shot)
    for leg in (0, 1):
        items = band_chart(shot.puppet, leg, plan).layer("walk").items
        dots = [item for item in items if isinstance(item, Dot)]
        assert len(dots) == (plan.state[:, leg] != int(FootState.AIR)).sum()
        assert not [item for item in items if isinstance(item, Ring)]


def test_poses_outside_what_the_leg_allows_are_ringed() -> None:
    shot = starter("lamplighter")
    high = replace(shot, walk=replace(shot.walk, hips=replace(shot.walk.hips or Hips(), up_mm=126.0)))
    plan = solve(high)
    track = track_of(plan, 0)
    assert track is not None
    assert track.outside.any()
    drawing = band_chart(high.puppet, 0, plan)
    rings = [item for item in drawing.layer("walk").items if isinstance(item, Ring)]
    assert len(rings) == track.outside.sum()
    assert any("ringed" in text for text in texts(drawing))


def test_the_track_lies_in_the_flat_band_wherever_the_foot_is_flat() -> None:
    for name in STARTERS:
        plan = solve(starter(name))
        track = track_of(plan, 1)
        assert track is not None
        flat = np.abs(plan.foot_pitch_deg[track.pose, 1]) < 1e-9
        band = flat_band(plan.shot.puppet.legs[1], track.foot_mm[flat])
        assert flat.any()
        assert (track.hip_mm[flat] < band.highest_mm + 0.5).all()
        assert (track.hip_mm[flat] > band.lowest_mm - 0.5).all()


def test_a_leg_without_any_height_says_so_instead_of_an_empty_picture() -> None:
    puppet = starter("lamplighter").puppet
    stuck = replace(puppet.legs[0], limits=replace(puppet.legs[0].limits, hip_out_deg=(10.0, 20.0)))
    drawing = band_chart(replace(puppet, legs=(stuck, puppet.legs[1])), 0)
    assert any(text.startswith("no hip height suits") for text in texts(drawing))
    assert chart_pixels(drawing).shape == (drawing.height, drawing.width, 3)


def test_picture_and_svg_show_black_on_white_paper() -> None:
    shot = starter("lamplighter")
    drawing = band_chart(shot.puppet, 0, solve(shot))
    pixels = chart_pixels(drawing)
    assert (pixels[0, 0] == 255).all()
    assert (pixels == 255).all(axis=2).mean() > 0.5
    assert (pixels.max(axis=2) < 40).sum() > 2000
    root = ElementTree.fromstring(document(drawing))
    titles = {one.text for one in root.iter("{http://www.w3.org/2000/svg}title")}
    assert "knee's least bend 5" in titles


def test_the_printed_sheet_holds_every_cell_of_the_table_and_what_was_measured() -> None:
    puppet = starter("lamplighter").puppet
    measured = replace(puppet.legs[0], measured=(Measured(foot_mm=15.0, highest_mm=119.0),))
    drawing = bench_drawing(replace(puppet, legs=(measured, puppet.legs[1])))
    told = texts(drawing)
    assert {"15 ahead", "101.0", "119", "ankle's toe-up stop 25", "Leg left", "Leg right"} <= told
    assert max(one.x + text_width(one.text, one.size) for one in labels(drawing)) < drawing.width


@pytest.mark.parametrize(("span", "most", "step"), [(100, 10, 10), (101, 10, 20), (0.9, 10, 0.1), (7, 3, 5), (0, 5, 1)])
def test_ticks_are_round(span: float, most: int, step: float) -> None:
    assert round_step(span, most) == pytest.approx(step)


def test_axes_put_larger_values_right_and_up() -> None:
    axes = Axes((10.0, 20.0, 110.0, 220.0), (0.0, 50.0), (100.0, 200.0))
    np.testing.assert_allclose(axes.at([0.0, 50.0], [100.0, 200.0]), [[10.0, 220.0], [110.0, 20.0]])
