"""A matched camera in a shot: its file, its numbers, its view."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from striderule.camera.lens import pixels_from_stage
from striderule.camera.matched_view import (
    angles_from_axes,
    axes_from_angles,
    cropped,
    matched_from_view,
    view_of_still,
)
from striderule.camera.placing import look_at, view_named, views_of
from striderule.camera.views_json import view_from_json, view_to_json
from striderule.draw.layers import ShotDrawings
from striderule.errors import FileError, ModelError
from striderule.model.camerafile import dump_camera, dump_lens, parse_camera, parse_lens
from striderule.model.matched import Lens, MatchedCamera
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot, parse_shot, shot_identity
from striderule.model.view import CameraSetup, View
from striderule.solve import solve

CAMERA = MatchedCamera(
    (6000, 4000), (310.0, -820.0, 240.0), 98.5, -7.25, 0.8, (7900.0, 7905.0), (2990.0, 2012.0),
    (-0.06, 0.01, 0.0004, -0.0002, 0.0), (36.0, 24.0), 0.8,
)  # fmt: skip
HERON = starter_paths()["heron"].read_text(encoding="utf-8")
SHOT = HERON + '\n[view.desk]\ncamera = "desk.camera.toml"\n'


def folder_with(tmp_path: Path, text: str = SHOT) -> Path:
    (tmp_path / "puppets").mkdir()
    puppet = starter_paths()["heron"].parent / "puppets" / "heron.toml"
    (tmp_path / "puppets" / "heron.toml").write_text(puppet.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "desk.camera.toml").write_text(dump_camera(CAMERA), encoding="utf-8")
    (tmp_path / "shot.toml").write_text(text, encoding="utf-8")
    return tmp_path / "shot.toml"


@given(st.floats(-180, 180), st.floats(-89.9, 89.9), st.floats(-180, 180))
def test_angles_and_axes_are_the_same_turn(pan: float, tilt: float, roll: float) -> None:
    axes = axes_from_angles(pan, tilt, roll)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert axes_from_angles(*angles_from_axes(axes)) == pytest.approx(axes, abs=1e-9)


def test_angles_mean_what_their_names_say() -> None:
    """Against look_at, which every other camera is placed with, and hand-made directions."""
    level = axes_from_angles(90, 0, 0)
    assert level == pytest.approx(np.array([(1, 0, 0), (0, 0, -1), (0, 1, 0)]), abs=1e-12)
    place, target = np.array((310.0, -820.0, 240.0)), np.array((200.0, 15.0, 90.0))
    axes = look_at(place, target)
    pan, tilt, roll = angles_from_axes(axes)
    assert 90 < pan < 100
    assert tilt < 0
    assert roll == pytest.approx(0, abs=1e-9)
    assert axes_from_angles(pan, tilt, 0) == pytest.approx(axes, abs=1e-12)
    leaning = axes_from_angles(90, 0, 10)  # to its right: what is upright leans to the picture's left
    assert (leaning @ (0, 0, 1))[0] < 0
    assert angles_from_axes(axes_from_angles(30, -90, 0)) == pytest.approx((30, -90, 0), abs=1e-6)


def test_a_camera_file_and_a_lens_file_read_back_as_they_were_written() -> None:
    assert parse_camera(dump_camera(CAMERA), "x") == CAMERA
    lens = Lens((6000, 4000), (7900.0, 7900.0), (3001.5, 1998.0), (-0.06, 0.01, 0.0, 0.0, 0.0), (36.0, 24.0), "Old 50",
                9, 0.08, tuple(0.001 * k for k in range(36)))  # fmt: skip
    assert parse_lens(dump_lens(lens), "x") == lens
    assert lens.lens_mm == pytest.approx(47.4)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("pan_deg = 98.5", "pan_deg: expected an angle|pan_deg: expected a number in deg"),
        ("focal_px = [7900, 7905]", r"focal_px: expected 2 numbers in px"),
    ],
)
def test_a_camera_file_without_a_value_is_refused_with_its_name(line: str, message: str) -> None:
    text = "\n".join(
        one for one in dump_camera(CAMERA).split("\n") if not one.startswith(line.split(" = ", maxsplit=1)[0])
    )
    with pytest.raises(FileError, match=message):
        parse_camera(text, "desk.camera.toml")


def test_a_lens_file_is_no_camera_file() -> None:
    with pytest.raises(FileError, match='expected "camera", given "lens"'):
        parse_camera(dump_lens(Lens((1920, 1080), (1900.0, 1900.0), (959.5, 539.5))), "lens.toml")


def test_a_shot_names_a_camera_file_and_holds_its_values(tmp_path: Path) -> None:
    shot = load_shot(folder_with(tmp_path))
    desk = next(camera for camera in shot.cameras if camera.name == "desk")
    assert desk.matched == CAMERA
    assert desk.resolution == (6000, 4000)
    again = parse_shot(dump_shot(shot), "again")
    assert replace(again, name=shot.name) == shot
    assert shot_identity(again) == shot_identity(shot)


def test_a_view_through_a_crop_of_the_still_is_as_large_as_the_crop_unless_it_is_scaled(tmp_path: Path) -> None:
    text = SHOT + "crop_px = [0, 312, 6000, 3375]\n"
    shot = load_shot(folder_with(tmp_path, text))
    assert shot.cameras[-1].resolution == (6000, 3375)
    (tmp_path / "shot.toml").write_text(text + "resolution = [1920, 1080]\n", encoding="utf-8")
    shot = load_shot(tmp_path / "shot.toml")
    assert parse_shot(dump_shot(shot), "again").cameras == shot.cameras
    live, whole = view_named(solve(shot), "desk"), view_of_still(CAMERA, "desk")
    point = np.array([(250.0, 30.0, 90.0)])
    (u, v), (lu, lv) = pixels_from_stage(whole, point)[0][0], pixels_from_stage(live, point)[0][0]
    assert (lu + 0.5, lv + 0.5) == pytest.approx(((u + 0.5) * 0.32, (v + 0.5 - 312) * 0.32))


@pytest.mark.parametrize(
    ("extra", "message"),
    [
        ("place_mm = [0, -900, 200]\ntarget_mm = [0, 0, 100]", r"view\.desk\.place_mm: expected nothing"),
        ("lens_mm = 35", r"view\.desk\.lens_mm: expected nothing, because the matched camera brings it"),
        ("crop_px = [10, 0, 6000, 4000]", r"view\.desk\.crop_px: expected a part of the still, which has 6000 x 4000"),
        ("crop_px = [10, 0, 60]", r"view\.desk\.crop_px: expected 4 numbers"),
    ],
)
def test_what_a_matched_camera_brings_may_not_be_said_again(tmp_path: Path, extra: str, message: str) -> None:
    with pytest.raises(FileError, match=message):
        load_shot(folder_with(tmp_path, SHOT + extra + "\n"))


def test_a_missing_or_broken_camera_file_is_told_with_its_place(tmp_path: Path) -> None:
    path = folder_with(tmp_path)
    (tmp_path / "desk.camera.toml").write_text(dump_camera(CAMERA).replace("tilt_deg", "tilt"), encoding="utf-8")
    with pytest.raises(FileError, match=r'desk\.camera\.toml, line 6: tilt: .*Write "tilt_deg"'):
        load_shot(path)
    (tmp_path / "desk.camera.toml").unlink()
    with pytest.raises(FileError, match=r"shot\.toml, line \d+: view\.desk\.camera: .*does not exist"):
        load_shot(path)


def test_a_crop_without_a_matched_camera_is_refused() -> None:
    with pytest.raises(ModelError, match="crop_px: expected a matched camera"):
        CameraSetup("side-on", crop_px=(0, 0, 100, 100))


def test_a_shot_without_matched_cameras_keeps_its_identity() -> None:
    """Pictures made before there were any are still recognised."""
    plain = CameraSetup("side-on")
    shot = replace(load_shot(starter_paths()["heron"]), cameras=(plain,))
    matched = replace(shot, cameras=(CameraSetup("side-on", matched=CAMERA, resolution=(6000, 4000)),))
    assert shot_identity(shot) != shot_identity(matched)


def test_a_view_becomes_a_matched_camera_and_back_within_a_thousandth_of_a_pixel() -> None:
    view = view_of_still(CAMERA, "desk")
    again = view_of_still(matched_from_view(view), "desk")
    points = np.random.default_rng(2).uniform((0, -80, 0), (500, 80, 250), (300, 3))
    assert np.abs(pixels_from_stage(view, points)[0] - pixels_from_stage(again, points)[0]).max() < 1e-3


def test_views_json_holds_the_distortion_of_a_matched_view(tmp_path: Path) -> None:
    plan = solve(load_shot(folder_with(tmp_path)))
    view = views_of(plan)[-1]
    again = view_from_json(view_to_json(view))
    assert again.distortion == CAMERA.distortion
    assert (again.fx, again.fy) == CAMERA.focal_px
    assert np.array_equal(again.rotation, view.rotation)


def test_overlays_of_a_matched_view_are_bent_by_its_lens(tmp_path: Path) -> None:
    """A straight line on the stage is drawn through the pixels that its own points have."""
    lens = replace(CAMERA, distortion=(-0.2, 0.05, 0.0, 0.0, 0.0))
    folder = folder_with(tmp_path)
    (tmp_path / "desk.camera.toml").write_text(dump_camera(lens), encoding="utf-8")
    plan = solve(load_shot(folder))
    view = view_named(plan, "desk")
    grid = [item for item in ShotDrawings(plan, view).layer("floor", 0).items if hasattr(item, "points")]
    longest = max(grid, key=lambda line: float(np.ptp(line.points[:, 0])))
    first, last = longest.points[0], longest.points[-1]
    along, away = last - first, longest.points - first
    chord = np.abs(along[0] * away[:, 1] - along[1] * away[:, 0]) / np.linalg.norm(along)
    assert chord.max() > 5  # bent, and not a chord
    assert np.linalg.norm(np.diff(longest.points, axis=0), axis=1).max() < 40


def test_a_lens_that_folds_inside_the_frame_is_refused(tmp_path: Path) -> None:
    from striderule.errors import GeometryError

    folding = replace(CAMERA, focal_px=(2000.0, 2000.0), distortion=(-0.4, 0.0, 0.0, 0.0, 0.0))
    folder = folder_with(tmp_path)
    (tmp_path / "desk.camera.toml").write_text(dump_camera(folding), encoding="utf-8")
    plan = solve(load_shot(folder))
    with pytest.raises(GeometryError, match="view desk: expected a lens that shows every place once"):
        ShotDrawings(plan, view_named(plan, "desk")).drawing(0)


def test_a_crop_and_back_is_the_same_view() -> None:
    view = view_of_still(CAMERA, "desk")
    part = cropped(view, (600, 400, 3000, 2000), (1500, 1000))
    assert isinstance(part, View)
    assert (part.fx, part.fy) == (3950.0, 3952.5)
    assert (part.cx + 0.5) * 2 + 600 == pytest.approx(view.cx + 0.5)
