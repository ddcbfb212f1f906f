"""Stage to pixels and back, clipping, and lenses that are refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from striderule.camera.clipping import paths_from_stage, polygon_from_stage
from striderule.camera.lens import (
    bent_path,
    eye_mm,
    floor_from_pixels,
    pixels_from_stage,
    plane_from_pixels,
    rays_from_pixels,
)
from striderule.camera.placing import look_at
from striderule.errors import GeometryError
from striderule.model.view import View

BARREL = (-0.25, 0.08, 0.001, -0.0008, -0.01)


def view_at(eye=(0.0, -600.0, 0.0), target=(0.0, 0.0, 0.0), focal=1920.0, distortion=(0.0,) * 5, **more) -> View:
    rotation = look_at(np.array(eye), np.array(target))
    size = {"width": 1920, "height": 1080, "fx": focal, "fy": focal, "cx": 959.5, "cy": 539.5} | more
    return View("test", **size, rotation=rotation, translation_mm=-rotation @ np.array(eye), distortion=distortion)


def test_a_camera_on_the_right_shows_forward_to_the_right_and_up_above():
    pixels, depth = pixels_from_stage(view_at(), np.array([(0.0, 0, 0), (10.0, 0, 0), (0, 0, 10.0), (0, 60.0, 0)]))
    assert np.allclose(pixels, [(959.5, 539.5), (991.5, 539.5), (959.5, 507.5), (959.5, 539.5)], atol=1e-9)
    assert np.allclose(depth, [600, 600, 600, 660])


def test_marks_at_an_angle_are_spaced_as_the_trades_formula_says():
    """x = f s cos a / (D + s sin a), spacing ratio 2.043 (hand-worked pinhole geometry)."""
    a = math.radians(45)
    view = view_at(eye=(-600 * math.sin(a), -600 * math.cos(a), 0.0))
    s = np.array([-150.0, 150.0])
    near = np.stack([s, 0 * s, 0 * s], axis=1)
    x = pixels_from_stage(view, near)[0][:, 0] - 959.5
    assert x == pytest.approx([-412.30, 288.42], abs=5e-3)
    tiny = 1e-3
    step = pixels_from_stage(view, near + np.array((tiny, 0, 0)))[0][:, 0] - 959.5 - x
    assert step[0] / step[1] == pytest.approx(2.043, abs=1e-3)


def test_points_behind_the_camera_have_no_pixel_but_keep_their_depth():
    pixels, depth = pixels_from_stage(view_at(), np.array([(0.0, -700.0, 0.0), (0.0, -599.5, 0.0), (0.0, 0.0, 0.0)]))
    assert np.isnan(pixels[:2]).all()
    assert np.isfinite(pixels[2]).all()
    assert depth == pytest.approx([-100, 0.5, 600])


@pytest.mark.parametrize("distortion", [(0.0,) * 5, BARREL, (0.3, 0.0, 0.002, 0.001, 0.0)])
def test_pixels_undistort_to_the_place_they_came_from(distortion):
    view = view_at(distortion=distortion, fy=2100.0)
    pixels = np.stack(np.meshgrid(np.linspace(-0.5, 1919.5, 9), np.linspace(-0.5, 1079.5, 7)), axis=-1)
    plane = plane_from_pixels(view, pixels)
    assert np.abs(bent_path(view, plane.reshape(-1, 2))[[0, -1]] - pixels.reshape(-1, 2)[[0, -1]]).max() < 1e-7
    rays = rays_from_pixels(view, pixels)
    back, _ = pixels_from_stage(view, eye_mm(view) + 321.0 * rays)
    assert np.abs(back - pixels).max() < 1e-7
    assert np.allclose(np.linalg.norm(rays, axis=-1), 1)


def test_a_pixel_of_a_floor_point_leads_back_to_that_floor_point():
    view = view_at(eye=(100.0, -500.0, 220.0), target=(50.0, 0.0, 40.0), distortion=BARREL)
    floor = np.array([(0.0, 0.0, 0.0), (80.0, 30.0, 0.0)])
    pixels, _ = pixels_from_stage(view, floor)
    assert np.abs(floor_from_pixels(view, pixels) - floor).max() < 1e-7
    sky = floor_from_pixels(view, np.array([959.5, -200.0]))
    assert np.isnan(sky).all()


@pytest.mark.parametrize(
    "distortion", [(-2.0, 0, 0, 0, 0), (0, 0, 0, 0, -30.0), (0, 0, 1.0, 0, 0), (math.nan, 0, 0, 0, 0)]
)
def test_a_lens_that_folds_inside_the_frame_is_refused(distortion):
    with pytest.raises(GeometryError, match="folds"):
        pixels_from_stage(view_at(distortion=distortion), np.zeros((1, 3)))


def test_a_lens_that_folds_only_outside_the_frame_puts_nothing_from_outside_into_the_frame():
    view = view_at(distortion=(-0.25, 0.0, 0.0, 0.0, 0.0))
    across = np.linspace(-20000, 20000, 4001)
    pixels, _ = pixels_from_stage(view, np.stack([across, 0 * across, 0 * across], axis=1))
    assert (np.diff(pixels[:, 0]) > 0).all()


def test_a_moving_camera_takes_one_point_set_per_pose_and_agrees_with_its_still_cameras():
    still = view_at()
    moves = still.translation_mm - np.arange(4)[:, None] * (10.0, 0, 0)
    view = View("follow", 1920, 1080, 1920, 1920, 959.5, 539.5, still.rotation, moves[0], translations_mm=moves)
    points = np.random.default_rng(1).normal(size=(4, 5, 3)) * 50
    pixels, _ = pixels_from_stage(view, points)
    for pose in range(4):
        assert np.allclose(pixels[pose], pixels_from_stage(view.at(pose), points[pose])[0])
    with pytest.raises(GeometryError, match="moves with the pose"):
        pixels_from_stage(view, points[:3])


def test_a_line_from_before_to_behind_the_camera_is_cut_at_the_near_plane_and_at_the_frame():
    paths = paths_from_stage(view_at(), np.array([(0.0, 0.0, 0.0), (30.0, -1200.0, -40.0)]))
    assert len(paths) == 1
    path = paths[0]
    assert np.isfinite(path).all()
    assert path[0] == pytest.approx([959.5, 539.5])
    assert path[-1][1] == pytest.approx(1079.5 + 64, abs=1e-6) or path[-1][0] == pytest.approx(1919.5 + 64, abs=1e-6)
    assert paths_from_stage(view_at(), np.array([(0.0, -700.0, 0.0), (5.0, -900.0, 0.0)])) == []


def test_a_line_that_leaves_the_frame_and_returns_comes_back_in_two_pieces():
    points = np.array([(0.0, 0, 0), (0.0, 0, 900.0), (50.0, 0, 900.0), (50.0, 0, 0)])
    assert [len(path) for path in paths_from_stage(view_at(), points)] == [2, 2]
    assert len(paths_from_stage(view_at(), points[:, [0, 1, 2]] * (1, 1, 0.1), closed=True)[0]) == 5


def test_a_floor_under_the_camera_is_cut_to_a_polygon_around_the_frame():
    floor = np.array([(-5000.0, -5000, 0), (5000.0, -5000, 0), (5000.0, 5000, 0), (-5000.0, 5000, 0)])
    for distortion in ((0.0,) * 5, BARREL):
        polygon = polygon_from_stage(
            view_at(eye=(0.0, -600.0, 100.0), target=(0, 0, 50.0), distortion=distortion), floor
        )
        assert np.isfinite(polygon).all()
        assert polygon[:, 1].max() > 1079.5
        assert np.abs(polygon).max() < 4000
    assert polygon_from_stage(view_at(), floor - (0, 9000.0, 0)).shape == (0, 2)


def test_a_long_straight_edge_follows_the_bend_of_the_lens():
    """Points taken along the 3D edge lie within .02 px of the drawn polyline."""
    view = view_at(distortion=BARREL)
    ends = np.array([(-280.0, -40.0, 140.0), (280.0, 60.0, 120.0)])
    (path,) = paths_from_stage(view, ends)
    assert len(path) > 20
    along = ends[0] + np.linspace(0, 1, 777)[:, None] * (ends[1] - ends[0])
    true = pixels_from_stage(view, along)[0]
    start, step = path[:-1], np.diff(path, axis=0)
    share = np.clip(np.einsum("nmk,mk->nm", true[:, None] - start, step) / (step**2).sum(1), 0, 1)
    miss = np.linalg.norm(true[:, None] - start - share[..., None] * step, axis=-1).min(axis=1)
    assert miss.max() < 0.02
