"""The film of a comparison: one camera, one floor and one beat for all walks."""

from __future__ import annotations

import struct
from dataclasses import replace
from itertools import accumulate

import bpy
import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage
from striderule.draw.png import decode
from striderule.errors import ModelError
from striderule.model.walk import Walk
from striderule.solve import solve
from striderule_blender import preview_compare, preview_walks


@pytest.fixture
def walks(starter, monkeypatch):
    """Two short walks of the lamplighter, the second with longer steps and twice as many poses at twice the rate."""
    monkeypatch.setattr(preview_walks, "SIZE", (320, 180))
    monkeypatch.setattr(preview_walks, "LEAST_SECONDS", 0.1)
    shot = starter("lamplighter")[0].shot
    plans = [
        solve(replace(shot, walk=Walk(steps=1, step_mm=40.0, poses_per_step=4), fps="6")),
        solve(replace(shot, walk=Walk(steps=2, step_mm=60.0, poses_per_step=4), fps="12")),
    ]
    return [("main: first", plans[0]), ("second", plans[1])]


def sizes_in(path):
    """(frames, width, height) out of the boxes of an MP4 file, as ISO/IEC 14496-12 lays them out (from memory)."""
    data = path.read_bytes()
    table, track = data.index(b"stsz") + 4, data.index(b"tkhd") + 4
    _, _, frames = struct.unpack(">III", data[table : table + 12])
    width, height = struct.unpack(">II", data[track + 76 : track + 84])
    return frames, width >> 16, height >> 16


def test_a_comparison_is_one_film_at_the_highest_rate_and_leaves_nothing_in_the_file(stage, walks, tmp_path, blocks):
    before = blocks()
    told = []
    path = tmp_path / "new" / "compare.mp4"
    preview_compare.render_comparison(walks, "side-on", path, lambda *done: told.append(done))
    assert [one.name for one in path.parent.iterdir()] == ["compare.mp4"]
    assert blocks() == before
    assert told[-1] == (14, 14)
    panels = preview_compare.panel_views([plan for _, plan in walks], "side-on")
    assert sizes_in(path) == (10, 320, 2 * panels[0].height), "5 poses at 6 fps are 10 frames at 12"
    assert tuple(bpy.data.images.load(str(path)).size) == (320, 2 * panels[0].height)


def test_every_walk_is_in_its_own_band_over_the_same_floor_at_the_same_moment(stage, walks, tmp_path, monkeypatch):
    kept = {}

    def keep(path, rate, size, tracks):
        kept["size"] = size
        kept["tracks"] = [[(decode(one.picture.read_bytes()).astype(float), one.frames, one.offset) for one in track]
                          for track in tracks]  # fmt: skip

    monkeypatch.setattr(preview_compare, "write_film", keep)
    preview_compare.render_comparison(walks, "side-on", tmp_path / "x.mp4")
    width, height = kept["size"]
    panels = preview_compare.panel_views([plan for _, plan in walks], "side-on")
    rows = panels[0].height
    plates, tracks, names = kept["tracks"][:2], kept["tracks"][2:4], kept["tracks"][4]
    floors = [np.abs(plate[..., :3] - plate[0, 0, :3]).max(axis=2) > 5 for ((plate, _, _),) in plates]
    edges = [np.flatnonzero(floor.any(axis=axis))[[0, -1]].tolist() for floor in floors for axis in (0, 1)]
    # to a pixel: the track of the hips, a hair's width in this small picture, is each walk's own
    assert np.abs(np.subtract(edges[:2], edges[2:])).max() <= 1, "the floor begins and ends at the same places"
    assert floors[0].sum() > 1000
    for number, (track, (_, plan)) in enumerate(zip(tracks, walks, strict=True)):
        assert sum(frames for _, frames, _ in track) == 10
        starts = [0, *accumulate(frames for _, frames, _ in track)]
        for frame in (0, 5, 9):
            index = max(k for k, start in enumerate(starts[:-1]) if start <= frame)
            picture, _, (right, up) = track[index]
            middle = (width / 2 + right, height / 2 - up)
            assert rows * number <= middle[1] - picture.shape[0] / 2
            assert middle[1] + picture.shape[0] / 2 <= rows * (number + 1)
            own = min(int(frame / 12 * plan.shot.rate) + 1, plan.frames)
            pose = int(np.searchsorted(plan.first_frame, own, side="right")) - 1
            expected, _ = pixels_from_stage(panels[number], plan.reference_mm[pose : pose + 1])
            assert abs(middle[0] - expected[0, 0]) < 30, "the puppet of that moment"
    sheet = names[0][0]
    assert sheet.shape == (height, width, 4)
    for number in range(2):
        assert (sheet[rows * number : rows * number + 40, :160, 3] > 0).sum() > 50, "a name stands in every band"


@pytest.mark.parametrize("name", ["three-quarter-front", "following"])
def test_other_views_are_cut_to_what_the_puppets_need(stage, walks, name):
    plans = [plan for _, plan in walks]
    panels = preview_compare.panel_views(plans, name)
    assert len({(one.width, one.height, one.fx, one.cy) for one in panels}) == 1
    assert panels[0].height % 2 == 0
    for plan, view in zip(plans, panels, strict=True):
        pixels, _ = pixels_from_stage(view, plan.toe_mm)
        assert ((pixels > 0) & (pixels < (view.width, view.height))).all()


@pytest.mark.parametrize(("count", "columns"), [(2, 1), (3, 1), (10, 2), (40, 5)])
def test_a_film_of_many_walks_keeps_to_a_size_in_columns(stage, walks, monkeypatch, count, columns):
    monkeypatch.setattr(preview_walks, "SIZE", (1280, 720))
    plans = [plan for _, plan in walks * count][:count]
    panels = preview_compare.panel_views(plans, "side-on")
    cells = preview_compare.cells_of(count, panels[0])
    assert cells.columns == columns
    assert (np.array(cells.size) <= preview_compare.MOST).all()
    assert cells.size[0] > 0.6 * preview_compare.MOST[0]
    corners = {cells.corner(number) for number in range(count)}
    assert len(corners) == count
    for left, top in corners:
        assert 0 <= left <= cells.size[0] - cells.width
        assert 0 <= top <= cells.size[1] - cells.height
    centre = np.array(cells.offset(count - 1)) * (1, -1) + np.array(cells.size) / 2
    assert np.array_equal(centre - (cells.width / 2, cells.height / 2), cells.corner(count - 1))


def test_a_film_of_a_moving_camera_is_made_too(stage, walks, tmp_path):
    preview_compare.render_comparison(walks, "following", tmp_path / "x.mp4")
    assert sizes_in(tmp_path / "x.mp4")[0] == 10


def test_an_unknown_view_is_refused_before_anything_is_written(stage, walks, tmp_path):
    with pytest.raises(ModelError, match="side-on"):
        preview_compare.render_comparison(walks, "sideways", tmp_path / "new" / "x.mp4")
    assert list(tmp_path.iterdir()) == []
