"""The scene in Blender shows the plan, and nothing of it is left behind."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace

import bpy
import numpy as np
import pytest

from striderule.camera.placing import views_of
from striderule.check.stage import prints_of
from striderule.model.view import CameraSetup
from striderule.solve import solve
from striderule_blender import scene
from striderule_blender.blend_file import build_scene_file
from striderule_blender.scene.owned import KINDS

TOLERANCE_MM = 1e-3  # Blender keeps single precision


def inventory() -> dict[str, list[str]]:
    """Names of all data-blocks of the kinds that we make."""
    return {kind: sorted(block.name for block in getattr(bpy.data, kind)) for kind in KINDS}


def place_mm(stage, name: str, local=(0.0, 0.0, 0.0)) -> np.ndarray:
    """Where a point of an object is, seen from outside: its evaluated world matrix."""
    moved = bpy.data.objects[name].evaluated_get(bpy.context.evaluated_depsgraph_get()).matrix_world
    scale = 0.001 / stage.unit_settings.scale_length
    matrix = np.array(moved)
    return (matrix[:3, :3] @ (np.array(local) * scale) + matrix[:3, 3]) / scale


@pytest.mark.parametrize("frames_per_pose", [1, 2, 3])
@pytest.mark.parametrize("name", ["heron", "lamplighter", "tapir"])
def test_every_joint_is_where_the_plan_has_it_in_every_frame(stage, starter, name, frames_per_pose):
    plan, views = starter(name, frames_per_pose)
    scene.build(stage, plan, views)
    for frame in range(1, plan.frames + 1, 4):
        stage.frame_set(frame)
        k = (frame - 1) // frames_per_pose
        for i, leg in enumerate(plan.shot.puppet.legs):
            for part, local, expected in (
                ("thigh", (0, 0, 0), plan.hip_mm),
                ("thigh", (0, 0, -leg.thigh_mm), plan.knee_mm),
                ("shank", (0, 0, -leg.shank_mm), plan.hock_mm),
                *(
                    (("cannon", (0, 0, 0), plan.hock_mm), ("cannon", (0, 0, -leg.cannon_mm), plan.ankle_mm))
                    if leg.cannon_mm
                    else ()
                ),
                ("foot", (0, 0, 0), plan.ankle_mm),
                ("foot", (-leg.heel_behind_mm, 0, -leg.ankle_up_mm), plan.heel_mm),
                ("toe", (0, 0, 0), plan.ball_mm),
                ("toe", (leg.toe_mm, 0, 0), plan.toe_mm),
            ):
                found = place_mm(stage, f"SR {leg.name} {part}", local)
                assert np.abs(found - expected[k, i]).max() < TOLERANCE_MM, (frame, leg.name, part)
            assert np.abs(place_mm(stage, f"SR {leg.name} ankle mark") - plan.ankle_mm[k, i]).max() < TOLERANCE_MM
        for arm, had in zip(plan.shot.puppet.arms, plan.arms, strict=True):
            for part, local, expected in (
                ("upper", (0, 0, 0), had.shoulder_mm),
                ("upper", (0, 0, -arm.upper_mm), had.elbow_mm),
                ("fore", (0, 0, -arm.fore_mm - arm.hand_mm), had.hand_mm),
            ):
                found = place_mm(stage, f"SR {arm.name} {part}", local)
                assert np.abs(found - expected[k]).max() < TOLERANCE_MM, (frame, arm.name, part)
        for one, had in zip(plan.shot.puppet.loose, plan.loose, strict=True):
            assert np.abs(place_mm(stage, f"SR {one.name}") - had.joint_mm[k]).max() < TOLERANCE_MM
            end = np.subtract(one.end_mm, one.joint_mm)
            assert np.abs(place_mm(stage, f"SR {one.name}", end) - had.end_mm[k]).max() < TOLERANCE_MM
            assert np.abs(place_mm(stage, f"SR {one.name} ghost -2") - had.joint_mm[max(k - 2, 0)]).max() < TOLERANCE_MM
        assert np.abs(place_mm(stage, "SR reference mark") - plan.reference_mm[k]).max() < TOLERANCE_MM
        assert np.abs(place_mm(stage, "SR body") - plan.body_mm[k]).max() < TOLERANCE_MM


def test_a_scene_in_other_units_shows_the_same_millimetres(stage, starter):
    plan, views = starter("heron")
    stage.unit_settings.scale_length = 0.01
    scene.build(stage, plan, views)
    stage.frame_set(8)
    assert np.abs(place_mm(stage, "SR left thigh") - plan.hip_mm[7, 0]).max() < TOLERANCE_MM
    assert stage.unit_settings.scale_length == pytest.approx(0.01)


@pytest.mark.parametrize("frames_per_pose", [1, 2])
def test_a_ghost_shows_the_pose_that_many_poses_away_through_holds(stage, starter, frames_per_pose):
    plan, views = starter("heron", frames_per_pose)
    scene.build(stage, plan, views, scene.SceneSettings(ghosts_before=2, ghosts_after=2))
    for frame in range(1, plan.frames + 1):
        stage.frame_set(frame)
        for offset in (-2, -1, 1, 2):
            k = min(max((frame - 1) // frames_per_pose + offset, 0), plan.poses - 1)
            found = place_mm(stage, f"SR left shank ghost {offset:+d}", (0, 0, -plan.shot.puppet.legs[0].shank_mm))
            assert np.abs(found - plan.ankle_mm[k, 0]).max() < TOLERANCE_MM, (frame, offset)


def test_ghosts_follow_a_walk_that_became_longer(stage, starter):
    plan, views = starter("heron", 1)
    longer, more = starter("heron-burdened", 2)
    scene.build(stage, plan, views)
    scene.build(stage, longer, more)
    stage.frame_set(longer.frames - 5)
    k = (longer.frames - 6) // 2 + 2
    assert np.abs(place_mm(stage, "SR left thigh ghost +2") - longer.hip_mm[k, 0]).max() < TOLERANCE_MM


def test_quaternion_keys_never_flip_their_sign(stage, starter):
    plan, views = starter("heron")
    scene.build(stage, plan, views)
    turned = []
    for frame in range(1, plan.frames + 1):
        stage.frame_set(frame)
        turned.append(tuple(bpy.data.objects["SR right thigh"].rotation_quaternion))
    dots = (np.array(turned)[1:] * np.array(turned)[:-1]).sum(1)
    assert dots.min() > 0.5


def test_frames_of_the_scene_are_film_frames(stage, starter):
    plan, views = starter("heron", 2)
    scene.build(stage, plan, views)
    assert (stage.frame_start, stage.frame_end) == (1, 2 * plan.poses)
    assert stage.render.fps / stage.render.fps_base == pytest.approx(float(plan.shot.rate))


def test_building_again_makes_nothing_new_and_leaves_nothing_behind(stage, starter):
    plan, views = starter("heron")
    scene.build(stage, plan, views)
    first = inventory()
    scene.build(stage, plan, views)
    assert inventory() == first
    scene.build(stage, plan, views, scene.SceneSettings(ghosts_before=0, ghosts_after=0))
    names = inventory()["objects"]
    assert not [name for name in names if "ghost" in name]
    assert not [name for name in inventory()["materials"] if "ghost" in name]
    unused = [
        block.name
        for kind in ("meshes", "curves", "cameras", "materials", "actions")
        for block in getattr(bpy.data, kind)
        if block.users == 0
    ]
    assert unused == []


def test_another_puppet_leaves_nothing_of_the_first_behind(stage, starter):
    scene.build(stage, *starter("heron"))
    scene.build(stage, *starter("lamplighter"))
    mixed = inventory()
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    scene.build(bpy.context.scene, *starter("lamplighter"))
    assert inventory() == mixed


def test_removing_the_set_empties_the_file(stage, starter):
    before = inventory()
    scene.build(stage, *starter("heron"), scene.SceneSettings(text="kind = 'shot'"))
    scene.remove(stage)
    assert inventory() == before
    scene.remove(stage)
    assert inventory() == before


def test_the_users_own_objects_are_never_touched(stage, starter):
    mesh = bpy.data.meshes.new("SR left thigh")  # even under a name of ours
    prop = bpy.data.objects.new("SR left thigh", mesh)
    stage.collection.objects.link(prop)
    prop.location = (1, 2, 3)
    plan, views = starter("heron")
    scene.build(stage, plan, views)
    ours = next(thing for thing in scene.set_collection(stage).all_objects if thing.name.startswith("SR left thigh."))
    copy = ours.copy()  # a duplicate of a part, in our collection, is the user's
    ours.users_collection[0].objects.link(copy)
    prop.parent = ours
    scene.set_collection(stage).objects.link(prop)
    scene.build(stage, plan, views)
    assert prop.parent == ours, "parts are kept, so what a user hung on them stays"
    copied, named = copy.name, prop.name
    scene.remove(stage)
    assert {copied, named} <= set(bpy.data.objects.keys())
    assert tuple(prop.location) == (1, 2, 3)
    assert prop.name in stage.collection.all_objects


def test_undo_takes_the_walk_back_and_redo_brings_it_again(stage, starter):
    bpy.ops.ed.undo_push(message="empty")
    scene.build(stage, *starter("heron"))
    made = inventory()
    bpy.ops.ed.undo_push(message="walk")
    bpy.ops.ed.undo()
    assert inventory()["objects"] == []
    assert inventory()["actions"] == []
    bpy.ops.ed.redo()
    assert inventory() == made


def test_each_scene_of_a_file_has_a_set_of_its_own(stage, starter):
    scene.build(stage, *starter("heron"))
    alone = inventory()
    other = bpy.data.scenes.new("other")
    scene.build(other, *starter("heron"))
    assert len(inventory()["objects"]) == 2 * len(alone["objects"])
    scene.remove(other)
    assert inventory() == alone


PLAYED = """
import bpy, json, sys
assert not any("striderule" in name for name in sys.modules)
bpy.ops.wm.open_mainfile(filepath=sys.argv[1])
scene = bpy.context.scene
scene.frame_set(9)
thing = bpy.data.objects["SR left shank"]
ghost = bpy.data.objects["SR left shank ghost -1"]
places = [list(one.matrix_world.translation) for one in (thing, ghost)]
print("RESULT" + json.dumps([*places, scene.camera.name, scene.frame_end, scene.render.engine]))
"""


def test_the_blend_file_opens_and_plays_in_a_fresh_process_without_the_add_on(starter, tmp_path):
    plan, views = starter("heron")
    path = tmp_path / "heron.blend"
    build_scene_file(plan, views, path)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["heron.blend"]
    done = subprocess.run([sys.executable, "-I", "-c", PLAYED, str(path)], capture_output=True, text=True, check=True)
    line = next(line for line in done.stdout.splitlines() if line.startswith("RESULT"))
    knee, ghost, camera, end, engine = json.loads(line.removeprefix("RESULT"))
    assert np.abs(np.array(knee) * 1000 - plan.knee_mm[8, 0]).max() < TOLERANCE_MM
    assert np.abs(np.array(ghost) * 1000 - plan.knee_mm[7, 0]).max() < TOLERANCE_MM
    assert (camera, end, engine) == ("SR view side-on", plan.frames, "BLENDER_WORKBENCH")
    text = path.read_bytes()[:4]
    assert text == b"\x28\xb5\x2f\xfd", "compressed by Zstandard (magic number of RFC 8878)"


def shown(stage, name: str) -> str:
    """The colour that a leg's thigh is seen in."""
    red, _, blue, _ = bpy.data.objects[name].material_slots[0].material.diffuse_color
    assert tuple(bpy.data.objects[name].color) == tuple(bpy.data.objects[name].material_slots[0].material.diffuse_color)
    return "blue" if blue > red else "orange"


@pytest.mark.parametrize("side", ["right", "left"])
def test_the_leg_on_the_side_of_the_camera_that_is_looked_through_is_blue(stage, starter, side):
    shot = starter("heron")[0].shot
    setups = [CameraSetup("side-on", side=side), CameraSetup("head-on", side=side)]
    plan = solve(replace(shot, cameras=tuple(setups)))
    other = {"right": "left", "left": "right"}
    scene.build(stage, plan, views_of(plan))
    for view in ("side-on", "head-on"):
        scene.look_through(stage, scene.camera_of(stage, view))
        for what in ("thigh", "shank", "foot", "toe", "thigh ghost -1", "prints", "ankle mark", "arc"):
            assert shown(stage, f"SR {side} {what}") == "blue", (view, what)
            assert shown(stage, f"SR {other[side]} {what}") == "orange", (view, what)
    scene.look_through(stage, scene.camera_of(stage, "high"))
    assert (shown(stage, "SR right thigh"), shown(stage, "SR left thigh")) == ("blue", "orange")
    scene.look_through(stage, scene.camera_of(stage, "side-on"))
    scene.build(stage, plan, views_of(plan))
    assert shown(stage, f"SR {side} thigh") == "blue", "and it stays so when the walk is built again"


def test_through_a_camera_of_the_users_own_the_right_leg_is_blue(stage, starter):
    shot = starter("heron")[0].shot
    plan = solve(replace(shot, cameras=(CameraSetup("side-on", side="left"),)))
    stage.camera = bpy.data.objects.new("mine", bpy.data.cameras.new("mine"))
    stage.collection.objects.link(stage.camera)
    scene.build(stage, plan, views_of(plan))
    assert (shown(stage, "SR right thigh"), shown(stage, "SR left thigh")) == ("blue", "orange")


def test_a_puppet_without_shapes_has_a_body_and_a_chest_to_be_seen(stage, starter):
    shot = starter("lamplighter")[0].shot
    plan = solve(replace(shot, puppet=replace(shot.puppet, shapes=())))
    scene.build(stage, plan, views_of(plan))
    for part, top in (("body", plan.waist_mm), ("chest", plan.neck_mm)):
        thing = bpy.data.objects[f"SR {part}"]
        assert max((place_mm(stage, thing.name, np.array(v.co) * 1000)[2]) for v in thing.data.vertices) > top[0, 2]


def test_prints_lie_on_a_floor_that_moves_back_and_still_again_when_it_does_not(stage, starter):
    plan, views = starter("heron", 1)
    spot = solve(replace(plan.shot, walk=replace(plan.shot.walk, on_the_spot=True)))
    scene.build(stage, spot, views_of(spot))
    for frame in (1, 8, spot.frames):
        stage.frame_set(frame)
        for name in ("SR left prints", "SR tie-downs"):
            assert np.abs(place_mm(stage, name) - spot.floor_shift_mm[frame - 1]).max() < TOLERANCE_MM
    scene.build(stage, plan, views)
    stage.frame_set(plan.frames)
    assert np.abs(place_mm(stage, "SR left prints")).max() < TOLERANCE_MM


def test_a_stages_holes_lie_under_the_feet_and_go_when_the_stage_has_none(stage, starter):
    plan, views = starter("heron-curve")
    scene.build(stage, plan, views)
    used = bpy.data.objects["SR used holes"].data
    corners = np.array([vertex.co for vertex in used.vertices])[:, :2] / 0.001
    rings = corners.reshape(len(plan.stances), -1, 2).mean(axis=1)
    ties = prints_of(plan).tie_mm
    away = np.linalg.norm(rings[:, None] - ties[None], axis=2)
    assert away.min(axis=1).max() < TOLERANCE_MM * 10
    assert away.min(axis=0).max() < TOLERANCE_MM * 10
    names = {"SR holes", "SR used holes", "SR missing holes", "SR obstacles"}
    assert names <= {thing.name for thing in stage.objects}
    assert all(polygon.normal.z > 0 for name in names for polygon in bpy.data.objects[name].data.polygons)
    other, views = starter("heron")
    scene.build(stage, other, views)
    assert not names & {thing.name for thing in bpy.data.objects}
