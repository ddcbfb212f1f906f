"""The working band in the viewport, and its charts as images."""

from __future__ import annotations

import bpy
import numpy as np
import pytest

from striderule.draw.band_chart import band_chart, chart_pixels
from striderule_blender import live, scene


@pytest.fixture
def lamplighter(stage):
    assert bpy.ops.striderule.load_starter(name="lamplighter") == {"FINISHED"}
    settings = live.settings_of(bpy.context.scene)
    settings.band = True
    live.flush(bpy.context.scene)
    return settings


def span_mm(name):
    thing = bpy.data.objects[f"SR {name}"]
    corners = np.array([thing.matrix_world @ vertex.co for vertex in thing.data.vertices]) * 1000
    return corners[:, 2].min(), corners[:, 2].max()


def test_the_slab_reaches_from_the_lowest_to_the_highest_hips_of_every_pose(lamplighter):
    plan, _ = live.plan_of(bpy.context.scene)
    for pose in range(plan.poses):
        bpy.context.scene.frame_set(int(plan.first_frame[pose]))
        low, high = span_mm("band")
        assert low == pytest.approx(plan.band.lowest_mm[pose], abs=0.01)
        assert high == pytest.approx(plan.band.highest_mm[pose], abs=0.01)
        bottom, top = span_mm("hip line")
        assert 0.5 * (bottom + top) == pytest.approx(plan.hip_line_mm[pose], abs=0.01)
        assert tuple(bpy.data.objects["SR band missing"].scale) == (0.0, 0.0, 0.0)


def test_where_no_height_fits_what_is_missing_is_shown_instead(lamplighter):
    lamplighter.walk.step_mm = 95.0
    live.flush(bpy.context.scene)
    plan, _ = live.plan_of(bpy.context.scene)
    missing = np.flatnonzero(plan.band.lowest_mm > plan.band.highest_mm)
    assert len(missing)
    bpy.context.scene.frame_set(int(plan.first_frame[missing[0]]))
    assert tuple(bpy.data.objects["SR band"].scale) == (0.0, 0.0, 0.0), "nothing of it is seen"
    low, high = span_mm("band missing")
    assert high - low == pytest.approx(plan.band.lowest_mm[missing[0]] - plan.band.highest_mm[missing[0]], abs=0.01)


def test_the_band_goes_again_and_stays_out_of_pictures(lamplighter):
    assert all(bpy.data.objects[f"SR {name}"].hide_render for name in ("band", "band missing", "hip line"))
    lamplighter.band = False
    live.flush(bpy.context.scene)
    assert "SR band" not in bpy.data.objects
    assert "SR band" not in bpy.data.meshes


def test_a_chart_is_an_image_with_the_cores_own_pixels_and_is_redrawn_in_place(lamplighter):
    stage = bpy.context.scene
    for _ in range(2):
        assert bpy.ops.striderule.band_chart(leg="right") == {"FINISHED"}
        plan, _ = live.plan_of(stage)
        image = bpy.data.images["SR band right"]
        expected = chart_pixels(band_chart(plan.shot.puppet, plan.legs.index("right"), plan))
        found = np.empty(len(image.pixels), np.float32)
        image.pixels.foreach_get(found)
        found = found.reshape(*expected.shape[:2], 4)[::-1, :, :3]
        assert np.abs(found * 255 - expected).max() < 0.51
        lamplighter.walk.step_mm = 55.0
        live.flush(stage)
        assert bpy.data.images["SR band right"] == image, "a chart that is being looked at stays"
    scene.remove(stage)
    assert "SR band right" not in bpy.data.images


def test_an_unknown_leg_is_refused(lamplighter):
    with pytest.raises(RuntimeError, match="No leg is called middle: there are left, right"):
        bpy.ops.striderule.band_chart(leg="middle")


def test_the_band_stands_on_a_floor_that_rises(stage):
    bpy.ops.striderule.load_starter(name="lamplighter-stair")
    live.settings_of(bpy.context.scene).band = True
    live.flush(bpy.context.scene)
    plan, _ = live.plan_of(bpy.context.scene)
    bpy.context.scene.frame_set(plan.frames)
    bottom, top = span_mm("hip line")
    assert 0.5 * (bottom + top) == pytest.approx(plan.hip_mm[-1, :, 2].mean(), abs=0.3)
