"""What a walk looks like from an angle."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from striderule.camera.angle_search import Limits, find_angle
from striderule.camera.focus import Focus
from striderule.camera.judging import ANGLE_CODES, bones_of, judged
from striderule.camera.lens import pixels_from_stage
from striderule.camera.placing import look_at, own_view, view_named, views_of
from striderule.errors import ModelError
from striderule.export.angles_table import angles_csv
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.view import CameraSetup, View
from striderule.solve import Plan, solve
from striderule_blender.cli import main

SHOT = starter_paths()["lamplighter"]


@pytest.fixture(scope="module")
def plan() -> Plan:
    return solve(load_shot(SHOT))


def along_at(angle_deg: float, focal: float = 1920.0, far: float = 600.0) -> View:
    """A level camera whose axis crosses the track at the datum, 600 mm away; + = the puppet walks away from it."""
    turn = math.radians(angle_deg)
    eye = -far * np.array((math.sin(turn), math.cos(turn), 0.0))
    rotation = look_at(eye, np.zeros(3))
    return View("at", 1920, 1080, focal, focal, 959.5, 539.5, rotation, -rotation @ eye)


def test_spacing_at_an_angle_follows_the_closed_formula() -> None:
    """x = f s cos a / (D + s sin a); ratio of spacings ((D + s2 sin a) / (D + s1 sin a))^2: worked by hand for f 1920,
    D 600, a 45, s -150 and 150: -412.30, 288.42 and 2.043."""
    view = along_at(45)
    places = np.array([(-150.0, 0, 0), (150.0, 0, 0)])
    x = pixels_from_stage(view, places)[0][:, 0] - 959.5
    assert x == pytest.approx((-412.30, 288.42), abs=0.005)
    steps = np.array([(s + d, 0, 0) for s in (-150.0, 150.0) for d in (-0.01, 0.01)])
    across = pixels_from_stage(view, steps)[0][:, 0]
    assert (across[1] - across[0]) / (across[3] - across[2]) == pytest.approx(2.043, abs=0.001)


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0])
def test_the_ratio_of_a_walk_is_that_of_its_ends(plan: Plan, angle: float) -> None:
    """The reference point made to go evenly along the formula's track, so that the closed formula holds for it."""
    s = np.linspace(-150, 150, plan.poses)
    even = replace(plan, reference_mm=np.stack([s, 0 * s, 0 * s], axis=1))
    found = judged(even, along_at(angle))
    slope = math.sin(math.radians(angle))
    middles = (s[1:] + s[:-1]) / 2
    ratio = ((600 + middles[-1] * slope) / (600 + middles[0] * slope)) ** 2
    assert found.ratio == pytest.approx(ratio, rel=2e-3)
    assert found.smallest is not None
    assert found.largest is not None
    assert found.largest[0] / found.smallest[0] == pytest.approx(ratio, rel=2e-3)
    if angle:
        assert (found.smallest[1], found.largest[1]) == (plan.poses, 2)
    assert found.mm_per_px == pytest.approx(600 / 1920, rel=0.01)


def test_side_on_hardly_changes_and_head_on_cannot_be_judged(plan: Plan) -> None:
    side, head = (judged(plan, view_named(plan, name)) for name in ("side-on", "head-on"))
    assert side.ratio < 1.1
    assert not any(one.code == "angle-moves-tiny" for one in side.findings)
    tiny = next(one for one in head.findings if one.code == "angle-moves-tiny")
    assert 0 < tiny.number < 1
    assert all(one.code in ANGLE_CODES or one.code == "out-of-view" for one in head.findings)


def test_a_move_wider_than_a_limb_strobes(plan: Plan) -> None:
    fast = replace(plan, reference_mm=plan.reference_mm * (6.0, 1.0, 1.0))
    codes = [one.code for one in judged(fast, view_named(plan, "side-on")).findings]
    assert "angle-strobes" in codes
    assert "angle-strobes" not in [one.code for one in judged(plan, view_named(plan, "side-on")).findings]


def test_a_camera_that_goes_along_shows_no_spacing(plan: Plan) -> None:
    found = judged(plan, view_named(plan, "following"))
    assert found.smallest is None
    assert found.ratio == 1.0


def test_legs_hide_feet_where_one_stands_behind_the_other(plan: Plan) -> None:
    """Rays from the lens to the ankle against the other leg's bones as capsules, every millimetre of the ray."""
    view = view_named(plan, "side-on")
    eye = -view.translation_mm @ view.rotation
    hidden = np.zeros(plan.poses, bool)
    for leg, other in ((0, 1), (1, 0)):
        stands = plan.state[:, leg] != 3
        for near, far, radius in bones_of(plan, other):
            for pose in np.flatnonzero(stands):
                ankle = plan.ankle_mm[pose, leg]
                ray = (eye - ankle) / np.linalg.norm(eye - ankle)
                points = ankle + np.arange(1, 200)[:, None] * ray
                along = far[pose] - near[pose]
                share = np.clip((points - near[pose]) @ along / (along @ along), 0, 1)
                away = np.linalg.norm(points - near[pose] - share[:, None] * along, axis=1)
                hidden[pose] |= bool((away < radius).any())
    assert 0 < hidden.mean() < 0.5
    assert judged(plan, view).hidden == pytest.approx(hidden.mean(), abs=2.1 / plan.poses)
    above = own_view(CameraSetup("top", (180.0, 0.0, 1500.0), (180.0, 1.0, 0.0)))
    assert judged(plan, above).target_hidden == 0


# depth of field


@given(st.floats(10, 300), st.floats(1, 32), st.floats(1.5, 400))
def test_at_the_ends_of_what_is_sharp_the_blur_is_the_circle_of_confusion(lens: float, stop: float, far: float) -> None:
    """Thin lens 1/f = 1/s + 1/v: a point at d is a spot of (f / N) |v_d - v_s| / v_d on the sensor. An independent way
    to the handbook's formulas."""
    focus = Focus(lens, stop, far * lens)

    def blur(distance: float) -> float:
        image, sensor = (1 / (1 / lens - 1 / one) for one in (distance, focus.distance_mm))
        return lens / stop * abs(image - sensor) / image

    near, end = focus.sharp_mm
    assert near < focus.distance_mm < end
    assert blur(near) == pytest.approx(focus.circle_mm, rel=1e-6)
    if math.isfinite(end) and end < 1e9:
        assert blur(end) == pytest.approx(focus.circle_mm, rel=1e-4)


def test_hyperfocal_distance_is_the_handbooks() -> None:
    """H = f^2 / (N c) + f: 50 mm at f/8 with c = 43.27 / 1500 mm: 10.88 m, and half of it is sharp to infinity."""
    focus = Focus(50.0, 8.0, 5000.0)
    assert focus.circle_mm == pytest.approx(0.028844, abs=1e-6)
    assert focus.hyperfocal_mm == pytest.approx(10884, abs=1)
    near, far = replace(focus, distance_mm=focus.hyperfocal_mm).sharp_mm
    assert near == pytest.approx(focus.hyperfocal_mm / 2, rel=1e-3)
    assert math.isinf(far)


def test_a_focus_inside_the_lens_is_refused() -> None:
    with pytest.raises(ModelError, match="focus: expected a distance beyond the focal length of 50 mm, given 40"):
        Focus(50.0, 4.0, 40.0)


def test_poses_out_of_focus_are_told(plan: Plan) -> None:
    view = view_named(plan, "head-on")
    depth = (plan.reference_mm @ view.rotation.T + view.translation_mm)[:, 2]
    found = judged(plan, view, Focus(50.0, 2.0, float(depth[0])))
    assert found.unsharp is not None
    assert not found.unsharp[0]
    assert found.unsharp[-1]
    assert any(one.code == "angle-unsharp" for one in found.findings)


# finding one


def test_the_angle_found_keeps_its_limits_and_the_whole_walk_in_its_picture(plan: Plan) -> None:
    limits = Limits((0.0, 60.0), (100.0, 300.0), (35.0, 50.0), 3.0, 2.2)
    setup, angle = find_angle(plan, limits)
    assert setup.lens_mm in (35.0, 50.0)
    assert setup.place_mm is not None
    assert 100 <= setup.place_mm[2] <= 300
    assert angle.ratio <= 2.2
    assert angle.smallest is not None
    assert angle.smallest[0] >= 3.0
    assert not angle.outside.any()
    wider, further = find_angle(plan, replace(limits, most_ratio=3.5, least_px=1.5))
    assert further.ratio >= angle.ratio
    assert wider.name == setup.name


def test_limits_in_which_nothing_reads_are_refused(plan: Plan) -> None:
    message = r"limits: expected limits in which some camera reads, given none that does \(moves"
    with pytest.raises(ModelError, match=message):
        find_angle(plan, Limits(least_px=500.0))


# the command


def test_every_code_is_described_in_the_developers_notes() -> None:
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    for code, one in ANGLE_CODES.items():
        assert f"| `{code}` | {one.severity} | {one.meaning} |" in text


def test_the_angles_command_writes_a_sheet_and_a_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "angles"
    words = ["angles", str(SHOT), "--out", str(out), "--views", "side-on,head-on,following", "--f-number", "5.6"]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "ratio 1.0" in said
    assert "[angle-moves-tiny]" in said
    assert (out / "angles.png").read_bytes()[:4] == b"\x89PNG"
    rows = list(csv.DictReader(io.StringIO((out / "angles.csv").read_text(encoding="utf-8"))))
    assert [row["view"] for row in rows] == ["side-on", "head-on", "following"]
    assert float(rows[1]["smallest_move_px"]) < 1 < float(rows[0]["smallest_move_px"])
    assert rows[2]["smallest_move_px"] == ""
    assert main(words) == 0  # the same again
    assert main(["angles", str(SHOT), "--views", "nowhere"]) == 2
    assert "--views: expected views out of side-on" in capsys.readouterr().err


def test_the_table_says_nothing_where_nothing_is_known(plan: Plan) -> None:
    text = angles_csv([judged(plan, view) for view in views_of(plan)[:1]])
    row = next(csv.DictReader(io.StringIO(text)))
    assert row["sharp_from_mm"] == row["poses_unsharp"] == ""
