"""Walking on the spot: the floor moves back evenly, and planted feet move with it and never slide on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.camera.placing import view_named
from striderule.check import findings_of
from striderule.draw.drawing import Dot, Line
from striderule.draw.layers import ShotDrawings
from striderule.errors import ModelError
from striderule.export.poses_csv import poses_csv_text
from striderule.model.floor import Floor, Kerb
from striderule.model.path import PathPiece
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.model.step_change import StepChange
from striderule.solve import FootState, solve

SEEDS = {name: load_shot(starter_paths()[name]) for name in ("heron", "lamplighter", "tapir")}
WALKS = {
    **{name: (shot, {}) for name, shot in SEEDS.items()},
    "uneven": (replace(SEEDS["lamplighter"], step_changes=(StepChange("2", (("poses_per_step", 9),)),)), {}),
    "surge": (SEEDS["heron"], {"surge": 0.3}),
    "start and stop": (SEEDS["lamplighter"], {"start": "standing", "stop": "standing"}),
    "slope": (replace(SEEDS["heron"], floor=Floor(slope_deg=4.0)), {}),
}


def spot(kind):
    shot, values = WALKS[kind]
    still = replace(shot, walk=replace(shot.walk, **values))
    return solve(replace(still, walk=replace(still.walk, on_the_spot=True))), solve(still)


@pytest.mark.parametrize("kind", list(WALKS))
def test_a_planted_foot_moves_with_the_floor_and_never_on_it(kind):
    plan, _ = spot(kind)
    for leg in range(len(plan.legs)):
        planted = plan.state[:, leg] == FootState.PLANTED
        both = planted[1:] & planted[:-1] & (plan.gap_mm[1:, leg] < 1e-9) & (plan.gap_mm[:-1, leg] < 1e-9)
        assert both.any()
        slid = np.diff(plan.ankle_mm[:, leg] - plan.floor_shift_mm, axis=0)[both]
        assert np.abs(slid).max() < 1e-9


@pytest.mark.parametrize("kind", list(WALKS))
def test_joints_and_heights_over_the_floor_are_those_of_the_same_walk_over_a_still_floor(kind):
    plan, still = spot(kind)
    for name in ("hip_swing_deg", "knee_deg", "ankle_deg", "over_floor_mm", "hip_line_mm", "state"):
        np.testing.assert_allclose(getattr(plan, name), getattr(still, name), atol=1e-9)
    for name in ("body_mm", "reference_mm"):
        np.testing.assert_allclose(getattr(plan, name) - plan.floor_shift_mm, getattr(still, name), atol=1e-9)
    np.testing.assert_allclose(plan.band.lowest_mm, still.band.lowest_mm, atol=1e-9)


@pytest.mark.parametrize("kind", ["heron", "lamplighter", "tapir"])
def test_in_an_even_walk_the_floor_moves_by_a_step_over_its_poses_and_the_body_stays(kind):
    plan, _ = spot(kind)
    walk = plan.shot.settled_walk
    np.testing.assert_allclose(np.diff(plan.floor_shift_mm[:, 0]), -walk.step_mm / walk.poses_per_step, atol=1e-9)
    # the reference point is what goes evenly; the body's centre turns about it
    assert np.ptp(plan.reference_mm[:, 0]) < 1e-9 or np.ptp(plan.reference_mm[:, 0]) < 0.1 * walk.step_mm


def test_a_floor_moves_evenly_from_contact_to_contact_and_the_body_alone_surges():
    plan, _ = spot("surge")
    moves = np.diff(plan.floor_shift_mm[:, 0])
    assert np.ptp(moves) < 1e-6
    assert np.ptp(plan.reference_mm[:, 0]) > 0.5


def test_the_floor_rests_while_the_puppet_stands():
    plan, _ = spot("start and stop")
    laid = plan.shot.laid_out
    moves = np.linalg.norm(np.diff(plan.floor_shift_mm, axis=0), axis=1)
    assert moves[laid.start[1] : laid.start[2]].min() > 1.0
    assert moves[-2:].max() < 0.5


def test_up_a_slope_the_floor_moves_back_and_down_along_itself():
    plan, _ = spot("slope")
    shift = plan.floor_shift_mm[-1]
    assert shift[2] / shift[0] == pytest.approx(np.tan(np.radians(4.0)), abs=1e-12)
    assert np.ptp(plan.floor_mm) < 2.0  # the floor under the body stays as high


def test_no_finding_comes_from_walking_on_the_spot():
    for kind in ("heron", "lamplighter", "tapir"):
        plan, still = spot(kind)
        assert [one.text for one in findings_of(plan)] == [one.text for one in findings_of(still)]


def test_the_table_has_the_floor_s_place_and_only_where_it_moves():
    plan, still = spot("heron")
    head, *rows = [line.split(",") for line in poses_csv_text(plan).splitlines()]
    assert [name for name in head if name.startswith("floor")] == ["floor_x_mm", "floor_z_mm"]
    at = head.index("floor_x_mm")
    assert [float(row[at]) for row in rows] == pytest.approx(plan.floor_shift_mm[:, 0].tolist(), abs=1e-4)
    assert {len(row) for row in rows} == {len(head)}
    assert poses_csv_text(still).splitlines()[0] == ",".join(head[:at] + head[at + 2 :])


def test_prints_move_back_in_the_picture_and_the_datum_stays():
    plan, _ = spot("heron")
    drawings = ShotDrawings(plan, view_named(plan, "side-on"))

    def datum(pose):
        lines = [one for one in drawings.layer("floor", pose).items if isinstance(one, Line)]
        return np.array([one.points for one in lines[-2:]])

    def ties(pose):
        return np.array([(one.x, one.y) for one in drawings.layer("floor", pose).items if isinstance(one, Dot)])

    first, later = ties(0), ties(3)
    moved = later[:, None] - first[None]  # where there is a print after three poses there was one farther ahead
    px = drawings.view.fx * 40.0 / float(np.linalg.norm(drawings.view.translation_mm))  # three moves of 13.3 mm
    nearest = np.abs(moved - (-px, 0.0)).sum(axis=2).min(axis=1)
    assert np.median(nearest) < 0.1 * px
    np.testing.assert_array_equal(datum(0), datum(3))


@pytest.mark.parametrize(
    ("change", "given"),
    [
        ({"path": (PathPiece(turn_deg=40.0, radius_mm=300.0),)}, "a [[path]] that turns"),
        ({"floor": Floor(kerb=Kerb(at_mm=100.0, height_mm=5.0))}, "[floor] with heights or edges"),
    ],
)
def test_a_floor_that_cannot_move_back_is_refused(change, given):
    shot = SEEDS["heron"]
    with pytest.raises(ModelError, match=r"walk\.on_the_spot") as told:
        replace(shot, walk=replace(shot.walk, on_the_spot=True), **change)
    assert given in str(told.value)


def test_a_shot_file_keeps_it(tmp_path):
    shot = spot("heron")[0].shot
    text = dump_shot(shot)
    assert "on_the_spot = true" in text
    assert parse_shot(text, tmp_path / "a.toml", tmp_path) == shot
