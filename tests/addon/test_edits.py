"""Edits made in Blender: footfalls dragged, the body nudged, poses held, the list, undo and redo."""

from __future__ import annotations

import math
from dataclasses import replace

import bpy
import numpy as np
import pytest

from striderule.model.edits import BodyEdit, FootfallEdit, Hold
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule_blender import live, scene


@pytest.fixture
def heron(stage):
    """A scene with the heron's walk, its footfalls to be dragged."""
    assert bpy.ops.striderule.load_starter(name="heron") == {"FINISHED"}
    settings = live.settings_of(bpy.context.scene)
    settings.edits.handles = True
    live.flush(bpy.context.scene)
    return settings


def handle(step: int, leg: str) -> bpy.types.Object:
    return bpy.data.objects[f"SR footfall {leg} {step}"]


def shot():
    return live.shot_of(bpy.context.scene)


def drag(step: int, leg: str, along: float, left: float, turn: float = 0.0) -> None:
    thing = handle(step, leg)
    thing.location.x += along / 1000
    thing.location.y += left / 1000
    thing.rotation_euler.z += math.radians(turn)
    assert live.flush(bpy.context.scene)


def test_there_is_a_handle_on_every_footfall_only_while_they_are_to_be_dragged(heron):
    plan, _ = live.plan_of(bpy.context.scene)
    found = {thing.name for thing in scene.things(bpy.context.scene) if "footfall" in thing.name}
    assert found == {f"SR footfall {plan.legs[one.leg]} {one.step}" for one in plan.stances}
    for one in plan.stances:
        at = np.array(handle(one.step, plan.legs[one.leg]).location) * 1000
        assert np.abs(at - one.place_mm).max() < 1e-3
    assert all(handle(one.step, plan.legs[one.leg]).hide_render for one in plan.stances)
    heron.edits.handles = False
    live.flush(bpy.context.scene)
    assert not [thing for thing in bpy.data.objects if "footfall" in thing.name]


def test_while_footfalls_are_dragged_nothing_else_of_ours_can_be_picked(heron):
    groups = {group.name: group.hide_select for group in scene.set_collection(bpy.context.scene).children}
    assert not groups.pop("SR handles")
    assert all(groups.values())
    bpy.data.collections["SR marks"].hide_select = False  # by the user
    heron.edits.handles = False
    live.flush(bpy.context.scene)
    assert not any(group.hide_select for group in scene.set_collection(bpy.context.scene).children)


def test_a_dragged_handle_becomes_an_edit_that_goes_along_with_the_walk(heron):
    drag(3, "left", 9.0, -3.0, 15.0)
    assert shot().edits.footfalls == (FootfallEdit(3, move_mm=(9.0, -3.0), turn_deg=15.0),)
    assert [row.text for row in heron.edits.rows] == ["Step 3: 9 mm on, 3 right, 15 deg left"]
    assert not live.flush(bpy.context.scene), "nothing is left to do"
    heron.walk.step_mm = 70.0
    live.flush(bpy.context.scene)
    plain = replace(load_shot(starter_paths()["heron"]), edits=shot().edits)
    assert shot() == replace(plain, walk=replace(plain.walk, step_mm=70.0))


def test_a_pinned_drag_stays_and_pin_and_let_go_work_on_the_chosen_handles(heron):
    heron.edits.pin = "PIN"
    drag(2, "right", 5.0, 0.0)
    at = np.array(handle(2, "right").location) * 1000
    assert shot().edits.footfalls[0].at_mm == pytest.approx(tuple(at[:2]), abs=0.01)
    handle(4, "right").select_set(True)
    bpy.ops.striderule.pin_footfalls()
    assert [one.step for one in shot().edits.footfalls] == [2, 4]
    bpy.ops.striderule.let_go_footfalls()
    assert [one.step for one in shot().edits.footfalls] == [2]


def test_a_handle_that_is_put_back_leaves_no_edit(heron):
    drag(3, "left", 9.0, 0.0)
    drag(3, "left", -9.0, 0.0)
    assert shot() == load_shot(starter_paths()["heron"])


def test_a_drag_that_cannot_be_is_said_and_rebuild_puts_the_handle_back(heron):
    before = tuple(handle(3, "left").location)
    handle(3, "left").location.x += 50.0  # 50 m off the stage
    assert not live.flush(bpy.context.scene)
    assert "edit.footfall" in heron.refusal
    bpy.ops.striderule.rebuild()
    assert tuple(handle(3, "left").location) == before
    assert not live.flush(bpy.context.scene)
    assert heron.refusal == ""


def test_moving_a_handle_asks_for_a_solve_and_playing_does_not(heron):
    if bpy.app.timers.is_registered(live._flush_all):
        bpy.app.timers.unregister(live._flush_all)
    bpy.context.scene.frame_set(5)
    bpy.context.view_layer.update()
    assert not bpy.app.timers.is_registered(live._flush_all)
    handle(3, "left").location.x += 0.005
    bpy.context.view_layer.update()
    assert bpy.app.timers.is_registered(live._flush_all)
    bpy.app.timers.unregister(live._flush_all)


def test_body_nudges_and_holds_are_of_the_pose_on_show(heron):
    stage = bpy.context.scene
    stage.frame_set(13)
    heron.edits.nudge_mm = -1.5
    bpy.ops.striderule.nudge_body()
    heron.edits.hold_frames = 5
    bpy.ops.striderule.hold_pose()
    assert shot().edits.body == (BodyEdit(13, -1.5),)
    assert shot().holds == (Hold(13, 5),)
    stage.frame_set(16)  # the hold's fourth frame
    bpy.ops.striderule.nudge_body()
    assert shot().edits.body == (BodyEdit(13, -3.0),)


def test_values_of_an_edit_can_be_changed_in_the_panel(heron):
    drag(3, "left", 9.0, 0.0)
    row = heron.edits.footfalls[0]
    row.move_mm = (4.0, 1.0)
    row.later_poses = 1
    live.flush(bpy.context.scene)
    assert shot().edits.footfalls == (FootfallEdit(3, move_mm=(4.0, 1.0), later_poses=1),)
    row.use_later_poses = False
    live.flush(bpy.context.scene)
    assert shot().edits.footfalls[0].later_poses is None


def test_picking_an_edit_goes_to_its_pose_and_removing_leaves_the_others(heron):
    drag(3, "left", 9.0, 0.0)
    bpy.context.scene.frame_set(30)
    bpy.ops.striderule.nudge_body()
    heron.edits.row = 0
    assert bpy.context.scene.frame_current == 19
    bpy.ops.striderule.remove_edit(kind="footfall", index=0)
    assert [row.text for row in heron.edits.rows] == ["Pose 30: body 1 mm up"]
    bpy.ops.striderule.remove_edits()
    assert len(heron.edits.rows) == 0
    assert shot() == load_shot(starter_paths()["heron"])
    with pytest.raises(RuntimeError, match="one of the edits"):
        bpy.ops.striderule.remove_edit(kind="footfall", index=0)


def test_an_edit_is_undone_and_redone(heron):
    bpy.ops.ed.undo_push(message="loaded")
    bpy.context.scene.frame_set(13)
    bpy.ops.striderule.nudge_body("EXEC_DEFAULT", True)
    drag(3, "left", 9.0, 0.0)
    bpy.ops.ed.undo_push(message="dragged")
    bpy.ops.ed.undo()
    live.flush(bpy.context.scene, force=True)  # a timer does so where Blender has windows
    assert [row.kind for row in live.settings_of(bpy.context.scene).edits.rows] == ["body"]
    bpy.ops.ed.undo()
    live.flush(bpy.context.scene, force=True)
    assert shot() == load_shot(starter_paths()["heron"])
    bpy.ops.ed.redo()
    bpy.ops.ed.redo()
    live.flush(bpy.context.scene, force=True)
    assert [row.kind for row in live.settings_of(bpy.context.scene).edits.rows] == ["footfall", "body"]
    assert shot().edits.footfalls[0].move_mm == (9.0, 0.0)


def test_an_edit_made_while_a_variant_is_on_show_is_the_shots_own(heron):
    bpy.ops.striderule.duplicate_variant()
    heron.walk.step_mm = 60.0
    live.flush(bpy.context.scene)
    drag(3, "left", 0.0, 6.0)
    assert shot().edits.footfalls == (FootfallEdit(3, move_mm=(0.0, 6.0)),)
    assert shot().walk.step_mm == 80.0
    assert heron.variant == "walk-2"


def test_every_foot_of_four_legs_can_be_dragged(stage):
    bpy.ops.striderule.load_starter(name="tapir")
    settings = live.settings_of(bpy.context.scene)
    settings.edits.handles = True
    live.flush(bpy.context.scene)
    drag(2, "fore_right", 5.0, 0.0)
    assert shot().edits.footfalls == (FootfallEdit(2, "fore_right", move_mm=(5.0, 0.0)),)
