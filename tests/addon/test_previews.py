"""Previews: films of the walk, whole strides long, without a jump."""

from __future__ import annotations

import struct
from dataclasses import replace

import bpy
import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage
from striderule.camera.placing import views_of
from striderule.draw.png import decode
from striderule.errors import ModelError
from striderule.solve import solve
from striderule_blender import preview_crop, preview_walks, previews


def chosen(views, *names):
    return [view for view in views if view.name in names]


@pytest.mark.parametrize("name", ["heron", "lamplighter", "heron-burdened"])
@pytest.mark.parametrize("frames_per_pose", [1, 2])
def test_a_travelling_preview_is_the_same_walk_longer_by_whole_strides(starter, name, frames_per_pose):
    plan, views = starter(name, frames_per_pose)
    walk = preview_walks.travelling(plan, chosen(views, "side-on"))
    assert (walk.plan.shot.walk.steps - plan.shot.walk.steps) % 2 == 0
    assert len(walk.frames) >= 8 * plan.shot.rate
    assert len(walk.frames) == walk.plan.frames
    assert np.abs(walk.plan.ankle_mm[: plan.poses - plan.shot.walk.poses_per_step] -
                  plan.ankle_mm[: plan.poses - plan.shot.walk.poses_per_step]).max() < 1e-9  # fmt: skip
    steps = np.diff(walk.plan.reference_mm[:, 0])
    assert np.ptp(steps) < 1e-6, "no jump along"


def test_the_whole_walk_stays_in_a_travelling_preview(starter):
    plan, views = starter("heron")
    walk = preview_walks.travelling(plan, chosen(views, "side-on"))
    (view,) = walk.views
    assert (view.width, view.height) == (1280, 720)
    for k in (0, walk.plan.poses - 1):
        at, _ = pixels_from_stage(view, walk.plan.reference_mm[k : k + 1])
        assert 0 < at[0, 0] < view.width
        assert 0 < at[0, 1] < view.height


@pytest.mark.parametrize("name", ["side-on", "three-quarter-front", "following"])
def test_one_stride_on_the_spot_ends_where_it_began(starter, name):
    plan, views = starter("heron")
    walk = preview_walks.on_the_spot(plan, chosen(views, name))
    (view,) = walk.views
    n = plan.shot.walk.poses_per_step
    first = walk.poses[0]
    assert len(walk.poses) == 2 * n
    last = first + 2 * n  # the pose that would come next: the first picture again
    for places in (walk.plan.reference_mm[:, None], walk.plan.ankle_mm, walk.plan.knee_mm, walk.plan.toe_mm):
        begin, _ = pixels_from_stage(view.at(first), places[first])
        end, _ = pixels_from_stage(view.at(last), places[last])
        assert np.abs(begin - end).max() < 1e-6
    assert len(walk.frames) >= 8 * plan.shot.rate
    assert len(walk.frames) % len(walk.poses) == 0
    reference, _ = pixels_from_stage(view.at(first), walk.plan.reference_mm[first][None])
    middle, _ = pixels_from_stage(view.at(first + n), walk.plan.reference_mm[first + n][None])
    assert abs(middle[0, 0] - reference[0, 0]) < 0.05 * view.width


def test_on_the_spot_the_puppet_is_larger_than_where_it_walks_through(starter):
    plan, views = starter("heron")
    (spot,) = preview_walks.on_the_spot(plan, chosen(views, "side-on")).views
    (through,) = preview_walks.travelling(plan, chosen(views, "side-on")).views
    ends = np.array([(0.0, 0.0, 0.0), (0.0, 0.0, 300.0)])
    small, large = (np.ptp(pixels_from_stage(view.at(0), ends)[0][:, 1]) for view in (through, spot))
    assert large > 1.8 * small


def test_tracks_are_left_out_where_the_camera_looks_along_them_and_shown_from_aside(
    stage, starter, tmp_path, monkeypatch
):
    plan, views = starter("heron")
    assert {view.name for view in views if preview_walks.along_track(plan, view)} == {"head-on"}
    monkeypatch.setattr(preview_walks, "SIZE", (320, 180))
    yellow = {}

    def count(_walk, view, _plate, shots, _path):
        red, green, blue = np.moveaxis(picture(shots[0][0]), -1, 0)
        yellow[view.name] = int(((green > blue + 0.12) & (red > blue + 0.12) & (green > 0.85 * red)).sum())

    monkeypatch.setattr(previews, "_film", count)
    previews.render_previews(plan, views, ["head-on", "side-on"], tmp_path, spot=True, block_through=True)
    assert yellow["head-on"] < 12, "the mark at the reference point alone"
    assert yellow["side-on"] > 60


def test_a_block_through_holds_each_key_pose_until_the_next(starter):
    plan, views = starter("heron", 2)
    walk = preview_walks.travelling(plan, chosen(views, "side-on"), block_through=True)
    assert {walk.plan.keys[k] for k in walk.poses} == {"contact", "down", "passing", "up"}
    assert len(walk.frames) == walk.plan.frames
    for frame, picture in enumerate(walk.frames, 1):
        k = int(np.searchsorted(walk.plan.first_frame, frame, side="right")) - 1
        key = max(pose for pose in range(k + 1) if walk.plan.keys[pose] != "in-between")
        assert walk.poses[picture] == key


def test_a_camera_that_the_user_placed_is_not_moved(starter):
    plan, views = starter("heron")
    own = replace(views[0], name="mine")
    walk = preview_walks.travelling(plan, [own])
    assert np.array_equal(walk.views[0].translation_mm, own.translation_mm)


def test_a_view_of_another_shape_fits_with_even_sides_and_the_same_aim(starter):
    view = replace(starter("heron")[1][0], width=1001, height=1999, cx=500.0, cy=999.0)
    small = preview_walks.fitted(view)
    assert small.height == 720
    assert small.width % 2 == 0
    point = np.array([[60.0, 10.0, 150.0]])
    before, _ = pixels_from_stage(view, point)
    after, _ = pixels_from_stage(small, point)
    share = np.array([small.width / view.width, small.height / view.height])
    assert np.abs((before + 0.5) * share - (after + 0.5)).max() < 1e-9


def read_back(path):
    """(frames, fps) out of the boxes of an MP4 file, read as ISO/IEC 14496-12 lays them out (from memory)."""
    data = path.read_bytes()
    table = data.index(b"stsz") + 4
    _, size, frames = struct.unpack(">III", data[table : table + 12])
    header = data.index(b"mdhd") + 4
    version, _, _, timescale, duration = struct.unpack(">IIIII", data[header : header + 20])
    assert version == 0
    assert size == 0
    return frames, frames * timescale / duration


@pytest.mark.parametrize("fps", ["12", "30000/1001"])
def test_a_film_has_the_shots_rate_and_every_frame_and_leaves_nothing_in_the_file(
    stage, starter, tmp_path, monkeypatch, fps, blocks
):
    shot = starter("heron")[0].shot
    plan = solve(replace(shot, fps=fps, frames_per_pose=6, walk=replace(shot.walk, steps=2, poses_per_step=4,
                                                                         passing_pose=2)))  # fmt: skip
    monkeypatch.setattr(preview_walks, "SIZE", (320, 180))
    small = views_of(plan)
    before = blocks()
    told = []
    (path,) = previews.render_previews(plan, small, ["side-on"], tmp_path, spot=True, block_through=True,
                                       progress=lambda *done: told.append(done))  # fmt: skip
    assert path.name == "preview_side-on_on-the-spot_block-through.mp4"
    assert [one.name for one in tmp_path.iterdir()] == [path.name]
    assert blocks() == before
    assert {image.name for image in bpy.data.images} <= {"Render Result"}, "Blender's own"
    assert told[-1][0] == told[-1][1] == 8
    frames, rate = read_back(path)
    expected = preview_walks.on_the_spot(plan, chosen(small, "side-on"), True)
    assert frames == len(expected.frames)
    assert frames >= 8 * plan.shot.rate
    assert rate == pytest.approx(float(plan.shot.rate), rel=1e-3)
    assert tuple(bpy.data.images.load(str(path)).size) == (320, 180)


def test_an_unknown_view_is_refused_before_anything_is_written(stage, starter, tmp_path):
    plan, views = starter("heron")
    with pytest.raises(ModelError, match="side-on"):
        previews.render_previews(plan, views, ["sideways"], tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_picture_put_together_from_background_and_puppet_is_the_whole_picture(stage, starter, tmp_path, monkeypatch):
    plan, views = starter("lamplighter")
    monkeypatch.setattr(preview_walks, "SIZE", (320, 180))
    monkeypatch.setattr(preview_walks, "LEAST_SECONDS", 0.1)
    monkeypatch.setattr(preview_walks, "longer", lambda shot: replace(shot, walk=replace(shot.walk, steps=1)))
    kept, preview_plan = {}, []

    def keep(walk, view, plate, shots, path):
        preview_plan.append(walk.plan)
        pictures = [(picture(one), offset) for one, offset in shots]
        kept[len(kept)] = (view, picture(plate), pictures)

    monkeypatch.setattr(previews, "_film", keep)
    previews.render_previews(plan, views, ["three-quarter-front"], tmp_path)
    monkeypatch.setattr(previews, "puppet_box", lambda _plan, view, _pose: preview_crop.whole_box(view))
    previews.render_previews(plan, views, ["three-quarter-front"], tmp_path)
    (view, plate, parts), (_, _, wholes) = kept.values()
    assert len(parts) == plan.shot.walk.poses_per_step + 1
    for (part, (right, up)), (whole, _) in zip(parts, wholes, strict=True):
        height, width = part.shape[:2]
        left, top = int(view.width / 2 + right - width / 2), int(view.height / 2 - up - height / 2)
        assert width * height < 0.5 * view.width * view.height
        film = plate.copy()
        film[top : top + height, left : left + width] = part
        assert np.abs(film - whole).max() < 0.2, "a rendered sample or two fall on the other side of an edge"
        assert np.abs(film - whole).mean() < 1e-3
    for pose, (whole, _) in enumerate(wholes):
        rows, columns = np.nonzero(np.abs(plate - whole).max(axis=2) > 0.1)
        assert len(rows) > 50, "the puppet is in the picture"
        box = preview_crop.puppet_box(preview_plan[0], view, pose)
        assert (box.left <= columns.min()) & (columns.max() < box.right), "and where its pose is"
        assert (box.top <= rows.min()) & (rows.max() < box.bottom)
    first, last = (
        np.nonzero(np.abs(plate - whole).max(axis=2) > 0.1)[1].mean() for whole, _ in (wholes[0], wholes[-1])
    )
    assert last - first > 5, "it walks to the right"


def picture(path):
    """(height, width, 3) of a PNG, 0..1, the top row first, read by the core's own decoder."""
    return decode(path.read_bytes())[..., :3].astype(float) / 255
