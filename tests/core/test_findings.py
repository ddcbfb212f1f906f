import re
from dataclasses import replace

import numpy as np
import pytest

from striderule.camera.framing import framing_findings
from striderule.camera.placing import view_named, views_of
from striderule.check import CODES, findings_of, in_order, is_impossible
from striderule.check.feet import outline_gap
from striderule.check.runs import run_words, runs_of
from striderule.export.findings_json import findings_content, findings_lines, summary_line
from striderule.model.puppet import Limits
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.walk import Hips, Walk
from striderule.solve import solve
from striderule.solve.plan import FootState

# The contract with everything that reads findings.json: codes are added at the end of a severity, never changed.
PINNED = {
    "foot-out-of-reach": "impossible", "band-empty": "impossible", "hips-too-high": "impossible",
    "hips-too-low": "impossible", "joint-past-stop": "impossible", "foot-under-floor": "impossible",
    "soles-overlap": "impossible", "no-foot-down": "impossible",
    "off-stage": "impossible", "on-obstacle": "impossible", "tie-off-hole": "risky",
    "joint-at-stop": "risky", "band-narrow": "risky", "soles-close": "risky", "knee-pop": "risky",
    "joint-overloaded": "risky", "tips-over": "risky", "tie-pulled-out": "risky", "rig-cannot-help": "risky",
    "knee-jump": "note", "landing-slow": "note", "move-below-hand": "note", "reference-strobes": "note",
    "nothing-tied": "note", "centre-outside": "note", "joint-strained": "note", "untie-needs-rig": "note",
    "weight-unknown": "note", "out-of-view": "note", "waist-past-stop": "note", "neck-past-stop": "note",
    "arm-past-stop": "note", "arc-breaks": "note", "moves-below-hand": "note",
}  # fmt: skip
HIGH = Hips(119.5, 119.5, 120.5, 120.5)


def starter(name, **walk):
    shot = load_shot(starter_paths()[name])
    return replace(shot, walk=replace(shot.walk, **walk))


def of_code(plan, code, **more):
    return [one for one in findings_of(plan, **more) if one.code == code]


def test_the_list_of_codes_is_pinned():
    assert {code: one.severity for code, one in CODES.items()} == PINNED


def test_every_code_is_described_in_the_developers_notes():
    from pathlib import Path

    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    for code, one in CODES.items():
        assert f"| `{code}` | {one.severity} | {one.meaning} |" in text


@pytest.mark.parametrize("name", sorted(starter_paths()))
def test_a_plain_starter_shows_no_error_and_at_most_three_notes(name):
    """But for the heron's weak knees, which are there to be found, and the stair, on which the lamplighter rolls on its
    toe with nothing to tie that."""
    plan = solve(load_shot(starter_paths()[name]))
    views = [view_named(plan, view) for view in plan.shot.overlay.views]
    found = [*findings_of(plan), *framing_findings(plan, views)]
    known = {"heron": {"joint-overloaded"},
             "heron-burdened": {"joint-overloaded"}, "heron-curve": {"joint-overloaded"},
             "lamplighter-stair": {"tips-over", "rig-cannot-help"}}.get(name, set())  # fmt: skip
    assert known <= {one.code for one in found}
    found = [one for one in found if one.code not in known]
    assert {one.severity for one in found} <= {"note"}
    assert len(found) <= 3


def test_unbroken_poses_make_one_run_counted_from_one():
    assert runs_of(np.array([True, True, False, True])) == ((1, 2), (4, 4))
    assert runs_of(np.zeros(3, bool)) == ()
    assert run_words(((4, 4),)) == "pose 4"
    assert run_words(((1, 2), (4, 4))) == "poses 1-2, 4"
    assert run_words(((1, 1), (3, 3), (5, 5), (7, 8))) == "poses 1, 3, 5 and 1 more run"


def test_a_long_walk_names_a_few_runs_in_words_and_all_of_them_in_json():
    shot = starter("lamplighter")
    plan = solve(replace(shot, walk=replace(shot.walk, steps=200, toe_roll_poses=4, lift_off_poses=1)))
    (one,) = of_code(plan, "nothing-tied", with_cures=False)
    assert re.search(r"in poses 1, [0-9-]+, [0-9-]+ and \d+ more runs: ", one.text)
    assert len(one.text) < 200
    (written,) = findings_content("x", [one])["findings"]
    assert len(written["runs"]) == len(one.runs) > 190


def test_a_joint_past_its_stop_is_one_finding_with_its_runs_and_worst_pose():
    plan = solve(starter("lamplighter"))
    knee = plan.knee_deg.copy()
    knee[[3, 4, 15], 0] = [112.0, 115.5, 111.5]
    (one,) = of_code(replace(plan, knee_deg=knee), "joint-past-stop", with_cures=False)
    assert (one.leg, one.joint, one.unit) == ("left", "knee", "deg")
    assert one.number == pytest.approx(5.5)
    assert (one.first, one.last, one.runs) == (4, 5, ((4, 5), (16, 16)))
    assert "poses 4-5, 16" in one.text
    assert "5.5 degrees past its stop at 110 in pose 5" in one.text
    # 5.5 degrees at the end of a shank of 56.6 mm
    assert "5.4 mm" in one.text


def test_an_excess_that_a_hand_cannot_feel_is_only_risky():
    plan = solve(starter("lamplighter"))
    plan = replace(plan, toe_deg=np.where(plan.toe_deg > 29.9, 50.8, plan.toe_deg))
    found = findings_of(plan, with_cures=False)
    assert {one.code for one in found if one.joint == "toe"} == {"joint-at-stop"}
    assert not is_impossible(found)


def test_a_foot_out_of_reach_names_leg_pose_and_millimetres():
    plan = solve(starter("lamplighter", heel_off_deg=0.0))
    left, _right = of_code(plan, "foot-out-of-reach")
    pose = left.first - 1
    assert left.leg == "left"
    assert left.number == pytest.approx(plan.gap_mm[pose, 0])
    assert plan.gap_mm[pose, 0] == pytest.approx(plan.gap_mm[:, 0].max())


def test_the_nearest_cure_of_a_leg_too_short_is_the_heel_rise_and_it_mends():
    shot = starter("lamplighter", heel_off_deg=0.0)
    left, _right = of_code(solve(shot), "foot-out-of-reach")
    cure = left.cures[0]
    assert cure.key == "walk.heel_off_deg"
    assert cure.text.startswith("heel 5 degrees higher at lift-off: ")
    assert "mm more room" in cure.text
    mended = solve(replace(shot, walk=replace(shot.walk, heel_off_deg=cure.value)))
    assert mended.gap_mm[:, 0].max() == 0


def test_the_room_that_a_cure_promises_is_the_room_it_gives():
    shot = starter("lamplighter", heel_off_deg=0.0)
    plan = solve(shot)
    cure = of_code(plan, "foot-out-of-reach")[0].cures[0]
    mended = solve(replace(shot, walk=replace(shot.walk, heel_off_deg=cure.value)))
    pose = of_code(plan, "foot-out-of-reach")[0].first - 1
    before = plan.band.highest_mm[pose] - plan.band.lowest_mm[pose] - plan.gap_mm[pose].max()
    after = mended.band.highest_mm[pose] - mended.band.lowest_mm[pose]
    assert cure.text == f"heel 5 degrees higher at lift-off: {after - before:.0f} mm more room"


def test_hips_too_high_are_lowered_by_the_cure_until_every_joint_is_inside():
    limits = Limits(knee_deg=(15.0, 130.0))
    # The knees may not open further than 15, and the hips are planned where they would have to.
    shot = load_shot(starter_paths()["lamplighter"])
    legs = tuple(replace(leg, limits=replace(leg.limits, knee_deg=limits.knee_deg)) for leg in shot.puppet.legs)
    shot = replace(shot, puppet=replace(shot.puppet, legs=legs), walk=replace(shot.walk, hips=HIGH))
    found = [one for one in findings_of(solve(shot)) if one.code == "hips-too-high"]
    assert found
    assert {one.joint for one in found} == {"knee"}
    assert "least bend sets the limit" in found[0].text
    (cure,) = [one for one in found[0].cures if one.key == "walk.hips"]
    assert cure.value < 0
    assert cure.text == f"hips {-cure.value:.1f} mm lower"
    lower = Hips(*(getattr(HIGH, key) + cure.value for key in ("contact_mm", "down_mm", "passing_mm", "up_mm")))
    mended = findings_of(solve(replace(shot, walk=replace(shot.walk, hips=lower))))
    assert not [one for one in mended if one.code in ("hips-too-high", "joint-at-stop", "joint-past-stop")]


def test_hips_too_low_are_told_with_the_knee_s_most_bend():
    plan = solve(starter("heron", hips=Hips(160.0, 160.0, 166.0, 166.0)))
    found = of_code(plan, "hips-too-low")
    assert found
    one = found[0]
    assert one.joint == "knee"
    pose = one.first - 1
    assert one.number == pytest.approx((plan.band.lowest_mm - plan.hip_line_mm)[one.runs[0][0] - 1 :].max(), abs=0.2)
    assert plan.hip_line_mm[pose] < plan.band.lowest_mm[pose]
    assert any(cure.key == "walk.hips" and cure.value > 0 for cure in one.cures)


def test_a_band_without_room_names_both_stops():
    plan = solve(starter("lamplighter"))
    band = replace(plan.band, lowest_mm=plan.band.lowest_mm.copy())
    band.lowest_mm[6] = plan.band.highest_mm[6] + 2.0
    (one,) = of_code(replace(plan, band=band), "band-empty", with_cures=False)
    assert (one.first, one.last, one.unit) == (7, 7, "mm")
    assert one.number == pytest.approx(2.0)
    assert "wants the hips lower" in one.text
    assert "wants them higher" in one.text


def test_a_band_of_less_than_a_millimetre_is_risky():
    plan = solve(starter("lamplighter"))
    band = replace(plan.band, highest_mm=np.maximum(plan.hip_line_mm + 0.4, plan.band.lowest_mm + 0.8),
                   lowest_mm=plan.hip_line_mm - 0.4)  # fmt: skip
    (one,) = of_code(replace(plan, band=band), "band-narrow", with_cures=False)
    assert one.number == pytest.approx(0.8)
    assert one.severity == "risky"


def test_a_step_too_narrow_for_the_soles_is_found_and_widened():
    shot = starter("lamplighter", width_mm=10.0, step_mm=20.0)
    (one,) = of_code(solve(shot), "soles-overlap")
    assert one.number > 0
    (cure,) = one.cures
    assert cure.key == "walk.width_mm"
    wider = solve(replace(shot, walk=replace(shot.walk, width_mm=cure.value)))
    assert not [found for found in findings_of(wider) if found.code.startswith("soles")]


def test_the_gap_between_outlines_is_exact_for_corners_sides_and_overlaps():
    square = np.array([[[0, 0], [1, 0], [1, 1], [0, 1.0]]])

    def gap(x, y):
        return outline_gap(square, square + np.array([x, y]))[0]

    assert gap(3.0, 0.5) == pytest.approx(2.0)
    assert gap(4.0, 5.0) == pytest.approx(5.0)
    assert gap(0.75, 0.0) == pytest.approx(-0.25)
    assert gap(0.0, 1.0) == pytest.approx(0.0)


def test_the_gap_between_turned_outlines_agrees_with_points_along_their_edges():
    rng = np.random.default_rng(3)
    share = np.linspace(0, 1, 100)[:, None]
    for _ in range(40):
        quads = []
        for centre in (rng.uniform(-20, 20, 2), rng.uniform(-20, 20, 2)):
            angle = rng.uniform(0, np.pi)
            turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
            quads.append(np.array([[-8, -3], [8, -3], [8, 3], [-8, 3]]) @ turn.T + centre)
        gap = outline_gap(quads[0][None], quads[1][None])[0]
        edges = [
            np.concatenate([a + share * (b - a) for a, b in zip(q, np.roll(q, -1, axis=0), strict=True)]) for q in quads
        ]
        near = np.sqrt(((edges[0][:, None] - edges[1][None]) ** 2).sum(-1)).min()
        if gap > 0:
            assert gap == pytest.approx(near, abs=0.1)
        else:
            assert near < 12.0


def test_a_foot_under_the_floor_names_its_part():
    plan = solve(starter("heron"))
    over = plan.over_floor_mm.copy()
    over[8, 1, 2] = -0.7
    (one,) = of_code(replace(plan, over_floor_mm=over), "foot-under-floor", with_cures=False)
    assert one.leg == "right"
    assert "right toe is 0.7 mm under the floor in pose 9" in one.text


def test_poses_without_any_foot_on_the_floor_are_impossible():
    plan = solve(starter("heron"))
    state = plan.state.copy()
    state[4] = FootState.AIR
    (one,) = of_code(replace(plan, state=state), "no-foot-down", with_cures=False)
    assert one.runs == ((5, 5),)


def test_a_foot_on_its_heel_beside_one_on_its_toe_leaves_nothing_to_tie_unless_the_toe_is_tied():
    plan = solve(starter("lamplighter"))
    (one,) = of_code(plan, "nothing-tied")
    contacts = [k + 1 for k, key in enumerate(plan.keys) if key == "contact"]
    assert [first for first, _ in one.runs] == contacts
    legs = tuple(replace(leg, tie_mm=(20.0, 0.0)) for leg in plan.shot.puppet.legs)  # ahead of the ball at 16
    shot = replace(plan.shot, puppet=replace(plan.shot.puppet, legs=legs))
    assert not of_code(solve(shot), "nothing-tied")


def test_a_standing_knee_under_eight_degrees_is_a_knee_pop_and_lower_hips_mend_it():
    shot = starter("lamplighter", hips=Hips(119.1, 118.7, 121.3, 121.5))
    found = of_code(solve(shot), "knee-pop")
    assert found
    assert found[0].number < 8
    cure = found[0].cures[0]
    assert cure.key == "walk.hips"
    assert cure.value < 0


def test_a_knee_that_jumps_over_a_flat_foot_is_noted():
    plan = solve(starter("lamplighter"))
    knee = plan.knee_deg.copy()
    knee[3, 1] += 14.0
    found = of_code(replace(plan, knee_deg=knee), "knee-jump", with_cures=False)
    assert [(one.leg, one.first) for one in found] == [("right", 4)]


def test_a_heavy_landing_that_has_more_poses_after_passing_is_noted_with_the_pose_that_mends_it():
    walk = Walk(steps=2, poses_per_step=12, passing_pose=6, lift_off_poses=2, landing="heavy")
    shot = replace(starter("heron"), walk=walk)
    (one,) = of_code(solve(shot), "landing-slow")
    (cure,) = one.cures
    # landing fast needs n - p <= p - L (12 - p <= p - 2, so p >= 7)
    assert (cure.key, cure.value) == ("walk.passing_pose", 7)
    assert not of_code(solve(replace(shot, walk=replace(walk, passing_pose=7))), "landing-slow")
    assert not of_code(solve(replace(shot, walk=replace(walk, landing="soft"))), "landing-slow")


def test_moves_smaller_than_hands_can_set_are_noted():
    plan = solve(starter("heron"))
    small = replace(plan, reference_mm=plan.reference_mm * 0.02)
    (one,) = of_code(small, "move-below-hand", with_cures=False)
    assert one.runs == ((2, plan.poses),)
    assert one.number < 0.5
    still = replace(plan, reference_mm=np.zeros_like(plan.reference_mm))
    assert not of_code(still, "move-below-hand", with_cures=False)


def test_moves_wider_than_a_limb_strobe():
    plan = solve(starter("heron", poses_per_step=3, passing_pose=2))
    (one,) = of_code(plan, "reference-strobes")
    assert one.number > 18  # the heron's thigh is 18 mm thick
    assert one.cures[0].key == "walk.poses_per_step"


def test_a_puppet_that_leaves_a_picture_is_noted_with_its_poses():
    plan = solve(starter("heron"))
    views = views_of(plan)
    assert not framing_findings(plan, views)
    side = next(view for view in views if view.name == "side-on")
    half = replace(side, width=side.width // 2)
    (one,) = framing_findings(plan, [half])
    assert one.code == "out-of-view"
    assert one.unit == "px"
    assert one.last == plan.poses
    assert "view side-on" in one.text


def test_a_puppet_behind_the_camera_is_out_of_view():
    plan = solve(starter("heron"))
    side = next(view for view in views_of(plan) if view.name == "side-on")
    behind = replace(side, translation_mm=side.translation_mm * [1, 1, -1])
    (one,) = framing_findings(plan, [behind])
    assert one.runs == ((1, plan.poses),)


def test_findings_of_a_long_walk_are_those_of_a_short_one_with_more_runs():
    def told(steps):
        return [
            (one.code, one.leg, one.joint, one.first, round(one.number, 3), one.cures)
            for one in findings_of(solve(starter("lamplighter", heel_off_deg=0.0, steps=steps)))
        ]

    assert told(6) == told(40)


def test_no_cure_is_offered_that_makes_another_joint_worse():
    shot = starter("lamplighter", heel_off_deg=0.0)
    plan = solve(shot)
    worst = np.array([plan.gap_mm.max(), (plan.ankle_deg - 25.0).max()])
    for one in findings_of(plan):
        for cure in one.cures:
            if cure.key in ("walk.heel_off_deg", "walk.step_mm"):
                after = solve(replace(shot, walk=replace(shot.walk, **{cure.key[5:]: cure.value})))
                assert (np.array([after.gap_mm.max(), (after.ankle_deg - 25.0).max()]) <= worst + 0.11).all()


def test_findings_come_worst_first():
    found = findings_of(solve(starter("lamplighter", heel_off_deg=0.0)))
    ranks = [("impossible", "risky", "note").index(one.severity) for one in found]
    assert ranks == sorted(ranks)
    assert in_order(reversed(found)) == found


def test_findings_are_written_as_json_and_as_lines():
    found = findings_of(solve(starter("lamplighter", heel_off_deg=0.0)))
    content = findings_content("Lamplighter", found)
    assert content["counts"]["impossible"] == sum(one.severity == "impossible" for one in found)
    first = content["findings"][0]
    assert list(first) == [
        "code",
        "severity",
        "text",
        "first",
        "last",
        "runs",
        "leg",
        "joint",
        "number",
        "unit",
        "cures",
    ]
    assert first["cures"][0]["key"] == "walk.heel_off_deg"
    lines = findings_lines(found)
    assert lines[0].startswith("impossible: Left leg")
    assert lines[1].startswith("    try: heel 5 degrees higher")
    assert summary_line(found).startswith(f"{content['counts']['impossible']} impossible")
    assert summary_line(()) == "no findings"


@pytest.mark.parametrize("hips", [Hips(contact_mm=1.0), Hips(contact_mm=5000.0), Hips(5000.0, 1.0, 5000.0, 1.0)])
def test_a_cure_that_would_leave_a_value_s_range_is_not_tried(made_shot, made_plan, hips):
    found = findings_of(made_plan(made_shot(walk=Walk(steps=2, poses_per_step=6, hips=hips))))
    assert is_impossible(found)
    for cure in (cure for one in found for cure in one.cures if cure.key == "walk.hips"):
        assert all(1.0 <= value + float(cure.value) <= 5000.0 for value in (hips.contact_mm, hips.down_mm) if value)


def test_soles_that_overlap_at_the_widest_step_get_no_wider_one(made_shot, made_plan):
    walk = Walk(steps=2, poses_per_step=6, step_mm=0.0, width_mm=4999.5)
    shot = made_shot(walk=walk)
    legs = tuple(replace(leg, sole_width_mm=5000.0) for leg in shot.puppet.legs)
    found = findings_of(made_plan(replace(shot, puppet=replace(shot.puppet, legs=legs))))
    assert any(one.code.startswith("soles-") and not one.cures for one in found)


@pytest.mark.parametrize(("gap_mm", "found"), [(0.04, 0), (0.06, 1)])
def test_a_foot_is_out_of_reach_only_where_a_tenth_of_a_millimetre_shows(made_plan, gap_mm, found):
    plan = made_plan()
    gaps = np.zeros_like(plan.gap_mm)
    gaps[4, 0] = gap_mm
    assert len(of_code(replace(plan, gap_mm=gaps), "foot-out-of-reach", with_cures=False)) == found
