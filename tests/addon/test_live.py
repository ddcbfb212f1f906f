"""Editing numbers changes the walk on show."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot
from striderule.solve import solve
from striderule_blender import live, scene


@pytest.fixture
def heron(stage):
    """A scene with the heron's walk, loaded as a user does."""
    assert bpy.ops.striderule.load_starter(name="heron") == {"FINISHED"}
    return live.settings_of(bpy.context.scene)


def text_of(stage) -> str:
    return scene.read_text(stage)


def test_an_edited_number_changes_scene_text_and_findings(heron):
    stage = bpy.context.scene
    heron.walk.step_mm = 70.0
    assert live.flush(stage)
    expected = load_shot(starter_paths()["heron"])
    expected = replace(expected, walk=replace(expected.walk, step_mm=70.0))
    assert live.shot_of(stage) == expected
    plan = solve(expected)
    stage.frame_set(plan.frames)
    hip = np.array(bpy.data.objects["SR left thigh"].matrix_world.translation) * 1000
    assert np.abs(hip - plan.hip_mm[-1, 0]).max() < 1e-3
    assert not live.flush(stage), "nothing is left to do"


def test_an_impossible_edit_shows_findings_and_going_there_moves_the_frame(heron):
    stage = bpy.context.scene
    heron.hips.up_mm = 235.0
    live.flush(stage)
    worst = heron.findings[0]
    assert worst.severity == "impossible"
    index = next(i for i, row in enumerate(heron.findings) if row.frame > 1)
    heron.finding = index
    assert stage.frame_current == heron.findings[index].frame


def test_a_refused_value_is_said_and_the_walk_on_show_stays(heron):
    stage = bpy.context.scene
    before = text_of(stage)
    heron.walk.passing_pose = 9
    assert not live.flush(stage)
    assert "walk.passing_pose" in heron.refusal
    assert text_of(stage) == before
    heron.walk.passing_pose = 3
    live.flush(stage)
    assert heron.refusal == ""


def test_an_open_value_shows_what_it_comes_to_and_typing_sets_it(heron):
    stage = bpy.context.scene
    assert not heron.walk.use_sway
    assert heron.walk.sway == pytest.approx(0.35)
    heron.walk.sway = 0.5
    assert heron.walk.use_sway
    live.flush(stage)
    assert live.shot_of(stage).walk.sway == 0.5
    heron.walk.use_sway = False
    live.flush(stage)
    assert live.shot_of(stage).walk.sway is None
    assert heron.walk.sway == pytest.approx(0.35)


def test_the_ghosts_of_the_scene_can_be_chosen(heron):
    stage = bpy.context.scene
    heron.ghosts_before, heron.ghosts_after = 3, 0
    live.flush(stage)
    names = {thing.name.split()[-1] for thing in bpy.data.objects if "ghost" in thing.name}
    assert names == {"-1", "-2", "-3"}


def test_undo_after_an_edit_brings_the_walk_back(heron):
    stage = bpy.context.scene
    bpy.ops.ed.undo_push(message="loaded")
    heron.walk.step_mm = 60.0
    bpy.ops.ed.undo_push(message="edited, not solved yet")
    live.flush(stage)
    heron.walk.step_mm = 50.0
    live.flush(stage)
    bpy.ops.ed.undo_push(message="edited again")
    bpy.ops.ed.undo()
    stage = bpy.context.scene
    assert live.settings_of(stage).walk.step_mm == 60.0
    live.flush(stage, force=True)  # a timer does so where Blender has windows
    assert live.shot_of(stage).walk.step_mm == 60.0
    bpy.ops.ed.undo()
    stage = bpy.context.scene
    live.flush(stage, force=True)
    expected = load_shot(starter_paths()["heron"])
    assert live.shot_of(stage) == expected
    plan = solve(expected)
    stage.frame_set(plan.frames)
    hip = np.array(bpy.data.objects["SR left thigh"].matrix_world.translation) * 1000
    assert np.abs(hip - plan.hip_mm[-1, 0]).max() < 1e-3


def test_undo_and_redo_ask_for_the_walk_to_be_built_anew(heron):
    bpy.ops.ed.undo_push(message="loaded")
    heron.walk.step_mm = 60.0
    bpy.ops.ed.undo_push(message="edited")
    bpy.ops.ed.undo()
    assert bpy.app.timers.is_registered(live._build_all)
    bpy.app.timers.unregister(live._build_all)


def test_text_changed_by_hand_is_applied(heron):
    stage = bpy.context.scene
    shot = live.shot_of(stage)
    block = next(text for text in bpy.data.texts if scene.is_ours(text))
    block.from_string(dump_shot(replace(shot, walk=replace(shot.walk, steps=9))))
    assert bpy.ops.striderule.apply_text() == {"FINISHED"}
    assert heron.walk.steps == 9
    block.from_string("kind = 'shot'\nformat = 1\nsteps = 4\n")
    with pytest.raises(RuntimeError, match=r"File refused: .*line 3"):
        bpy.ops.striderule.apply_text()


def test_a_shot_file_is_saved_and_loaded_again(heron, tmp_path):
    stage = bpy.context.scene
    heron.walk.steps = 8
    path = tmp_path / "mine.toml"
    assert bpy.ops.striderule.save_shot(filepath=str(path)) == {"FINISHED"}
    saved = load_shot(path)
    assert saved.walk.steps == 8
    assert bpy.ops.striderule.load_starter(name="lamplighter") == {"FINISHED"}
    assert bpy.ops.striderule.load_shot(filepath=str(path)) == {"FINISHED"}
    assert live.shot_of(stage) == saved


def test_a_bad_shot_file_is_one_clear_error_and_changes_nothing(heron, tmp_path):
    before = text_of(bpy.context.scene)
    path = tmp_path / "bad.toml"
    path.write_text('kind = "shot"\nformat = 1\nfsp = 12\n')
    with pytest.raises(RuntimeError, match=r"File refused: .*bad\.toml, line 3: .*fps"):
        bpy.ops.striderule.load_shot(filepath=str(path))
    assert text_of(bpy.context.scene) == before


def test_choosing_a_view_looks_through_its_camera_in_its_size(heron):
    stage = bpy.context.scene
    assert bpy.ops.striderule.use_view(name="head-on") == {"FINISHED"}
    assert stage.camera == scene.camera_of(stage, "head-on")
    with pytest.raises(RuntimeError, match="No view is called nowhere"):
        bpy.ops.striderule.use_view(name="nowhere")


def test_removing_the_walk_leaves_an_empty_panel(heron):
    assert bpy.ops.striderule.remove() == {"FINISHED"}
    assert len(bpy.data.objects) == 0
    assert len(heron.findings) == len(heron.views) == 0
    assert not bpy.ops.striderule.remove.poll()
