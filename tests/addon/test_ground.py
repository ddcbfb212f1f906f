"""The user's curves as the walk's path, and their meshes as its floor."""

from __future__ import annotations

import math

import bpy
import numpy as np
import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule_blender import live


@pytest.fixture
def heron(stage):
    assert bpy.ops.striderule.load_starter(name="heron") == {"FINISHED"}
    return live.settings_of(bpy.context.scene)


def shot():
    return live.shot_of(bpy.context.scene)


def curve(points, kind="POLY", cyclic=False, name="Way"):
    data = bpy.data.curves.new(name, "CURVE")
    data.dimensions = "3D"
    spline = data.splines.new(kind)
    if kind == "BEZIER":
        spline.bezier_points.add(len(points) - 1)
        for point, co in zip(spline.bezier_points, points, strict=True):
            point.co = (*co, 0.0)
            point.handle_left_type = point.handle_right_type = "AUTO"
    else:
        spline.points.add(len(points) - 1)
        for point, co in zip(spline.points, points, strict=True):
            point.co = (*co, 0.0, 1.0)
    spline.use_cyclic_u = cyclic
    thing = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(thing)
    return thing


def plan():
    return live.plan_of(bpy.context.scene)[0]


@pytest.mark.parametrize("kind", ["POLY", "BEZIER", "NURBS"])
def test_the_walk_goes_along_any_kind_of_curve_from_end_to_end(heron, kind):
    way = curve([(0.1, 0.0), (0.4, 0.1), (0.7, -0.05), (1.0, 0.1)], kind)
    if kind == "NURBS":
        way.data.splines[0].use_endpoint_u = True
    heron.ground.curve = way
    assert bpy.ops.striderule.walk_along_curve() == {"FINISHED"}
    walked = plan()
    assert np.abs(walked.reference_mm[0, :2] - (100, 0)).max() < 8
    assert np.abs(walked.reference_mm[-1, :2] - (1000, 100)).max() < 8
    assert shot().path[0].points_mm[-1] == (1000.0, 100.0)
    assert heron.ground.path.startswith("along ")


def test_the_curve_is_taken_where_it_is_evaluated_with_its_transform_and_the_scenes_units(heron):
    bpy.context.scene.unit_settings.scale_length = 0.01  # a unit is a centimetre
    way = curve([(0, 0), (50, 0)])
    way.location = (10, 20, 3)
    way.rotation_euler.z = math.radians(90)
    bpy.context.view_layer.update()
    heron.ground.curve = way
    bpy.ops.striderule.walk_along_curve()
    assert shot().stage.start_mm == pytest.approx((100.0, 200.0), abs=0.01)
    assert shot().path[0].heading_deg == pytest.approx(90.0, abs=0.01)
    assert shot().path[0].points_mm[-1] == pytest.approx((100.0, 700.0), abs=0.01)


def test_a_bevelled_closed_curve_is_walked_round_once_and_is_not_altered(heron):
    circle = [(0.3 * math.cos(a), 0.3 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 96, endpoint=False)]
    way = curve(circle, cyclic=True)
    way.data.bevel_depth, way.data.extrude = 0.01, 0.02
    before = (len(bpy.data.curves), len(bpy.data.objects), [tuple(p.co) for p in way.data.splines[0].points])
    heron.ground.curve = way
    bpy.ops.striderule.walk_along_curve()
    assert shot().settled_walk.step_mm * shot().settled_walk.steps == pytest.approx(2 * math.pi * 300, rel=0.005)
    assert np.abs(np.hypot(*plan().reference_mm[:, :2].T) - 300).max() < 15
    assert (way.data.bevel_depth, way.data.extrude) == (pytest.approx(0.01), pytest.approx(0.02))
    assert (len(bpy.data.curves), [tuple(p.co) for p in way.data.splines[0].points]) == (before[0], before[2])


def test_a_followed_curve_takes_the_walk_along_when_it_changes(heron):
    way = curve([(0, 0), (0.3, 0.02), (0.6, 0.0)])
    heron.ground.curve = way
    bpy.ops.striderule.walk_along_curve()
    steps = shot().settled_walk.steps
    assert not live.flush(bpy.context.scene), "nothing has changed"
    if bpy.app.timers.is_registered(live._flush_all):
        bpy.app.timers.unregister(live._flush_all)
    way.data.splines[0].points[2].co = (0.9, 0.1, 0, 1)
    bpy.context.view_layer.update()
    assert bpy.app.timers.is_registered(live._flush_all), "a changed curve asks for a solve"
    bpy.app.timers.unregister(live._flush_all)
    assert live.flush(bpy.context.scene)
    assert shot().path[0].points_mm[-1] == pytest.approx((900.0, 100.0), abs=0.01)
    assert shot().settled_walk.steps > steps
    heron.ground.follow = False
    live.flush(bpy.context.scene)
    way.location.x = 0.5
    bpy.context.view_layer.update()
    assert not live.flush(bpy.context.scene)


def test_edits_stay_when_the_path_is_read_and_straight_on_keeps_the_steps(heron):
    bpy.ops.striderule.nudge_body()
    heron.ground.curve = curve([(0, 0), (0.64, 0.0)])
    bpy.ops.striderule.walk_along_curve()
    assert len(shot().edits.body) == 1
    assert shot().settled_walk.steps == 8
    bpy.ops.striderule.walk_straight()
    assert shot().path == ()
    assert shot().walk.steps == 8
    assert heron.ground.curve is None
    assert heron.ground.path == "straight on"


def test_a_curve_of_several_splines_or_of_no_length_is_refused_and_changes_nothing(heron):
    way = curve([(0, 0), (0.5, 0)])
    way.data.splines.new("POLY")
    heron.ground.curve = way
    with pytest.raises(RuntimeError, match="Way: expected a curve of one spline"):
        bpy.ops.striderule.walk_along_curve()
    heron.ground.curve = curve([(0, 0), (0.001, 0)], name="Dot")
    with pytest.raises(RuntimeError, match=r"10 mm or more to walk along, given one of 1\.0 mm"):
        bpy.ops.striderule.walk_along_curve()
    assert shot() == load_shot(starter_paths()["heron"])
    assert not live.flush(bpy.context.scene)


def test_a_path_is_undone(heron):
    bpy.ops.ed.undo_push(message="loaded")
    heron.ground.curve = curve([(0, 0), (0.64, 0.1)])
    bpy.ops.ed.undo_push(message="chosen")
    bpy.ops.striderule.walk_along_curve("EXEC_DEFAULT", True)
    bpy.ops.ed.undo()
    live.flush(bpy.context.scene, force=True)
    assert shot().path == ()


def board(height, x0=-0.4, x1=1.0, y0=-0.4, y1=0.4, name="Board"):
    """A grid whose corners are raised by height(x, y), in Blender units."""
    xs, ys = np.linspace(x0, x1, 281), np.linspace(y0, y1, 21)
    points = [(x, y, height(x, y)) for x in xs for y in ys]
    faces = [
        (i * 21 + j, (i + 1) * 21 + j, (i + 1) * 21 + j + 1, i * 21 + j + 1) for i in range(280) for j in range(20)
    ]
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(points, [], faces)
    thing = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(thing)
    return thing


def test_the_walk_stands_on_a_mesh_modifiers_and_transform_included(heron):
    hills = board(lambda x, y: 0.004 * math.sin(x * 9))
    hills.location.z = 0.05
    hills.modifiers.new("up", "DISPLACE").strength = 0.002
    hills.modifiers["up"].mid_level = 0.0
    hills.modifiers["up"].direction = "Z"
    bpy.context.view_layer.update()
    heron.ground.mesh = hills
    assert bpy.ops.striderule.stand_on_mesh() == {"FINISHED"}
    x = plan().reference_mm[:, 0]
    expected = 52 + 4 * np.sin(x / 1000 * 9)
    assert np.abs(plan().floor_mm - expected).max() < 1.0  # the hips follow more smoothly than the floor rises
    on = plan().footing
    assert np.abs(on.place_mm[:, 2] - (52 + 4 * np.sin(on.place_mm[:, 0] / 1000 * 9))).max() < 0.4
    assert heron.ground.floor.endswith("heights")
    assert "SR floor" not in bpy.data.objects, "the mesh is the floor, and ours would hide it"
    bpy.ops.striderule.stand_on_flat()
    assert shot() == load_shot(starter_paths()["heron"])
    assert len(hills.data.vertices) == 281 * 21
    assert "SR floor" in bpy.data.objects


def test_a_mesh_that_does_not_lie_under_the_track_is_refused_with_the_place(heron):
    heron.ground.mesh = board(lambda x, y: 0.0, x1=0.25)
    with pytest.raises(RuntimeError, match=r"Board: expected a surface under all of the track.* 25\d mm along it"):
        bpy.ops.striderule.stand_on_mesh()
    heron.ground.mesh = bpy.data.objects.new("Empty", bpy.data.meshes.new("Empty"))
    bpy.context.scene.collection.objects.link(heron.ground.mesh)
    with pytest.raises(RuntimeError, match="Empty: expected a mesh with faces"):
        bpy.ops.striderule.stand_on_mesh()
    assert shot() == load_shot(starter_paths()["heron"])


def test_without_a_curve_or_a_mesh_the_buttons_say_what_to_do(heron):
    for name in ("walk_along_curve", "stand_on_mesh"):
        with pytest.raises(RuntimeError, match="poll"):
            getattr(bpy.ops.striderule, name)()
