import csv
import io
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from striderule.check.weight.load import weigh
from striderule.model.edits import Hold
from striderule.model.matched import MatchedCamera
from striderule.model.stage import HoleGrid
from striderule.model.view import CameraSetup
from striderule.paper.exposure_csv import exposure_csv
from striderule.paper.floor_places import floor_places, tie_hole_names
from striderule.paper.heading import Heading
from striderule.paper.height_gauge import spread
from striderule.paper.instructions import instructions_of
from striderule.paper.row_words import do_lines, totals
from striderule.paper.rows import rounded, rows_of, toe_mark_mm
from striderule.solve import solve
from striderule.solve.plan import FootState

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def plans(starters):
    return {name: solve(shot) for name, shot in starters.items()}


def rows(plan, grain=0.5):
    return rows_of(plan, instructions_of(plan, tie_hole_names(plan)), grain)


@pytest.mark.parametrize("grain", [0.5, 0.1])
def test_printed_moves_add_up_to_the_printed_places_and_those_are_near_the_plan(plans, grain):
    for plan in plans.values():
        found = rows(plan, grain)
        places = np.array([row.place_mm for row in found])
        moves = np.array([row.move_mm for row in found[1:]])
        assert found[0].move_mm is None
        np.testing.assert_allclose(places[0] + moves.cumsum(axis=0), places[1:], atol=1e-6)
        assert np.abs(places - plan.reference_mm).max() <= grain / 2 + 1e-6
        np.testing.assert_allclose(places / grain, np.rint(places / grain), atol=1e-6)


def test_a_place_is_rounded_halves_up_without_a_minus_zero():
    assert rounded([0.25, -0.25, 0.24, -0.24, 12.75, -0.75], 0.5).tolist() == [0.5, 0.0, 0.0, 0.0, 13.0, -0.5]
    assert not np.signbit(rounded([-0.1, -0.2], 0.5)).any()


def test_every_frame_stands_in_one_row_in_order(starters):
    shot = replace(starters["heron"], frames_per_pose=2, holds=(Hold(pose=7, frames=9),))
    plan = solve(shot)
    found = rows(plan)
    frames = [row.first_frame + k for row in found for k in range(row.frames)]
    assert frames == list(range(1, plan.frames + 1))
    assert found[6].frames == plan.last_frame[6] - plan.first_frame[6] + 1 > 2
    assert f"shoot {found[6].frames} frames" in do_lines(found[6])


def test_heights_and_how_far_ahead_are_those_of_the_plan(plans):
    plan = plans["heron"]
    for row in rows(plan):
        k = row.pose - 1
        for leg, foot in enumerate(row.feet):
            if plan.state[k, leg] == FootState.PLANTED:
                assert foot.free is None
                continue
            free = foot.free
            # a flat floor: heights are those over the datum
            assert free.knee_mm == pytest.approx(plan.knee_mm[k, leg, 2], abs=0.2501)
            assert free.ankle_mm == pytest.approx(plan.ankle_mm[k, leg, 2], abs=0.2501)
            assert free.heel_mm == pytest.approx(plan.heel_mm[k, leg, 2], abs=0.2501)
            other = 1 - leg
            assert free.beside == plan.legs[other]
            ahead = plan.toe_mm[k, leg, 0] - plan.toe_mm[k, other, 0]  # straight ahead, the other foot flat
            if plan.state[k, other] == FootState.PLANTED:
                assert free.ahead_mm == pytest.approx(ahead, abs=0.2501)


def test_heights_on_a_stair_are_over_the_tread_under_the_foot(plans):
    plan = plans["lamplighter-stair"]
    ankle = plan.shot.puppet.legs[0].ankle_up_mm
    for row in rows(plan):
        for leg, foot in enumerate(row.feet):
            if plan.state[row.pose - 1, leg] == FootState.HEEL:
                assert 0 <= foot.free.heel_mm <= 0.5
                assert foot.free.ankle_mm <= ankle + 6


def test_a_toe_mark_is_where_the_flat_foots_toe_tip_lies(plans):
    for plan in plans.values():
        marks = toe_mark_mm(plan)
        for index, stance in enumerate(plan.stances):
            flat = [k for k in range(max(stance.first, 0), min(stance.last, plan.poses - 1) + 1)
                    if plan.state[k, stance.leg] == FootState.PLANTED]  # fmt: skip
            for k in flat:
                np.testing.assert_allclose(plan.toe_mm[k, stance.leg, :2], marks[index], atol=1e-6)


def test_a_foot_comes_down_is_flat_is_tied_and_only_then_is_the_other_untied(plans):
    for plan in plans.values():
        for row in rows(plan)[1:]:
            acts = [line.split()[0] for line in row.do]
            if "tie" in acts and "untie" in acts:
                assert acts.index("tie") < acts.index("untie")
            for leg, foot in enumerate(row.feet):
                name = foot.leg.replace("_", " ")
                tie = [k for k, line in enumerate(row.do) if line == f"tie {name}"]
                down = [k for k, line in enumerate(row.do) if line.startswith((f"{name} down", f"{name} flat"))]
                assert not (tie and down) or down[0] < tie[0]
                if plan.state[row.pose - 1, leg] == FootState.HEEL:
                    assert not foot.tied
            if any(not foot.tied and foot.state != "free" for foot in row.feet):
                assert not row.safe


def test_where_the_only_tied_foot_is_untied_it_says_to_hold_the_puppet(plans):
    warned = {row.pose for row in rows(plans["lamplighter"]) if any("nothing will be tied" in one for one in row.do)}
    assert warned == {7, 13, 19, 25, 31, 37}
    assert not any("nothing will be tied" in one for row in rows(plans["heron"]) for one in row.do)


def test_ties_name_the_hole_that_they_are_over(starters):
    shot = starters["heron"]
    tie = floor_places(solve(shot)).prints[1].tie
    plan = solve(replace(shot, grid=HoleGrid(80.0, (float(tie[0]) - 160.0, float(tie[1])))))
    found = rows(plan)
    assert "tie right at hole 2L0" in found[0].do
    assert any("plug hole 2L0" in one for row in found for one in row.do)
    assert found[0].feet[1].hole == "2L0"


def test_a_floor_that_moves_is_told_how_far(starters):
    shot = starters["heron"]
    found = rows(solve(replace(shot, walk=replace(shot.walk, on_the_spot=True))))
    assert found[0].floor_move_mm is None
    along = sum(row.floor_move_mm[0] for row in found[1:])
    assert along == pytest.approx(-480.0, abs=0.26)
    assert do_lines(found[1])[0].startswith("floor -13")


def test_the_table_has_a_line_a_frame_and_no_cell_that_is_a_formula(starters):
    plan = solve(replace(starters["heron"], frames_per_pose=2))
    found = rows(plan)
    data = exposure_csv(found, Heading.of(plan, "=cmd.toml", DAY))
    assert data.startswith(b"\xef\xbb\xbf")
    table = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    assert [int(line["frame"]) for line in table] == list(range(1, plan.frames + 1))
    assert [line["pose"] for line in table[:4]] == ["1", "1", "2", "2"]
    assert table[2]["move along mm"] == "+13.5"
    assert table[1]["key"] == "same pose"
    assert table[0]["shot file"] == "'=cmd.toml"
    for line in table:
        for cell in line.values():
            assert cell[:1] not in "=@" or not cell
            if cell[:1] in ("+", "-"):
                float(cell)  # a number, which a spreadsheet may read as one


def test_totals_say_how_long_it_is_and_takes(plans):
    said = totals(plans["heron"], rows(plans["heron"]), 8.0)
    assert said == ("12 fps, on ones - 37 frames, 37 poses - 3.08 s of film - about 4 h 56 min to shoot at 8 min a "
                    "pose")  # fmt: skip


def test_marks_that_stand_too_near_are_moved_as_little_as_possible_and_keep_their_order():
    rng = np.random.default_rng(7)
    for _ in range(50):
        values = np.sort(rng.uniform(0, 100, 15))
        placed = spread(values, 5.0, 0.0, 120.0)
        assert (np.diff(placed) >= 5.0 - 1e-9).all()
        assert placed[0] >= 0
        assert placed[-1] <= 120
        lonely = np.minimum(np.diff(values, prepend=-99), np.diff(values, append=999)) > 90
        np.testing.assert_allclose(placed[lonely], values[lonely])
    np.testing.assert_allclose(spread(np.array([50.0, 50.0]), 4.0, 0.0, 100.0), [48.0, 52.0])


def test_with_a_matched_camera_the_distance_to_focus_on_is_told(starters):
    """A camera 600 mm to the right of the track that looks square at it sees every pose 600 mm away, give or take the
    sway; one that looks along the track from behind sees the walk's own distances."""
    shot = starters["heron"]
    still = {"still_px": (1920, 1280), "focal_px": (2000.0, 2000.0), "centre_px": (959.5, 639.5)}
    beside = MatchedCamera(place_mm=(200.0, -600.0, 150.0), pan_deg=90.0, tilt_deg=0.0, roll_deg=0.0, **still)
    behind = MatchedCamera(place_mm=(-500.0, 0.0, 199.0), pan_deg=0.0, tilt_deg=0.0, roll_deg=0.0, **still)
    for camera, wanted in ((beside, lambda row: 600 + row.place_mm[1]), (behind, lambda row: 500 + row.place_mm[0])):
        found = rows(solve(replace(shot, cameras=(CameraSetup("still", matched=camera),))))
        for row in found:
            assert row.focus_mm == pytest.approx(wanted(row), abs=0.8)
    assert rows(solve(shot))[0].focus_mm is None


def test_a_rig_that_must_lift_is_told_before_a_foot_is_untied_and_the_puppet_is_not_left(plans):
    """The heron's knee carries more than it holds on one leg; `striderule weigh` says the same."""
    plan = plans["heron"]
    told, weight = instructions_of(plan), weigh(plan)
    for k in np.flatnonzero(weight.worst > 1).tolist():
        assert any(line.startswith("rig lifts ") and line.endswith(" g") for line in told.do[k])
        assert not told.safe[k]
    untied = [lines for lines in told.do if any(line.startswith("untie") for line in lines)]
    assert untied
    for lines in untied:
        assert lines[0].startswith("rig ")
    np.testing.assert_allclose(told.load, weight.worst)
    assert told.safe.tolist() == weight.safe_to_leave.tolist()
