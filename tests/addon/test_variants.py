"""Variants in Blender: duplicate, switch, edit, undo, and side by side."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot
from striderule.model.variant import Variant
from striderule.solve import solve
from striderule_blender import live, scene, view_model


@pytest.fixture
def heron(stage):
    """A scene with the heron's walk, loaded as a user does."""
    assert bpy.ops.striderule.load_starter(name="heron") == {"FINISHED"}
    return live.settings_of(bpy.context.scene)


def place(name):
    return np.array(bpy.data.objects[name].matrix_world.translation) * 1000


def text():
    return scene.read_text(bpy.context.scene)


def test_a_duplicate_is_shown_and_edits_go_to_it_alone(heron):
    stage, main = bpy.context.scene, load_shot(starter_paths()["heron"])
    assert bpy.ops.striderule.duplicate_variant() == {"FINISHED"}
    assert heron.variant == "walk-2"
    heron.walk.step_mm, heron.variant_title, heron.shot.frames_per_pose = 70.0, "Shorter", 2
    assert live.flush(stage)
    expected = Variant.of("walk-2", {"step_mm": 70.0}, title="Shorter", frames_per_pose=2)
    assert live.shot_of(stage) == replace(main, variants=(expected,))
    plan = solve(live.shot_of(stage).with_variant("walk-2"))
    stage.frame_set(plan.frames)
    assert np.abs(place("SR left thigh") - plan.hip_mm[-1, 0]).max() < 1e-3
    assert view_model.variants(heron) == [("", "Main Walk", False), ("walk-2", "Shorter", True)]
    assert view_model.shown(stage).facts == ("37 poses, 74 frames, 6.17 s",)
    assert not live.flush(stage), "nothing is left to do"


def test_switching_shows_each_walk_with_its_own_numbers_and_takes_waiting_edits_along(heron):
    stage = bpy.context.scene
    bpy.ops.striderule.duplicate_variant()
    heron.walk.step_mm = 70.0  # not solved yet
    assert bpy.ops.striderule.show_variant(name="") == {"FINISHED"}
    assert (heron.variant, heron.walk.step_mm) == ("", 80.0)
    heron.walk.lean_deg = 9.0
    assert bpy.ops.striderule.show_variant(name="walk-2") == {"FINISHED"}
    assert (heron.walk.step_mm, heron.walk.lean_deg) == (70.0, 9.0), "what it does not set is the main walk's"
    plan, _ = live.plan_of(stage)
    assert plan.shot.name == "Heron, walk-2"
    assert plan.shot.walk.step_mm == 70.0


def test_a_value_left_open_in_a_variant_stays_open(heron):
    stage = bpy.context.scene
    bpy.ops.striderule.duplicate_variant()
    heron.walk.use_lean_deg = False
    live.flush(stage)
    assert live.shot_of(stage).variants == (Variant("walk-2", opened=("lean_deg",)),)
    assert live.shot_of(stage).walk.lean_deg == 3.0
    bpy.ops.striderule.show_variant(name="")
    assert heron.walk.use_lean_deg


def test_a_main_walk_that_no_longer_goes_with_its_variant_is_refused_in_words(heron):
    stage = bpy.context.scene
    bpy.ops.striderule.duplicate_variant()
    heron.walk.passing_pose = 5
    bpy.ops.striderule.show_variant(name="")
    before = text()
    heron.walk.poses_per_step = 5
    assert not live.flush(stage)
    assert "variant.walk-2.walk.passing_pose" in heron.refusal
    assert text() == before
    with pytest.raises(RuntimeError, match=r"Value refused: variant.walk-2|File refused: .*variant.walk-2"):
        bpy.ops.striderule.show_variant(name="walk-2")


def test_removing_the_variant_on_show_goes_back_to_the_main_walk(heron):
    stage = bpy.context.scene
    bpy.ops.striderule.duplicate_variant()
    heron.walk.step_mm = 70.0
    assert bpy.ops.striderule.remove_variant(name="walk-2") == {"FINISHED"}
    assert (heron.variant, heron.walk.step_mm) == ("", 80.0)
    assert live.shot_of(stage) == load_shot(starter_paths()["heron"])
    with pytest.raises(RuntimeError, match="Value refused: variant: expected one of none that there are"):
        bpy.ops.striderule.remove_variant(name="walk-2")


def test_undo_and_redo_bring_walk_variant_and_text_back(heron):
    bpy.ops.ed.undo_push(message="loaded")
    bpy.ops.striderule.duplicate_variant("EXEC_DEFAULT", True)
    settings = live.settings_of(bpy.context.scene)
    settings.walk.step_mm = 70.0
    bpy.ops.ed.undo_push(message="edited, not solved yet")
    live.flush(bpy.context.scene)
    bpy.ops.striderule.show_variant("EXEC_DEFAULT", True, name="")
    seen = [("", 80.0, 70.0)]

    def state():
        stage = bpy.context.scene
        live.flush(stage, force=True)  # a timer does so where Blender has windows
        settings, shot = live.settings_of(stage), live.shot_of(stage)
        varied = shot.with_variant("walk-2").walk.step_mm if shot.variants else None
        assert shot.walk.step_mm == 80.0
        return settings.variant, settings.walk.step_mm, varied

    assert [state()] == seen
    bpy.ops.ed.undo()
    assert state() == ("walk-2", 70.0, 70.0)
    bpy.ops.ed.undo()
    assert state() == ("walk-2", 80.0, 80.0)
    bpy.ops.ed.undo()
    assert state() == ("", 80.0, None)
    bpy.ops.ed.redo()
    assert state() == ("walk-2", 80.0, 80.0)


@pytest.fixture
def several(stage):
    """A scene with the heron and two variants, one of them longer and at twice the rate."""
    shot = load_shot(starter_paths()["heron"])
    variants = (
        Variant.of("quick", {"step_mm": 90.0, "steps": 16}, fps="24"),
        Variant.of("late", {"passing_pose": 4}, title="Late"),
    )
    live.show(stage, replace(shot, variants=variants))
    return live.settings_of(stage)


def names():
    return {thing.name for thing in scene.things(bpy.context.scene)}


def test_side_by_side_shows_every_other_walk_in_a_lane_at_its_own_moment(several):
    stage = bpy.context.scene
    alone = names()
    several.side_by_side = True
    assert live.flush(stage)
    assert stage.frame_end == 49, "97 frames at 24 fps are 48.5 at 12"
    shot = live.shot_of(stage)
    lanes = {}
    for name in ("quick", "late"):
        plan = solve(shot.with_variant(name))
        for frame in (1, 8, 20, 49):
            stage.frame_set(frame)
            own = min((frame - 1) * int(plan.shot.rate / 12) + 1, plan.frames)
            pose = int(np.searchsorted(plan.first_frame, own, side="right")) - 1
            at = place(f"SR {name} beside left thigh") - plan.hip_mm[pose, 0]
            assert np.abs(at[[0, 2]]).max() < 1e-3
            lanes[name] = at[1]
    assert 0 < lanes["quick"] < lanes["late"]
    assert lanes["late"] == pytest.approx(2 * lanes["quick"], rel=1e-5)
    floor = next(thing for thing in scene.things(stage) if scene.is_floor(thing))
    assert max(corner[1] for corner in floor.bound_box) * 1000 > lanes["late"] + 100
    written = {thing.data.body for thing in scene.things(stage) if thing.type == "FONT"}
    assert written == {"Heron", "quick", "Late"}
    several.side_by_side = False
    assert live.flush(stage)
    assert names() == alone
    assert stage.frame_end == 37
    assert not [block for block in bpy.data.actions if "beside" in block.name]


def test_side_by_side_follows_a_switch_and_leaves_the_shown_walk_in_its_place(several):
    stage = bpy.context.scene
    several.side_by_side = True
    live.flush(stage)
    bpy.ops.striderule.show_variant(name="late")
    plan, _ = live.plan_of(stage)
    stage.frame_set(9)
    pose = int(np.searchsorted(plan.first_frame, 9, side="right")) - 1
    assert np.abs(place("SR left thigh") - plan.hip_mm[pose, 0]).max() < 1e-3
    assert {"SR main beside left thigh", "SR quick beside left thigh"} <= names()
    assert "SR late beside left thigh" not in names()


def test_removing_the_walk_takes_what_stands_beside_it_too(several):
    stage = bpy.context.scene
    several.side_by_side = True
    live.flush(stage)
    assert bpy.ops.striderule.remove() == {"FINISHED"}
    assert len(bpy.data.objects) == len(bpy.data.curves) == len(bpy.data.collections) == 0
    assert (several.variant, len(several.variants)) == ("", 0)


def test_variants_of_a_text_changed_by_hand_are_taken_and_lost_ones_are_left(several):
    stage = bpy.context.scene
    bpy.ops.striderule.show_variant(name="late")
    block = next(one for one in bpy.data.texts if scene.is_ours(one))
    block.from_string(dump_shot(replace(live.shot_of(stage), variants=())))
    assert bpy.ops.striderule.apply_text() == {"FINISHED"}
    assert (several.variant, several.walk.passing_pose) == ("", 3)
