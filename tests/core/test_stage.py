"""What the checks say of a stage, and what pictures show of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.adjust.holes import snap_to_holes
from striderule.camera.placing import view_named
from striderule.check import findings_of
from striderule.draw.drawing import Dot, Ring
from striderule.draw.layers import ShotDrawings
from striderule.draw.stage_marks import stage_holes
from striderule.model.edits import Edits, FootfallEdit
from striderule.model.floor import Floor
from striderule.model.path import PathPiece
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.stage import HoleGrid, Obstacle, Stage
from striderule.solve import solve
from striderule.solve.ground import floor_height_mm

HERON = load_shot(starter_paths()["heron"])
CURVE = load_shot(starter_paths()["heron-curve"])


def of_code(shot, code):
    return [one for one in findings_of(solve(shot)) if one.code == code]


def test_a_foot_tied_beside_the_holes_is_told_with_the_nearest_and_how_far():
    found = of_code(replace(HERON, grid=HoleGrid(25)), "tie-off-hole")
    assert [one.leg for one in found] == ["left", "right"]
    # toes at 2.2 + 80 k and 39 ahead of that: 162.2 is 12.2 beyond 150, and 19 is 6 to the right of 25
    assert found[0].number == pytest.approx(np.hypot(12.2, 6.0), abs=0.06)
    assert found[0].severity == "risky"
    assert found[0].cures[0].text == "`striderule holes` moves the feet over holes"
    assert not of_code(snap_to_holes(replace(HERON, grid=HoleGrid(25))).shot, "tie-off-hole")
    assert not of_code(HERON, "tie-off-hole")


def test_where_another_start_puts_every_foot_over_a_hole_it_is_offered_and_does():
    shot = replace(HERON, grid=HoleGrid(20, (3.0, 1.0)), walk=replace(HERON.walk, width_mm=40))
    cure = of_code(shot, "tie-off-hole")[0].cures[0]
    assert cure.key == "stage.start_mm"
    assert cure.text == "start 0.8 mm further along and 1 mm further to the left"
    start = tuple(float(one) for one in str(cure.value).strip("[]").split(","))
    assert not of_code(replace(shot, stage=replace(shot.stage, start_mm=start)), "tie-off-hole")


def test_a_foot_is_only_tied_while_it_lies_flat_or_on_its_toe():
    shot = load_shot(starter_paths()["lamplighter"])
    found = of_code(replace(shot, grid=HoleGrid(25)), "tie-off-hole")
    plan = solve(shot)
    for one in found:
        leg = plan.legs.index(one.leg)
        poses = [pose for first, last in one.runs for pose in range(first, last + 1)]
        assert {int(plan.state[pose - 1, leg]) for pose in poses} == {0}  # planted: it is tied at the ankle


def test_a_sole_over_the_edge_is_impossible_and_a_start_that_mends_it_is_offered():
    shot = replace(HERON, stage=Stage(across_mm=(-100, 30)))
    (found,) = of_code(shot, "off-stage")
    assert (found.leg, found.severity) == ("left", "impossible")
    assert found.number == pytest.approx(19 + 16 - 30)
    cure = found.cures[0]
    assert cure.text == "start 5 mm further to the right"
    start = tuple(float(one) for one in str(cure.value).strip("[]").split(","))
    assert not of_code(replace(shot, stage=replace(shot.stage, start_mm=start)), "off-stage")
    assert not of_code(replace(HERON, stage=Stage(across_mm=(-20, 20))), "off-stage")[0].cures  # no room at all


def test_a_foot_on_an_obstacle_is_impossible_and_named():
    shot = replace(HERON, obstacles=(Obstacle((210.0, -20.0), 10.0, "lamp"),))
    (found,) = of_code(shot, "on-obstacle")
    assert "stands on the lamp" in found.text
    start = tuple(float(one) for one in str(found.cures[0].value).strip("[]").split(","))
    assert not of_code(replace(shot, stage=replace(shot.stage, start_mm=start)), "on-obstacle")
    pinned = replace(shot, edits=Edits((FootfallEdit(5, at_mm=(440.0, 20.0)),)))
    assert not of_code(pinned, "on-obstacle")[0].cures  # a start would not move the pinned foot
    assert not of_code(replace(HERON, obstacles=(Obstacle((300.0, 200.0), 10.0),)), "on-obstacle")


def test_the_floor_layer_shows_holes_near_the_prints_and_rings_the_used_ones():
    plan = solve(CURVE)
    items = ShotDrawings(plan, view_named(plan, "high")).layer("floor", 0).items
    rings = [one for one in items if isinstance(one, Ring)]
    assert len(rings) == len(plan.stances) == 8
    free = [one for one in items if isinstance(one, Dot) and one.radius < 2.3]
    assert 40 < len(free) < 300
    bare = replace(CURVE, grid=None, obstacles=())
    plain = ShotDrawings(solve(bare), view_named(plan, "high")).layer("floor", 0).items
    assert not [one for one in plain if isinstance(one, Ring)]
    with_edges = replace(CURVE, stage=Stage(along_mm=(-120, 560)))
    more = ShotDrawings(solve(with_edges), view_named(plan, "high")).layer("floor", 0).items
    assert len(more) == len(items) + 2


def test_missing_holes_are_told_from_used_and_free_ones():
    ties = np.array(((25.0, 0.0, 0.0), (60.0, 3.0, 0.0)))
    shot = replace(HERON, grid=HoleGrid(25, missing=((2, 0),)))
    places, used, gone = stage_holes(shot, ties, 30.0)
    assert places[used][:, :2].tolist() == [[25.0, 0.0]]
    assert places[gone][:, :2].tolist() == [[50.0, 0.0]]
    assert len(stage_holes(replace(HERON, grid=HoleGrid(1.0)), ties, 400.0)[0]) < 1000


@pytest.mark.parametrize("path", [(), (PathPiece(straight_mm=100), PathPiece(turn_deg=50, radius_mm=300))])
def test_holes_lie_on_the_floor_as_high_as_the_feet_on_them(path):
    shot = replace(HERON, floor=Floor(slope_deg=8, side_slope_deg=4), path=path, walk=replace(HERON.walk, steps=None))
    plan = solve(shot)
    places = plan.footing.place_mm
    np.testing.assert_allclose(floor_height_mm(shot, places[:, :2]), places[:, 2], atol=0.05)
