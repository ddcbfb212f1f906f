"""`prepare` with Blender, as a process of its own: it replaces the file in memory, and Blender prints by itself."""

import json
import os
import subprocess
import sys
from pathlib import Path

import bpy
import pytest

import striderule
import striderule_blender
from striderule.model.seeds import starter_paths
from striderule_blender import cli
from striderule_blender.cli_prepare import order_of, preview_frames


def prepared(*arguments):
    # Only our own folders: a running Blender put its scripts on the path, which would be found before bpy.
    folders = {str(Path(module.__file__).parents[1]) for module in (striderule, striderule_blender)}
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sorted(folders))}
    command = [sys.executable, "-m", "striderule_blender.cli", "prepare", "--no-sheets", *map(str, arguments)]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)


def test_prepare_writes_a_scene_that_opens_and_keeps_blender_off_standard_output(tmp_path):
    out = tmp_path / "out"
    done = prepared(starter_paths()["heron"], "--out", out, "--layers", "target", "--views", "side-on", "--no-preview")
    assert done.returncode == 0, done.stderr
    told = [line for line in done.stdout.splitlines() if not line.startswith(("risky: ", "note: ", "    try: "))]
    assert len(told) == 2, told  # the caution of loads, and the last line
    manifest = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["files"]["heron.blend"] == ""
    assert not list(out.rglob("*.part"))
    with bpy.data.libraries.load(str(out / "heron.blend")) as (inside, _):
        assert inside.scenes == ["Heron"]
        assert inside.cameras


def test_the_manifest_tells_that_a_preview_goes_on_longer_than_the_shot(tmp_path):
    arguments = ["prepare", str(starter_paths()["heron"]), "--out", str(tmp_path), "--no-sheets", "--on-the-spot"]
    order = order_of(cli.parser().parse_args(arguments))
    frames = preview_frames(order)
    assert order.plan.frames == 37
    assert frames["preview_side-on.mp4"] == 97  # whole strides of 12 frames more, to at least 8 s at 12 fps
    assert set(frames) == {f"preview_{view}{spot}.mp4" for view in order.preview_views for spot in ("", "_on-the-spot")}


def test_a_part_of_the_poses_needs_neither_scene_nor_previews(tmp_path):
    done = prepared(
        starter_paths()["heron"], "--out", tmp_path, "--layers", "target", "--views", "low", "--poses", "1-2"
    )
    assert done.returncode == 0, done.stderr
    assert "starting Blender" not in done.stderr
    assert not list(tmp_path.glob("*.blend"))
    assert not list(tmp_path.glob("*.mp4"))


@pytest.mark.parametrize(
    ("more", "previews"),
    [
        ((), [(False, False)]),
        (("--on-the-spot",), [(False, False), (True, False)]),
        (("--on-the-spot", "--block-through"), [(False, False), (True, False), (False, True)]),
        (("--no-preview", "--on-the-spot"), []),
    ],
    ids=["plain", "spot", "all", "none"],
)
def test_previews_on_the_spot_and_block_through_come_on_request(tmp_path, more, previews):
    heron = str(starter_paths()["heron"])
    order = order_of(cli.parser().parse_args(["prepare", heron, "--out", str(tmp_path), "--no-sheets", *more]))
    assert list(order.previews) == previews
    assert order.preview_views == ("side-on", "three-quarter-front")
    assert order.blend == "heron.blend"
