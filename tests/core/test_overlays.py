"""Overlay pictures on disk, with a small painter of its own; what the layers show is tested in test_layers.py."""

import os
import re
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from striderule.draw.drawing import Area, Dot, Drawing, Ink, Label, Layer, Line, Ring
from striderule.draw.png import decode
from striderule.draw.raster import render
from striderule.errors import ModelError, OutputError
from striderule.export.overlay_options import backdrop_colour, overlay_options, pose_range
from striderule.export.overlays import write_overlays
from striderule.export.picture_tags import layer_digest, owner_of, tag_of
from striderule.model.view import View
from striderule.model.walk import Walk

WHITE = Ink((1.0, 1.0, 1.0), 2.0, halo=2.0, halo_alpha=0.7)
SIDE = View("side-on", 96, 64, 100.0, 100.0, 47.5, 31.5, np.eye(3), np.zeros(3))
FRONT = replace(SIDE, name="head-on")


def painter_of(plan, view):
    def painter(pose):
        x = 10.0 + 5 * pose
        floor = Layer("floor", (Line(np.array([[0.0, 60.0], [95.0, 60.0]]), WHITE),), still=True)
        limb = Area((np.array([[x, 10.0], [x + 12, 10.0], [x + 12, 50.0], [x, 50.0]]),), (0.9, 0.6, 0.0), 0.5)
        target = Layer("target", (Ring(x, 30.0, 6.0, WHITE),))
        labels = Layer("labels", (Label(str(pose + 1), 4.0, 20.0, 14.0, WHITE),))
        return Drawing(view.width, view.height, (floor, Layer("pose", (limb,)), target, labels))

    return painter


@pytest.fixture
def plan(made_plan, made_shot):
    return made_plan(made_shot(walk=Walk(steps=1, poses_per_step=4, step_mm=60.0), frames_per_pose=2))


LAYERS = ("floor", "pose", "target")


def written(root, plan, views=(SIDE,), painter=painter_of, each=map, progress=None, **choices):
    options = overlay_options(plan.shot, **{"layers": LAYERS, **choices})
    return write_overlays(root, plan, views, options, painter, each=each, progress=progress)


def tree(root):
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


def test_every_film_frame_has_its_picture_in_each_layer_and_in_all(tmp_path, plan):
    written(tmp_path, plan, views=(SIDE, FRONT))
    names = [f"{number:04d}.png" for number in range(1, 11)]
    for view in ("side-on", "head-on"):
        for layer in (*LAYERS, "all"):
            assert sorted(p.name for p in (tmp_path / "overlay" / view / layer).iterdir()) == names


def test_a_pose_on_twos_has_two_pictures_of_the_same_bytes(tmp_path, plan):
    written(tmp_path, plan)
    files = tree(tmp_path / "overlay" / "side-on" / "all")
    assert files["0003.png"] == files["0004.png"]
    assert files["0004.png"] != files["0005.png"]


def test_pictures_per_pose_are_numbered_by_pose(tmp_path, plan):
    written(tmp_path, plan, per_pose=True)
    assert sorted(tree(tmp_path / "overlay" / "side-on" / "target")) == [f"000{k}.png" for k in range(1, 6)]


def test_first_number_and_digits_name_the_pictures(tmp_path, plan):
    written(tmp_path, plan, first_number=1001, digits=6)
    assert min(tree(tmp_path / "overlay" / "side-on" / "all")) == "001001.png"


def test_a_layer_that_does_not_change_is_also_written_once(tmp_path, plan):
    written(tmp_path, plan)
    once = (tmp_path / "overlay" / "side-on" / "floor.png").read_bytes()
    assert once == (tmp_path / "overlay" / "side-on" / "floor" / "0007.png").read_bytes()
    assert not (tmp_path / "overlay" / "side-on" / "target.png").exists()


def test_the_flat_picture_is_its_layers_painted_over_each_other(tmp_path, plan):
    written(tmp_path, plan)
    flat = decode((tmp_path / "overlay" / "side-on" / "all" / "0005.png").read_bytes())
    layers = [one for one in painter_of(plan, SIDE)(2).layers if one.name in LAYERS]
    assert np.array_equal(flat, render(layers, 96, 64).rgba8())
    assert flat[..., 3].max() > 200


def test_a_backdrop_makes_the_pictures_opaque(tmp_path, plan):
    written(tmp_path, plan, backdrop="#102030")
    pixels = decode((tmp_path / "overlay" / "side-on" / "all" / "0001.png").read_bytes())
    assert pixels.shape[2] == 3
    assert pixels[0, 0].tolist() == [0x10, 0x20, 0x30]


def test_a_range_of_poses_writes_only_its_own_pictures(tmp_path, plan):
    written(tmp_path, plan, poses="2-3")
    assert sorted(tree(tmp_path / "overlay" / "side-on" / "all")) == [f"000{k}.png" for k in range(3, 7)]


def test_parts_made_one_by_one_equal_the_whole(tmp_path, plan):
    written(tmp_path / "whole", plan)
    for poses in ("4-5", "1", "2-3"):
        written(tmp_path / "parts", plan, poses=poses)
    assert tree(tmp_path / "whole") == tree(tmp_path / "parts")


def test_threads_write_the_same_bytes(tmp_path, plan):
    written(tmp_path / "one", plan)
    with ThreadPoolExecutor(3) as pool:
        written(tmp_path / "many", plan, each=pool.map)
    assert tree(tmp_path / "one") == tree(tmp_path / "many")


def test_a_second_run_draws_nothing_and_tells_of_the_same_pictures(tmp_path, plan):
    first = written(tmp_path, plan)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.png")}
    second = written(tmp_path, plan)
    assert (first.drawn, first.kept, second.drawn, second.kept) == (41, 0, 0, 41)
    assert first.pictures == second.pictures
    assert before == {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.png")}


def test_only_what_changed_is_drawn_again(tmp_path, plan):
    written(tmp_path, plan)

    def changed(plan, view):
        old = painter_of(plan, view)
        extra = Layer("target", (Dot(40.0, 40.0, 3.0, WHITE),))
        return lambda pose: old(pose) if pose != 2 else replace(old(pose), layers=(*old(pose).layers[:2], extra))

    again = written(tmp_path, plan, painter=changed)
    assert again.drawn == 4  # target and all, two frames


def test_a_damaged_or_edited_picture_is_drawn_again(tmp_path, plan):
    written(tmp_path, plan)
    whole = tree(tmp_path)
    path = tmp_path / "overlay" / "side-on" / "target" / "0003.png"
    path.write_bytes(path.read_bytes()[:-20])
    assert written(tmp_path, plan).drawn == 1
    path.write_bytes(path.read_bytes().replace(b"IDAT", b"IDAS"))
    assert written(tmp_path, plan).drawn == 1
    assert tree(tmp_path) == whole


def test_a_shorter_version_of_the_shot_leaves_no_pictures_behind(tmp_path, plan, made_plan):
    written(tmp_path, plan)
    notes = tmp_path / "overlay" / "side-on" / "all" / "0099.png"
    notes.write_bytes(b"not ours")
    shorter = made_plan(replace(plan.shot, walk=replace(plan.shot.walk, poses_per_step=3)))
    assert written(tmp_path, shorter).removed == 8
    assert sorted(tree(tmp_path / "overlay" / "side-on" / "all")) == [f"{k:04d}.png" for k in (*range(1, 9), 99)]


def test_another_shot_s_pictures_are_refused_and_left_alone(tmp_path, plan, made_plan):
    written(tmp_path, plan)
    before = tree(tmp_path)
    other = made_plan(replace(plan.shot, name="another"))
    with pytest.raises(OutputError, match=r"another shot.*--replace"):
        written(tmp_path, other)
    assert tree(tmp_path) == before
    written(tmp_path, other, replace=True)
    assert owner_of(tmp_path / "overlay/side-on/all/0001.png") != owner_of_text(before["overlay/side-on/all/0001.png"])


def owner_of_text(png):
    return re.search(rb"shot=([0-9a-f]{16})", png)[1].decode()


def test_a_picture_that_somebody_else_made_is_refused(tmp_path, plan):
    path = tmp_path / "overlay" / "side-on" / "target" / "0002.png"
    path.parent.mkdir(parents=True)
    path.write_bytes(b"a photograph")
    with pytest.raises(OutputError, match=r"0002\.png"):
        written(tmp_path, plan)
    assert list(tree(tmp_path)) == ["overlay/side-on/target/0002.png"]


def test_a_tagged_picture_is_still_a_sound_png(tmp_path, plan):
    written(tmp_path, plan)
    path = tmp_path / "overlay" / "side-on" / "all" / "0001.png"
    assert decode(path.read_bytes()).shape == (64, 96, 4)
    assert tag_of(path) is not None


def test_progress_counts_every_picture_of_every_view(tmp_path, plan):
    seen = []
    written(tmp_path, plan, views=(SIDE, FRONT), progress=lambda *told: seen.append(told))
    assert seen[0] == (1, 10, "side-on")
    assert seen[-1] == (10, 10, "head-on")
    assert len(seen) == 10


def test_an_interrupted_export_goes_on_and_ends_with_the_same_bytes(tmp_path, plan):
    written(tmp_path / "whole", plan)

    def interrupt(done, _total, _view):
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        written(tmp_path / "cut", plan, progress=interrupt)
    assert written(tmp_path / "cut", plan).kept > 0
    assert tree(tmp_path / "cut") == tree(tmp_path / "whole")


@pytest.mark.skipif(os.name != "posix", reason="Windows has no SIGKILL")
def test_a_killed_export_goes_on_and_ends_with_the_same_bytes(tmp_path):
    script = (
        "import sys, time; from pathlib import Path\n"
        "from striderule.export import overlays; from striderule.export.overlay_options import overlay_options\n"
        "from striderule.model.seeds import starter_paths; from striderule.model.shotfile import load_shot\n"
        "from striderule.solve import solve; from striderule.model.view import View\n"
        "from striderule.draw.drawing import *; import numpy as np\n"
        "plan = solve(load_shot(starter_paths()['heron']))\n"
        "view = View('side-on', 64, 48, 50., 50., 31.5, 23.5, np.eye(3), np.zeros(3))\n"
        "ink = Ink((1., 1., 1.), 2.)\n"
        "def painter_of(plan, view):\n"
        "    return lambda k: Drawing(64, 48, (Layer('target', (Dot(k + 5., 20., 4., ink),)),))\n"
        "overlays.write_overlays(Path(sys.argv[1]), plan, [view], overlay_options(plan.shot, layers=('target',)),\n"
        "    painter_of, progress=lambda *_: time.sleep(float(sys.argv[2])))\n"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}

    def started(folder, wait):
        return subprocess.Popen([sys.executable, "-c", script, str(tmp_path / folder), wait], env=environment)

    assert started("whole", "0").wait() == 0
    victim = started("cut", "0.02")
    deadline = time.monotonic() + 60
    while not (tmp_path / "cut/overlay/side-on/all/0004.png").exists() and time.monotonic() < deadline:
        time.sleep(0.005)
    victim.send_signal(signal.SIGKILL)
    victim.wait()
    # What a kill in the middle of a write leaves: half a file under a temporary name of a process that is gone.
    from striderule.export.files import _host

    (tmp_path / f"cut/overlay/side-on/all/.0005.png.{_host()}-{victim.pid}.part").write_bytes(b"half")
    assert not (tmp_path / "cut/overlay/side-on/all/0037.png").exists()
    assert started("cut", "0").wait() == 0
    assert tree(tmp_path / "cut") == tree(tmp_path / "whole")


def test_equal_layers_have_equal_digests_and_every_change_another():
    line = Line(np.array([[0.0, 1.0], [2.0, 3.0]]), WHITE)
    one = Layer("a", (line, Label("7", 1.0, 2.0, 20.0, WHITE), Ring(1.0, 2.0, 3.0, WHITE)))
    same = Layer("a", (replace(line, points=line.points.copy()), *one.items[1:]))
    assert layer_digest(one) == layer_digest(same)
    changed = [
        (replace(line, closed=True), *one.items[1:]),
        (replace(line, points=line.points + 1e-9), *one.items[1:]),
        (line, replace(one.items[1], text="8"), one.items[2]),
        (line, one.items[1], replace(one.items[2], radius=3.1)),
        (line, one.items[1], Dot(1.0, 2.0, 3.0, WHITE)),
        (line, one.items[2], one.items[1]),
        (replace(line, ink=replace(WHITE, alpha=0.5)), *one.items[1:]),
    ]
    digests = {layer_digest(Layer("a", items)) for items in changed}
    assert len(digests) == len(changed)
    assert layer_digest(one) not in digests


def test_too_few_digits_are_refused_before_anything_is_written(plan):
    with pytest.raises(ModelError, match="at least 2 digits"):
        overlay_options(plan.shot, digits=1)


def test_an_unknown_layer_is_refused_with_the_known_ones(plan):
    with pytest.raises(ModelError, match=r"floor, arcs, ghosts.*'shadow'"):
        overlay_options(plan.shot, layers=("shadow",))


def test_without_a_choice_every_layer_is_written_and_all_shows_the_shot_s_own(plan):
    options = overlay_options(plan.shot)
    assert options.layers == ("floor", "arcs", "ghosts", "pose", "spacing", "target", "labels")
    assert options.flat == ("ghosts", "pose", "spacing", "target", "labels")
    assert overlay_options(plan.shot, layers=("all",)).layers == ()


@pytest.mark.parametrize("words", ["0-3", "3-2", "2-99", "a", "1-", "-1", "1.5", ""])
def test_a_bad_range_of_poses_is_refused(words):
    with pytest.raises(ModelError, match="poses 1 to 5"):
        pose_range(words, 5)


def test_a_range_of_poses_counts_from_one_and_includes_its_end():
    assert pose_range("2-4", 5) == (2, 4)
    assert pose_range(" 5 ", 5) == (5, 5)
    assert pose_range(None, 5) == (1, 5)


def test_a_backdrop_is_a_word_or_six_digits():
    assert backdrop_colour("none") is None
    assert backdrop_colour("gray") == backdrop_colour("grey")
    assert backdrop_colour("White") == (1.0, 1.0, 1.0)
    with pytest.raises(ModelError, match="#rrggbb"):
        backdrop_colour("#12345")


def test_somebody_else_s_picture_of_an_unchanging_layer_is_refused_and_left_alone(tmp_path, plan):
    mine = tmp_path / "overlay/side-on/floor.png"
    mine.parent.mkdir(parents=True)
    mine.write_bytes(b"mine")
    with pytest.raises(OutputError, match=r"floor\.png"):
        written(tmp_path, plan)
    assert tree(tmp_path) == {"overlay/side-on/floor.png": b"mine"}
    assert "overlay/side-on/floor.png" in written(tmp_path, plan, replace=True).pictures


def test_what_a_killed_run_left_beside_the_overlays_is_swept(tmp_path, plan):
    (tmp_path / ".mine.blend.00000000-1.part").write_text("")
    os.utime(tmp_path / ".mine.blend.00000000-1.part", (0, 0))
    written(tmp_path, plan)
    assert [path.name for path in tmp_path.iterdir()] == ["overlay"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
def test_a_pipe_in_the_place_of_a_picture_is_refused_and_not_waited_for(tmp_path, plan):
    (tmp_path / "overlay/side-on/pose").mkdir(parents=True)
    os.mkfifo(tmp_path / "overlay/side-on/pose/0001.png")
    with pytest.raises(OutputError, match=r"0001\.png"):
        written(tmp_path, plan)
    assert tag_of(tmp_path / "overlay/side-on/pose/0001.png") is None
