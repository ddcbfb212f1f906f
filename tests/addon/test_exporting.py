"""Exporting from Blender writes what the command line writes."""

from __future__ import annotations

import json

import bpy
import pytest

from striderule.draw.png import decode
from striderule.export.poses_csv import poses_csv_text
from striderule.model.fields import is_name
from striderule_blender import exporting, live


@pytest.fixture
def heron(stage, tmp_path):
    """A short heron walk that exports one small view into a folder of its own."""
    assert bpy.ops.striderule.load_starter(name="heron") == {"FINISHED"}
    settings = live.settings_of(bpy.context.scene)
    settings.walk.steps = 2
    for row in settings.views:
        row.export = row.name == "side-on"
    settings.folder = str(tmp_path / "out")
    live.flush(bpy.context.scene)
    return settings


def test_export_writes_pictures_tables_and_last_the_manifest(heron, tmp_path):
    assert bpy.ops.striderule.export() == {"FINISHED"}
    out = tmp_path / "out"
    plan, _ = live.plan_of(bpy.context.scene)
    assert (out / "poses.csv").read_text(encoding="utf-8") == poses_csv_text(plan)
    pictures = sorted((out / "overlay" / "side-on" / "all").glob("*.png"))
    assert len(pictures) == plan.frames
    assert decode(pictures[0].read_bytes()).shape == (1080, 1920, 4)
    manifest = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["shot"]["name"] == plan.shot.name
    assert {"poses.csv", "views.json", "findings.json"} == set(manifest["files"])
    assert json.loads((out / "findings.json").read_text(encoding="utf-8"))["kind"] == "findings"


def test_another_shots_folder_is_refused(heron):
    assert bpy.ops.striderule.export() == {"FINISHED"}
    heron.shot.name = "Another"
    with pytest.raises(RuntimeError, match="Not written"):
        bpy.ops.striderule.export()


def test_the_scenes_own_camera_is_exported_under_a_safe_name(heron):
    stage = bpy.context.scene
    camera = bpy.data.objects.new("My Côté 2", bpy.data.cameras.new("mine"))
    stage.collection.objects.link(camera)
    stage.camera, heron.export_camera = camera, True
    _, views = live.plan_of(stage)
    names = [view.name for view in exporting.views_to_export(stage, views)]
    assert names == ["side-on", "my-c-t-2"]
    assert all(is_name(exporting.view_name(words)) for words in ("", "123", "CON", "Side On", "x" * 99, "é"))


def test_nothing_chosen_is_refused_with_the_cure(heron):
    heron.views["side-on"].export = False
    with pytest.raises(RuntimeError, match="Tick a view"):
        bpy.ops.striderule.export()
