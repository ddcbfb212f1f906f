"""Where the built-in cameras stand, and the shot's own."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from striderule.camera.lens import eye_mm, pixels_from_stage
from striderule.camera.placing import MARGIN, focal_pixels, look_at, view_named, views_of
from striderule.camera.solids import solids_of
from striderule.camera.views_json import view_from_json, view_to_json
from striderule.errors import GeometryError, ModelError
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.view import BUILT_IN_VIEWS, CameraSetup
from striderule.solve import Plan, solve

HERON: Shot = load_shot(starter_paths()["heron"])


def heron_plan(*cameras: CameraSetup, steps: int = 4) -> Plan:
    return solve(replace(HERON, walk=replace(HERON.walk, steps=steps), cameras=cameras))


def corners_on_balls(solid, view):
    """Points on every ball of a solid as far out as the camera can see them: (poses, n * 26, 3)."""
    unit = np.array([(x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z], float)
    unit /= np.linalg.norm(unit, axis=1, keepdims=True)
    points = solid.centres_mm[:, :, None] + solid.radii_mm[None, :, None, None] * (unit @ view.rotation)
    return points.reshape(len(points), -1, 3)


@pytest.mark.parametrize("steps", [1, 4, 40])
@pytest.mark.parametrize(
    ("lens", "resolution", "side"),
    [(50.0, (1920, 1080), "right"), (24.0, (1080, 1920), "left"), (135.0, (6000, 4000), "right")],
)
def test_every_built_in_view_keeps_the_whole_puppet_in_the_frame_with_a_margin_in_every_pose(
    steps, lens, resolution, side
):
    setups = [CameraSetup(name, lens_mm=lens, resolution=resolution, side=side) for name in BUILT_IN_VIEWS]
    plan = heron_plan(*setups, steps=steps)
    width, height = resolution
    margin = MARGIN * min(width, height)
    for view in views_of(plan):
        for solid in solids_of(plan):
            pixels, depth = pixels_from_stage(view, corners_on_balls(solid, view))
            assert (depth > 0).all(), view.name
            assert pixels.min() > margin - 1, (view.name, solid.part)
            assert pixels[..., 0].max() < width - margin, (view.name, solid.part)
            assert pixels[..., 1].max() < height - margin, (view.name, solid.part)


def test_side_on_stands_on_the_right_level_and_square_and_the_puppet_walks_left_to_right():
    plan = heron_plan()
    view = view_named(plan, "side-on")
    assert np.array_equal(view.rotation, [(1, 0, 0), (0, 0, -1), (0, 1, 0)])
    assert eye_mm(view)[1] < 0
    x = pixels_from_stage(view, plan.reference_mm)[0][:, 0]
    assert (np.diff(x) > 0).all()


def test_side_left_mirrors_the_view():
    plan = heron_plan(CameraSetup("side-on", side="left"))
    view = view_named(plan, "side-on")
    assert np.array_equal(view.rotation[2], (0, -1, 0))
    assert (np.diff(pixels_from_stage(view, plan.reference_mm)[0][:, 0]) < 0).all()


def test_side_on_shows_the_puppet_a_third_as_high_as_the_picture_where_the_walk_leaves_room():
    plan = heron_plan()
    view = view_named(plan, "side-on")
    top = max((solid.centres_mm[..., 2] + solid.radii_mm).max() for solid in solids_of(plan))
    ends = pixels_from_stage(
        view, np.array([(150.0, plan.reference_mm[0, 1], 0.0), (150.0, plan.reference_mm[0, 1], top)])
    )[0]
    assert ends[0, 1] - ends[1, 1] == pytest.approx(360, rel=0.02)


@pytest.mark.parametrize("name", ["heron", "lamplighter"])
@pytest.mark.parametrize("steps", [2, 6, 16])
def test_the_puppet_is_about_a_third_as_high_as_the_picture_or_higher_in_every_pose_of_every_view(name, steps):
    """A third: common practice, no source. Up to 5 % less where perspective has head and feet farther than the hips."""
    shot = load_shot(starter_paths()[name])
    plan = solve(replace(shot, walk=replace(shot.walk, steps=steps)))
    for close in (False, True) if steps == 2 else (False,):  # a long walk needs its room
        for view in views_of(plan, close):
            least = 0.55 if close or view.name == "following" else 0.317
            rows = [pixels_from_stage(view, corners_on_balls(solid, view))[0][..., 1] for solid in solids_of(plan)]
            rows = np.concatenate(rows, axis=1)
            high = (rows.max(axis=1) - rows.min(axis=1)) / view.height
            assert high.min() > least, view.name


def test_level_views_stand_at_the_height_of_the_chest():
    plan = heron_plan()
    chest = np.mean([solid.centres_mm[..., 2].mean() for solid in solids_of(plan) if solid.part == "chest"])
    for name in ("side-on", "three-quarter-front", "three-quarter-back", "head-on"):
        view = view_named(plan, name)
        assert eye_mm(view)[2] == pytest.approx(chest)
        assert view.rotation[2, 2] == 0.0
        assert np.array_equal(view.rotation[1], (0, 0, -1))


def test_head_on_looks_back_along_the_track_from_three_hip_heights_beyond_the_last_footprint():
    for lens in (10.0, 50.0):
        plan = heron_plan(CameraSetup("head-on", lens_mm=lens))
        view = view_named(plan, "head-on")
        eye = eye_mm(view)
        assert np.array_equal(view.rotation[2], (-1, 0, 0))
        assert eye[0] - plan.toe_mm[-1, :, 0].max() >= 3 * plan.hip_line_mm.max() - 1e-9
        assert eye[1] == HERON.stage.start_mm[1]


def test_high_looks_down_from_above_and_low_looks_up_from_near_the_floor():
    plan = heron_plan()
    high, low = view_named(plan, "high"), view_named(plan, "low")
    assert high.rotation[2, 2] < -0.5
    assert eye_mm(high)[2] > 300
    assert low.rotation[2, 2] > 0.1
    assert 0 < eye_mm(low)[2] < 0.25 * plan.hip_line_mm.min()


def test_three_quarter_views_see_the_front_and_the_back():
    plan = heron_plan()
    assert view_named(plan, "three-quarter-front").rotation[2, 0] == pytest.approx(-np.sqrt(0.5))
    assert view_named(plan, "three-quarter-back").rotation[2, 0] == pytest.approx(np.sqrt(0.5))


def test_following_goes_along_with_the_reference_point_without_rising_or_swaying():
    plan = heron_plan(steps=30)
    view = view_named(plan, "following")
    assert view.moving
    eye = eye_mm(view)
    assert np.ptp(eye[:, 0] - plan.reference_mm[:, 0]) < 1e-9
    assert np.ptp(eye[:, 1:], axis=0).max() < 1e-9
    assert np.ptp(pixels_from_stage(view, plan.reference_mm)[0][:, 0]) < 8


def test_own_cameras_follow_the_built_in_ones_and_point_at_their_target():
    own = CameraSetup("table-cam", (300.0, -900.0, 250.0), (120.0, 0.0, 90.0), 35.0, (23.6, 15.7), (1280, 720))
    plan = heron_plan(own)
    views = views_of(plan)
    assert [view.name for view in views] == [*BUILT_IN_VIEWS, "table-cam"]
    assert eye_mm(views[-1]) == pytest.approx((300, -900, 250))
    assert pixels_from_stage(views[-1], np.array((120.0, 0.0, 90.0)))[0] == pytest.approx((639.5, 359.5))
    assert views[-1].rotation[0, 2] == 0.0


def test_a_built_in_name_with_a_place_of_its_own_stands_there():
    plan = heron_plan(CameraSetup("high", (0.0, 0.0, 1500.0), (0.0, 0.0, 0.0)))
    assert eye_mm(view_named(plan, "high")) == pytest.approx((0, 0, 1500))


def test_a_camera_straight_above_shows_the_walk_from_left_to_right():
    down = look_at(np.array((5.0, 6.0, 800.0)), np.array((5.0, 6.0, 0.0)))
    assert np.allclose(down, [(1, 0, 0), (0, -1, 0), (0, 0, -1)])
    up = look_at(np.array((5.0, 6.0, 0.0)), np.array((5.0, 6.0, 800.0)))
    assert np.allclose(up, [(1, 0, 0), (0, 1, 0), (0, 0, 1)])
    nearly = look_at(np.array((0.0, 0.0, 800.0)), np.array((1e-9, 2e-9, 0.0)))
    assert np.allclose(nearly @ nearly.T, np.eye(3), atol=1e-12)


def test_a_camera_that_points_at_itself_is_refused():
    with pytest.raises(GeometryError, match="point at itself"):
        look_at(np.zeros(3), np.zeros(3))


def test_focal_length_fills_the_sensor_with_the_picture():
    """50 mm on a sensor 36 mm wide: 2666.67 px of 1920, an angle of 39.598 degrees (the project's trade notes)."""
    focal = focal_pixels(CameraSetup("side-on"))
    assert focal == pytest.approx(2666.667, abs=1e-3)
    assert np.degrees(2 * np.arctan(1920 / 2 / focal)) == pytest.approx(39.598, abs=1e-3)
    assert focal_pixels(CameraSetup("side-on", resolution=(1080, 1920))) == pytest.approx(focal)
    assert focal_pixels(CameraSetup("side-on", resolution=(1600, 1200))) == pytest.approx(50 / (24 / 1200))


def test_an_unknown_view_is_refused_with_the_known_ones():
    with pytest.raises(ModelError, match="side-on"):
        view_named(heron_plan(), "sideways")


def test_a_view_survives_json_to_the_last_bit():
    plan = heron_plan()
    for view in (
        view_named(plan, "following"),
        replace(view_named(plan, "high"), distortion=(-0.1, 0.01, 1e-4, 2e-4, 0.0)),
    ):
        data = json.loads(json.dumps(view_to_json(view)))
        keys = ["name", "width", "height", "fx", "fy", "cx", "cy", "distortion", "R", "t"]
        assert list(data) == keys + (["t_per_pose"] if view.moving else [])
        again = view_from_json(data)
        assert view_to_json(again) == data
        assert np.array_equal(again.rotation, view.rotation)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("R", [[1, 0, 0], [0, 1, 0]]),
        ("t", "here"),
        ("width", 1.5),
        ("name", "../up"),
        ("fx", -3.0),
        ("lens", 50),
        ("t_per_pose", []),
        ("cx", float("nan")),
        ("cy", None),
    ],
)
def test_a_bad_view_in_json_is_refused_naming_its_key(key, value):
    data = view_to_json(view_named(heron_plan(), "side-on")) | {key: value}
    with pytest.raises(ModelError) as caught:
        view_from_json(data)
    assert caught.value.key == f"view.{key}"
