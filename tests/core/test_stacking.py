"""Which parts of the puppet lie before which, and which legs are the near ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.camera.framing import framing_findings
from striderule.camera.lens import bent_path, pixels_from_stage
from striderule.camera.placing import view_named, views_of
from striderule.camera.sides import camera_sides, near_legs
from striderule.camera.solids import drawn_shapes, solids_of
from striderule.draw.drawing import Area, Line
from striderule.draw.layers import ShotDrawings
from striderule.draw.palette import ORANGE, SKY_BLUE, WHITE
from striderule.draw.stacking import Stacking
from striderule.model.path import PathPiece
from striderule.model.puppet import Body
from striderule.model.seeds import starter_paths
from striderule.model.shot import Overlay, Shot
from striderule.model.shotfile import load_shot
from striderule.model.view import BUILT_IN_VIEWS, CameraSetup
from striderule.solve import Plan, solve

STARTERS: dict[str, Shot] = {name: load_shot(path) for name, path in starter_paths().items()}
STRAIGHT_ON = [name for name, shot in STARTERS.items() if not shot.path]
"""A puppet that turns shows other sides of itself."""


def seen_from(name: str, side: str = "right", *cameras: CameraSetup) -> Plan:
    setups = [CameraSetup(view, side=side) for view in BUILT_IN_VIEWS]
    return solve(replace(STARTERS[name], cameras=(*setups, *cameras)))


def stacking(plan: Plan, view: str) -> Stacking:
    return Stacking(plan, view_named(plan, view), solids_of(plan))


def names(plan: Plan, view: str, pose: int = 0) -> list[str]:
    return [unit.name for unit in stacking(plan, view).order(pose)]


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("name", STRAIGHT_ON)
def test_no_part_changes_its_place_in_the_order_from_pose_to_pose_in_any_built_in_view(name, side):
    plan = seen_from(name, side)
    for view in BUILT_IN_VIEWS:
        kept = stacking(plan, view)
        orders = {kept.order(pose) for pose in range(plan.poses)}
        assert len(orders) == 1, view
        assert sorted(unit.name for unit in orders.pop()) == sorted(unit.name for unit in kept.units)


@pytest.mark.parametrize("name", STARTERS)
def test_every_solid_belongs_to_one_unit(name):
    plan = seen_from(name)
    solids = solids_of(plan)
    found = sorted(k for unit in Stacking(plan, view_named(plan, "low"), solids).units for k in unit.solids)
    assert found == list(range(len(solids)))


@pytest.mark.parametrize("view", ["side-on", "three-quarter-front", "three-quarter-back", "high", "low", "following"])
def test_the_lamplighters_arms_lie_outside_its_legs_and_its_trunk_between_them(view):
    right, left = names(seen_from("lamplighter", "right"), view), names(seen_from("lamplighter", "left"), view)
    assert {*right[:2]} == {"left_arm", "lantern"}
    assert right[2] == "left leg"
    assert right[-2:] == ["right leg", "right_arm"]
    assert {*right[3:-2]} == {"body", "chest", "head"}
    assert left[:2] == ["right_arm", "right leg"]
    assert left[-3] == "left leg"
    assert {*left[-2:]} == {"left_arm", "lantern"}


def test_from_ahead_the_herons_head_is_before_its_breast_and_from_behind_after_it():
    plan = seen_from("heron")
    front, back = names(plan, "three-quarter-front"), names(plan, "three-quarter-back")
    assert front.index("head") > front.index("chest")
    assert back.index("head") < back.index("chest")


def test_from_above_the_hat_hides_the_coat_and_from_below_the_coat_hides_the_neck():
    plan = seen_from("lamplighter")
    high, low = names(plan, "high"), names(plan, "low")
    assert high.index("body") < high.index("chest") < high.index("head")
    assert low.index("head") < low.index("chest")


def test_a_puppet_that_turns_about_changes_its_order_only_where_the_camera_comes_to_its_other_side():
    shot = STARTERS["lamplighter"]
    camera = CameraSetup("aside", (0.0, -3000.0, 200.0), (0.0, 0.0, 100.0))
    half_circle = (PathPiece(turn_deg=180.0, radius_mm=400.0),)
    plan = solve(replace(shot, path=half_circle, cameras=(camera,), walk=replace(shot.walk, steps=None, step_mm=60.0)))
    view = view_named(plan, "aside")
    sides = camera_sides(plan, view)
    orders = Stacking(plan, view, solids_of(plan))
    lateral = [tuple(unit.side for unit in orders.order(pose) if unit.leg >= 0) for pose in range(plan.poses)]
    assert (sides[0], sides[-1]) == (-1, 1)
    assert (np.diff(sides) >= 0).all(), "through the line of the puppet once, and never back"
    changes = [pose for pose in range(1, plan.poses) if lateral[pose] != lateral[pose - 1]]
    assert all(sides[pose] != sides[pose - 1] for pose in changes)
    assert lateral[0] == (1, -1)
    assert lateral[-1] == (-1, 1)
    assert near_legs(plan, view).sum() == 1, "a leg keeps its colour through the shot"


def test_a_curved_walk_stays_inside_every_built_in_view_and_in_the_middle_of_the_following_one():
    shot = STARTERS["heron"]
    plan = solve(replace(shot, path=(PathPiece(turn_deg=90.0, radius_mm=500.0),), walk=replace(shot.walk, steps=None)))
    for view in views_of(plan):
        assert not framing_findings(plan, [view]), view.name
    pixels, _ = pixels_from_stage(view_named(plan, "following"), plan.reference_mm)
    assert np.abs(pixels[:, 0] - np.median(pixels[:, 0])).max() < 0.1 * 1920


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("name", STRAIGHT_ON)
def test_the_leg_on_the_cameras_side_is_the_near_one_in_every_view(name, side):
    plan = seen_from(name, side)
    for view in views_of(plan):
        here = [leg for leg in plan.legs if leg.endswith(side)]
        assert [leg for leg, near in zip(plan.legs, near_legs(plan, view), strict=True) if near] == here, view.name


def test_an_own_camera_straight_ahead_shows_the_right_leg_as_the_near_one_and_one_aside_the_leg_there():
    cameras = (
        CameraSetup("front", (4000.0, 3.0, 150.0), (0.0, 0.0, 100.0)),
        CameraSetup("back", (-4000.0, -3.0, 150.0), (0.0, 0.0, 100.0)),
        CameraSetup("front-left", (4000.0, 500.0, 150.0), (0.0, 0.0, 100.0)),
        CameraSetup("back-left", (-4000.0, 500.0, 150.0), (0.0, 0.0, 100.0)),
    )
    plan = seen_from("lamplighter", "right", *cameras)
    near = {camera.name: plan.legs[int(np.argmax(near_legs(plan, view_named(plan, camera.name))))]
            for camera in cameras}  # fmt: skip
    assert near == {"front": "right", "back": "right", "front-left": "left", "back-left": "left"}


def winding(at, rings) -> int:
    """Turns of all rings together around a place."""
    turns = 0.0
    for ring in rings:
        a, b = ring - at, np.roll(ring, -1, axis=0) - at
        turns += np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)).sum()
    return round(turns / (2 * np.pi))


def test_a_far_legs_fill_does_not_shine_through_what_is_before_it():
    """Sampled places: none in the far leg's fill lies in the near leg or in the trunk before it."""
    plan = seen_from("lamplighter")
    view = view_named(plan, "side-on")
    drawings = ShotDrawings(plan, view)
    checked = 0
    for pose in (3, 6, 9):
        areas = [item for item in drawings.layer("pose", pose).items if isinstance(item, Area)]
        assert [area.colour for area in areas] == [ORANGE, SKY_BLUE]
        low, high = areas[0].rings[0].min(axis=0), areas[0].rings[0].max(axis=0)
        places = np.stack(np.meshgrid(*np.linspace(low, high, 40).T), axis=-1).reshape(-1, 2)
        far, near = (np.array([winding(at, area.rings) for at in places]) for area in areas)
        assert set(far) == {0, 1}
        pieces = [hull for k, solid in enumerate(solids_of(plan)) if solid.leg < 0 and solid.side < 1
                  if len(hull := bent_path(view, drawings._puppet.hull(k, pose)))]  # fmt: skip
        trunk = np.array([any(winding(at, [piece]) for piece in pieces) for at in places])
        assert not ((far != 0) & (near != 0)).any()
        assert not ((far != 0) & trunk).any()
        checked += int(trunk.sum())
    assert checked > 20, "the trunk is before the far leg"


@pytest.mark.parametrize("name", STARTERS)
def test_a_ghost_is_a_whole_leg_thigh_too(name):
    plan = seen_from(name)
    drawings = ShotDrawings(plan, view_named(plan, "side-on"), Overlay(ghosts_before=1, ghosts_after=0))
    knees = pixels_from_stage(view_named(plan, "side-on"), plan.knee_mm)[0]
    over = 0
    for pose in range(1, plan.poses):
        lines = [item for item in drawings.layer("ghosts", pose).items if isinstance(item, Line)]
        if not lines:  # it stands still: the ghost is behind the pose
            continue
        heights = np.concatenate([line.points[:, 1] for line in lines])
        over += bool(heights.min() < knees[pose - 1, :, 1].min() - 10)
    assert over > plan.poses / 2


def test_a_puppet_without_shapes_is_drawn_with_rods_from_hips_to_waist_to_neck():
    shot = STARTERS["lamplighter"]
    plan = solve(replace(shot, puppet=replace(shot.puppet, shapes=())))
    view = view_named(plan, "side-on")
    lines = [item for item in ShotDrawings(plan, view).layer("pose", 3).items if isinstance(item, Line)]
    assert any(line.ink.colour == WHITE for line in lines)
    tops = {solid.part: solid.centres_mm[3, :, 2].max() for solid in solids_of(plan) if solid.leg < 0}
    assert tops["body"] == pytest.approx(plan.waist_mm[3, 2])
    assert tops["chest"] == pytest.approx(plan.neck_mm[3, 2])


def test_a_neck_that_was_not_measured_is_half_a_leg_over_the_hips():
    puppet = replace(STARTERS["lamplighter"].puppet, shapes=(), body=Body())
    top = max(shape.to_mm[2] for shape in drawn_shapes(puppet) if shape.to_mm)
    assert top == pytest.approx(0.5 * (56.4 + 56.6))
    assert all(shape.form == "capsule" for shape in drawn_shapes(puppet))


def test_a_puppets_own_shapes_are_drawn_as_they_are():
    puppet = STARTERS["heron"].puppet
    assert drawn_shapes(puppet) == puppet.shapes
    head_alone = replace(puppet, shapes=tuple(shape for shape in puppet.shapes if shape.part == "head"))
    drawn = drawn_shapes(head_alone)
    assert {shape.part for shape in drawn} == {"body", "chest", "head"}
    assert drawn[-len(head_alone.shapes) :] == head_alone.shapes
