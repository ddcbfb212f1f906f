"""What a 3D view shows after a walk was loaded into it."""

from __future__ import annotations

import bpy
import numpy as np
import pytest

from striderule_blender import scene, viewport


@pytest.fixture
def view(stage):
    """A context override of the window's first 3D view."""
    window = bpy.context.window_manager.windows[0]
    window.scene = stage
    area = next(one for one in window.screen.areas if one.type == "VIEW_3D")
    region = next(one for one in area.regions if one.type == "WINDOW")
    return {"window": window, "area": area, "region": region, "space_data": area.spaces.active}


def add_block(stage):
    mesh = bpy.data.meshes.new("block")
    mesh.from_pydata([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], [], [(0, 1, 3, 2), (4, 5, 7, 6)])
    block = bpy.data.objects.new("block", mesh)
    stage.collection.objects.link(block)
    block.select_set(True)
    return block


def test_the_walk_is_framed_and_stands_alone_where_something_of_the_user_s_hides_it(stage, starter, view):
    plan, views = starter("heron")
    block = add_block(stage)
    scene.build(stage, plan, views)
    with bpy.context.temp_override(**view):
        viewport.show_walk(bpy.context)
    space = view["space_data"]
    middle = plan.reference_mm.mean(axis=0) / 1000
    assert np.linalg.norm(np.array(space.region_3d.view_location) - middle) < 0.2
    assert 0.3 < space.region_3d.view_distance < 3
    assert space.local_view is not None
    if bpy.app.version >= (5, 0):  # without a window on a screen, older ones take every object for absent
        assert not block.local_view_get(space)
        assert [one.name for one in scene.things(stage) if one.visible_get() and not one.local_view_get(space)] == []
    assert [thing.name for thing in bpy.context.selected_objects] == ["block"]


def test_an_empty_stage_needs_no_local_view(stage, starter, view):
    plan, views = starter("lamplighter")
    scene.build(stage, plan, views)
    with bpy.context.temp_override(**view):
        viewport.show_walk(bpy.context)
    assert view["space_data"].local_view is None


def test_a_local_view_looks_through_the_view_s_camera_too(stage, starter, view):
    plan, views = starter("heron")
    add_block(stage)
    scene.build(stage, plan, views)
    camera = scene.camera_of(stage, "head-on")
    with bpy.context.temp_override(**view):
        viewport.show_walk(bpy.context)
        viewport.look_through(bpy.context, camera)
    assert view["space_data"].camera == camera
    assert view["space_data"].region_3d.view_perspective == "CAMERA"


def test_without_a_3d_view_nothing_happens(stage, starter):
    plan, views = starter("heron")
    scene.build(stage, plan, views)
    viewport.show_walk(bpy.context)
    viewport.look_through(bpy.context, scene.camera_of(stage, "side-on"))
