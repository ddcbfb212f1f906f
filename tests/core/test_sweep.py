"""Random puppets and walks by their seeds, and what holds for every plan of them. `tests/torture/sweep.py` looks at as
many more as there is time for."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

import walk_truths
from random_walks import random_puppet, random_shot
from striderule.adjust.fit import fit
from striderule.check import findings_of
from striderule.model.puppet import Limits
from striderule.model.shot import Shot
from striderule.model.walk import Walk
from striderule.solve import FootState, Plan, solve
from walk_truths import FILE_TRUTHS, FIT_TRUTHS, PLAN_TRUTHS, Case, Truth, a_fit_is_never_worse, the_file_says_the_same

BLOCK = 150


def all_wrong(seeds: range, truths: tuple[Truth, ...]) -> list[str]:
    with np.errstate(all="raise", under="ignore"):
        return [f"seed {seed}: {words}" for seed in seeds for words in walk_truths.wrong(random_shot(seed), truths)]


@pytest.mark.parametrize("block", range(8))
def test_random_walks_slip_nowhere_keep_lengths_and_limits_or_say_so(block: int) -> None:
    assert all_wrong(range(block * BLOCK, (block + 1) * BLOCK), PLAN_TRUTHS) == []


def test_random_shots_are_written_read_and_solved_again_the_same() -> None:
    assert all_wrong(range(10_000, 10_000 + BLOCK), FILE_TRUTHS) == []


def test_a_fit_of_a_random_walk_is_never_worse_than_what_was_asked() -> None:
    assert all_wrong(range(20_000, 20_012), FIT_TRUTHS) == []


def test_random_walks_are_of_every_kind_and_the_same_for_the_same_seed() -> None:
    shots = [random_shot(seed) for seed in range(BLOCK)]
    assert shots[:20] == [random_shot(seed) for seed in range(20)]
    for has in (
        lambda shot: shot.path, lambda shot: shot.floor.stairs, lambda shot: shot.step_changes, lambda shot: shot.holds,
        lambda shot: shot.edits.footfalls, lambda shot: shot.edits.body, lambda shot: shot.walk.start == "standing",
        lambda shot: shot.walk.on_the_spot, lambda shot: shot.walk.duty, lambda shot: len(shot.puppet.legs) == 6,
        lambda shot: len(shot.puppet.legs) == 3, lambda shot: shot.puppet.legs[0].knee == "backward",
    ):  # fmt: skip
        assert any(has(shot) for shot in shots)
    possible = sum(not any(one.severity == "impossible" for one in Case(shot).findings) for shot in shots)
    assert 0.1 < possible / len(shots) < 0.9


@pytest.mark.parametrize("seed", range(40))
def test_a_plain_default_walk_of_a_random_puppet_with_free_joints_is_possible(seed: int) -> None:
    """But for legs whose knees have no play in a default step: at most 1 % of a leg is out of reach."""
    puppet = random_puppet(random.Random(seed), 2)
    puppet = replace(puppet, legs=tuple(replace(leg, limits=Limits()) for leg in puppet.legs))
    plan = solve(Shot("plain", puppet=puppet, walk=Walk()))
    bad = [one for one in findings_of(plan, with_cures=False) if one.severity == "impossible"]
    assert {one.code for one in bad} <= {"foot-out-of-reach"}
    assert plan.gap_mm.max() < 0.01 * puppet.legs[0].straight_mm


# every truth can be broken


def moved(plan: Plan, name: str, by: float) -> Plan:
    """A plan with `by` added to the array in the middle of the walk, where a foot of the first leg lies flat."""
    values = getattr(plan, name).copy()
    pose = int(np.flatnonzero(plan.state[1:-1, 0] == FootState.PLANTED)[2]) + 1
    values[(pose, 0) if values.ndim > 1 else pose] += by
    return replace(plan, **{name: values})


@pytest.mark.parametrize(
    ("truth", "name", "by"),
    [
        (walk_truths.places_are_numbers, "knee_deg", np.nan),
        (walk_truths.places_are_numbers, "body_mm", np.inf),
        (walk_truths.planted_feet_do_not_slip, "heel_mm", 1e-8),
        (walk_truths.planted_feet_do_not_slip, "foot_heading_deg", 1e-8),
        (walk_truths.every_touching_foot_is_in_a_stance, "state", 3),
        (walk_truths.segments_keep_their_lengths, "knee_mm", 1e-7),
        (walk_truths.segments_keep_their_lengths, "gap_mm", 1e-7),
        (walk_truths.angles_lead_to_the_places, "knee_deg", 1e-4),
        (walk_truths.angles_lead_to_the_places, "toe_deg", 1e-3),
        (walk_truths.joints_keep_their_limits_or_a_finding_says_so, "knee_deg", 120.0),
        (walk_truths.no_foot_is_under_the_floor_untold, "toe_mm", -0.2),
        (walk_truths.flat_feet_lie_on_the_floor, "ball_mm", 1e-6),
        (walk_truths.frames_partition_the_film, "first_frame", 1),
        (walk_truths.solving_again_gives_the_same, "hip_line_mm", 1e-12),
    ],
)
def test_a_truth_is_broken_by_a_spoilt_plan(made_shot, truth: Truth, name: str, by: float) -> None:
    case = Case(made_shot(walk=Walk(steps=4)))
    assert list(truth(case)) == []
    findings = case.findings
    case.__dict__["plan"] = moved(case.plan, name, by)
    case.__dict__["findings"] = findings
    assert list(truth(case))


def test_the_file_and_the_fit_are_really_looked_at(made_shot, monkeypatch) -> None:
    case = Case(made_shot(walk=Walk(steps=4, step_mm=100.0)))
    assert list(the_file_says_the_same(case)) == []
    monkeypatch.setattr(walk_truths, "parse_shot", lambda text, path: made_shot())
    assert len(list(the_file_says_the_same(case))) == 3
    assert list(a_fit_is_never_worse(case)) == []
    monkeypatch.setattr(
        walk_truths, "fit", lambda shot, step: replace(fit(shot), shot=made_shot(limits=Limits((-1, 1))))
    )
    assert list(a_fit_is_never_worse(case))
