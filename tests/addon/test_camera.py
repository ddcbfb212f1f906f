"""Cameras mean the same in Blender and in the core."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from bpy_extras.object_utils import world_to_camera_view
from mathutils import Vector

from striderule.errors import GeometryError
from striderule.model.view import View
from striderule_blender import bridge, scene
from striderule_blender.scene import cameras

# name: width, height, fx, fy, cx, cy
LENSES = {
    "plain": (1920, 1080, 2666.7, 2666.7, 959.5, 539.5),
    "portrait": (1080, 1920, 2666.7, 2666.7, 539.5, 959.5),
    "shifted": (1920, 1080, 2000.0, 2000.0, 1130.25, 402.75),
    "tall-pixels": (1440, 1080, 2100.0, 2800.0, 700.0, 560.0),
    "wide-pixels": (1920, 1080, 2800.0, 2100.0, 900.0, 500.0),
    "portrait-wide-pixels": (600, 900, 1500.0, 1000.0, 310.0, 420.0),
    "large": (6000, 4000, 9000.0, 9000.0, 3100.0, 1900.0),
}


def turned(x: float, y: float, z: float) -> np.ndarray:
    """A camera that looks along +Y, turned a little about all axes."""
    cx, sx, cy, sy, cz, sz = np.cos(x), np.sin(x), np.cos(y), np.sin(y), np.cos(z), np.sin(z)
    level = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]], float)
    return (
        np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
        @ np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
        @ np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
        @ level
    )


def view_of(name: str) -> View:
    rotation = turned(0.2, -0.35, 0.15)
    place = np.array([150.0, -700.0, 260.0])
    return View(name, *LENSES[name], rotation=rotation, translation_mm=-rotation @ place)


def projected(view: View, points: np.ndarray) -> np.ndarray:
    """OpenCV's pinhole model written out here (documentation of calib3d), so that no code is shared."""
    x, y, z = view.rotation @ points.T + view.translation_mm[:, None]
    return np.stack([view.fx * x / z + view.cx, view.fy * y / z + view.cy], 1)


def points() -> np.ndarray:
    return np.random.default_rng(3).uniform((-100, -80, 0), (400, 80, 300), (60, 3))


@pytest.mark.parametrize("name", LENSES)
def test_a_view_becomes_a_camera_that_puts_every_point_on_the_same_pixel(stage, starter, name):
    view = view_of(name)
    scene.build(stage, starter("heron")[0], [view])
    camera = scene.camera_of(stage, name)
    scene.look_through(stage, camera)
    bpy.context.view_layer.update()
    width, height = stage.render.resolution_x, stage.render.resolution_y
    assert (width, height) == (view.width, view.height)
    seen = np.array([world_to_camera_view(stage, camera, Vector(point / 1000)) for point in points()])
    pixels = np.stack([seen[:, 0] * width - 0.5, (1 - seen[:, 1]) * height - 0.5], 1)
    assert np.abs(pixels - projected(view, points())).max() < 0.01


@pytest.mark.parametrize("fit", ["AUTO", "HORIZONTAL", "VERTICAL"])
@pytest.mark.parametrize(
    "size", [(1920, 1080, 1.0, 1.0), (1080, 1920, 1.0, 1.0), (720, 576, 1.46, 1.0), (720, 576, 1.0, 1.5)]
)
def test_any_camera_object_becomes_a_view_that_sees_the_same(stage, fit, size):
    data = bpy.data.cameras.new("mine")
    data.sensor_fit, data.sensor_width, data.sensor_height, data.lens = fit, 23.6, 15.7, 35.0
    data.shift_x, data.shift_y = 0.08, -0.05
    camera = bpy.data.objects.new("mine", data)
    stage.collection.objects.link(camera)
    camera.location, camera.rotation_euler, camera.scale = (0.2, -0.8, 0.3), (1.35, 0.05, 0.2), (2, 2, 2)
    render = stage.render
    render.resolution_x, render.resolution_y, render.pixel_aspect_x, render.pixel_aspect_y = size
    render.resolution_percentage = 100
    bpy.context.view_layer.update()
    view = bridge.view_from_camera(camera, stage, "mine")
    seen = np.array([world_to_camera_view(stage, camera, Vector(point / 1000)) for point in points()])
    pixels = np.stack([seen[:, 0] * view.width - 0.5, (1 - seen[:, 1]) * view.height - 0.5], 1)
    assert np.abs(pixels - projected(view, points())).max() < 0.01


def test_a_view_survives_the_way_through_blender_and_back(stage, starter):
    view = view_of("shifted")
    scene.build(stage, starter("heron")[0], [view])
    camera = scene.camera_of(stage, view.name)
    scene.look_through(stage, camera)
    back = bridge.view_from_camera(camera, stage, view.name)
    assert (back.width, back.height) == (view.width, view.height)
    assert np.allclose([back.fx, back.fy, back.cx, back.cy], [view.fx, view.fy, view.cx, view.cy], atol=1e-3)
    assert np.abs(back.rotation - view.rotation).max() < 1e-6
    assert np.abs(back.translation_mm - view.translation_mm).max() < 1e-3


def test_the_following_camera_moves_with_every_pose(stage, starter):
    plan, views = starter("heron", 2)
    view = next(one for one in views if one.moving)
    scene.build(stage, plan, views)
    camera = scene.camera_of(stage, view.name)
    for frame in (1, 2, 3, 10, plan.frames):
        stage.frame_set(frame)
        k = (frame - 1) // 2
        expected = -view.rotation.T @ view.translations_mm[k]
        assert np.abs(np.array(camera.matrix_world.translation) * 1000 - expected).max() < 1e-3


def test_a_lens_in_millimetres_reads_the_same_in_blender(stage, starter):
    plan, views = starter("heron")
    scene.build(stage, plan, views)
    data = scene.camera_of(stage, "side-on").data
    setup = next((one for one in plan.shot.cameras if one.name == "side-on"), None)
    assert data.lens == pytest.approx(setup.lens_mm if setup else 50.0, abs=1e-3)


def test_an_orthographic_camera_is_refused_by_name(stage):
    data = bpy.data.cameras.new("flat")
    data.type = "ORTHO"
    camera = bpy.data.objects.new("flat", data)
    stage.collection.objects.link(camera)
    with pytest.raises(GeometryError, match=r"flat.*perspective"):
        bridge.view_from_camera(camera, stage, "flat")


def test_looking_through_the_users_camera_keeps_the_users_picture_size(stage):
    data = bpy.data.cameras.new("mine")
    camera = bpy.data.objects.new("mine", data)
    stage.collection.objects.link(camera)
    stage.render.resolution_x = 777
    cameras.look_through(stage, camera)
    assert stage.camera == camera
    assert stage.render.resolution_x == 777
