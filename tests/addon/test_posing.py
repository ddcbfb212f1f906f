"""A contact and a passing dragged in Blender, and the walk read of them."""

from __future__ import annotations

import math
from dataclasses import replace

import bpy
import numpy as np
import pytest

from striderule.adjust.values import value_of
from striderule.model.path import PathPiece
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot
from striderule_blender import live


@pytest.fixture
def lamplighter(stage):
    assert bpy.ops.striderule.load_starter(name="lamplighter") == {"FINISHED"}
    assert bpy.ops.striderule.pose_contact() == {"FINISHED"}
    return live.settings_of(bpy.context.scene)


def shot():
    return live.shot_of(bpy.context.scene)


def plan():
    return live.plan_of(bpy.context.scene)[0]


def handle(name):
    return bpy.data.objects[f"SR {name}"]


READ = (
    "step_mm",
    "width_mm",
    "heel_strike_deg",
    "heel_off_deg",
    "lift_mm",
    "sway",
    "hips.contact_mm",
    "hips.passing_mm",
)


@pytest.mark.parametrize("heading", [0.0, 130.0])
def test_handles_that_were_not_dragged_are_read_as_the_walk_that_is_there(lamplighter, heading):
    if heading:
        turned = replace(shot(), path=(PathPiece(straight_mm=360, heading_deg=heading),))
        live.show(bpy.context.scene, turned)
        bpy.ops.striderule.pose_contact()
    before = shot().settled_walk
    assert bpy.ops.striderule.read_poses() == {"FINISHED"}
    for key in READ:
        assert value_of(shot().settled_walk, key) == pytest.approx(value_of(before, key), abs=0.3), key
    assert "off by at most" in lamplighter.poses_read


def test_what_was_dragged_is_what_the_walk_then_has(lamplighter):
    handle("contact hips").location.z = 0.1175
    handle("contact left foot").location.x -= 0.006  # the foot ahead at pose 1 is the right one
    handle("passing hips").location.z = 0.1189
    handle("passing left foot").location.z += 0.004
    before = shot().settled_walk
    lift = plan().ankle_mm[3, 0, 2]
    bpy.ops.striderule.read_poses()
    walk = shot().settled_walk
    assert walk.hips.contact_mm == pytest.approx(117.5, abs=0.02)
    assert walk.hips.passing_mm == pytest.approx(118.9, abs=0.02)
    assert walk.step_mm == pytest.approx(before.step_mm + 6.0, abs=0.3)
    assert plan().ankle_mm[3, 0, 2] == pytest.approx(lift + 4.0, abs=0.2)
    assert shot().walk.steps == 6


def test_a_line_reaches_from_every_posed_hip_to_its_foot(lamplighter):
    handle("contact hips").location.z += 0.01
    handle("passing left foot").location.x += 0.02
    bpy.context.view_layer.update()
    for pose in ("contact", "passing"):
        for leg in ("left", "right"):
            line = handle(f"{pose} {leg} line").evaluated_get(bpy.context.evaluated_depsgraph_get())
            ends = [line.matrix_world @ one.co for one in line.data.vertices]
            foot = handle(f"{pose} {leg} foot").matrix_world.translation
            hips = handle(f"{pose} hips").matrix_world.translation
            assert min((end - foot).length for end in ends) < 0.002
            assert min(abs(end.z - hips.z) for end in ends) < 0.002


def test_a_tilted_foot_is_read_about_its_heel_or_its_toe(lamplighter):
    front = handle("contact right foot")
    front.rotation_euler.y = -math.radians(18)
    bpy.ops.striderule.read_poses()
    assert shot().settled_walk.heel_strike_deg == pytest.approx(18.0, abs=0.05)


def test_the_handles_stay_where_they_were_dragged_until_posed_anew_or_taken_away(lamplighter):
    foot = handle("contact left foot")
    foot.location.x = 0.02
    lamplighter.walk.lift_mm = 15.0
    live.flush(bpy.context.scene)
    assert foot.location.x == pytest.approx(0.02)
    bpy.ops.striderule.pose_contact()
    assert foot.location.x * 1000 == pytest.approx(float(plan().ankle_mm[0, 0, 0]), abs=0.2)
    bpy.ops.striderule.stop_posing()
    assert not [thing for thing in bpy.data.objects if "contact" in thing.name or "passing" in thing.name]
    with pytest.raises(RuntimeError, match="poll"):
        bpy.ops.striderule.read_poses()


def test_hooking_up_puts_pose_1_on_the_feet_and_hips_as_they_stand(lamplighter):
    handle("contact right foot").location.x += 0.2
    handle("contact right foot").location.y += 0.03
    handle("contact left foot").location.x += 0.203
    handle("contact left foot").location.y += 0.03
    handle("contact hips").location.z = 0.1178
    places = {leg: np.array(handle(f"contact {leg} foot").location) * 1000 for leg in ("left", "right")}
    bpy.ops.striderule.hook_up()
    now = plan()
    for i, leg in enumerate(now.legs):
        assert np.abs(now.ankle_mm[0, i, :2] - places[leg][:2]).max() < 0.3, leg
    assert now.hip_line_mm[0] == pytest.approx(117.8, abs=0.02)


def test_poses_of_a_variant_go_to_the_variant(lamplighter):
    bpy.ops.striderule.duplicate_variant()
    handle("contact hips").location.z = 0.1175
    bpy.ops.striderule.read_poses()
    assert shot().walk == load_shot(starter_paths()["lamplighter"]).walk
    assert shot().with_variant("walk-2").walk.hips.contact_mm == pytest.approx(117.5, abs=0.02)


def test_feet_side_by_side_are_refused_in_words(lamplighter):
    handle("contact left foot").location.x = handle("contact right foot").location.x
    handle("contact left foot").rotation_euler.y = handle("contact right foot").rotation_euler.y = 0.0
    before = dump_shot(shot())
    with pytest.raises(RuntimeError, match="feet side by side are a stand"):
        bpy.ops.striderule.read_poses()
    assert dump_shot(shot()) == before


def test_reading_is_undone(lamplighter):
    bpy.ops.ed.undo_push(message="posed")
    handle("contact hips").location.z = 0.1175
    bpy.ops.ed.undo_push(message="dragged")
    bpy.ops.striderule.read_poses("EXEC_DEFAULT", True)
    bpy.ops.ed.undo()
    live.flush(bpy.context.scene, force=True)
    assert shot() == load_shot(starter_paths()["lamplighter"])
    assert handle("contact hips").location.z == pytest.approx(0.1175)


def test_a_puppet_of_four_legs_has_no_such_poses(stage):
    bpy.ops.striderule.load_starter(name="tapir")
    with pytest.raises(RuntimeError, match="poll"):
        bpy.ops.striderule.pose_contact()
