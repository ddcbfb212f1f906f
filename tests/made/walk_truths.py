"""What holds for every plan of every shot. Each truth is a function of a `Case` that gives what is wrong, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from striderule.adjust.fit import fit, trouble_of
from striderule.check import findings_of
from striderule.check.finding import Finding
from striderule.check.limits import HAND_DEG, LEAST_GAP_MM, ROUNDING_DEG, excesses
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, parse_shot, shot_identity
from striderule.solve import FootState, Plan, solve

SLIP_MM = 1e-9
LENGTH_MM = 1e-9
UNDER_MM = 0.05
"""As the checks: so far under the floor a foot may be."""

Floats = np.ndarray
Wrong = Iterator[str]

LIMIT_CODES = frozenset({
    "joint-past-stop", "joint-at-stop", "hips-too-high", "hips-too-low", "band-empty", "foot-out-of-reach",
})  # fmt: skip


@dataclass(frozen=True)
class Case:
    """A shot and what is made of it, once."""

    shot: Shot

    @cached_property
    def plan(self) -> Plan:
        return solve(self.shot)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        return findings_of(self.plan, with_cures=False)

    def told(self, codes: frozenset[str] | set[str], severity: str = "", leg: str = "") -> np.ndarray:
        """(P,) True in poses that a finding of these codes covers; leg: one that is of no other leg."""
        covered = np.zeros(self.plan.poses, dtype=bool)
        for one in self.findings:
            if one.code in codes and (not severity or one.severity == severity) and leg in ("", one.leg):
                for first, last in one.runs:
                    covered[first - 1 : last] = True
        return covered


def places_are_numbers(case: Case) -> Wrong:
    """No array of a plan holds NaN, and none but the band of a pose without a standing foot is infinite."""
    for where, one in (("plan", case.plan), ("footing", case.plan.footing), ("band", case.plan.band)):
        for part in fields(one):
            values = getattr(one, part.name)
            if not isinstance(values, np.ndarray):
                continue
            if np.isnan(values).any():
                yield f"{where}.{part.name} is not a number"
            elif part.name == "highest_mm":
                standing = (case.plan.state != FootState.AIR).any(axis=1)
                if not np.isfinite(values[standing]).all():
                    yield "band.highest_mm is infinite where a foot stands"
            elif not np.isfinite(values).all():
                yield f"{where}.{part.name} is infinite"


def planted_feet_do_not_slip(case: Case) -> Wrong:
    """A foot that lies flat does not move nor turn on its floor; on its heel the heel's edge stays, on its toe ball and
    toe do."""
    plan = case.plan
    state, shift = plan.state, plan.floor_shift_mm[:, None]
    turned = np.stack((plan.foot_heading_deg, plan.foot_roll_deg), axis=-1)
    for one in plan.stances:
        poses = np.arange(max(one.first, 0), min(one.last, plan.poses - 1) + 1)
        here = state[poses, one.leg]
        if (here == FootState.AIR).any():
            yield f"{plan.legs[one.leg]} is in the air in its stance of step {one.step}"
            continue
        flat, heel, toe = here == FootState.PLANTED, here == FootState.HEEL, here == FootState.TOE
        for name, array, which in (
            ("heel", plan.heel_mm - shift, flat | heel),
            ("ball", plan.ball_mm - shift, flat | toe),
            ("toe", plan.toe_mm - shift, flat | toe),
            ("pitch", plan.foot_pitch_deg[..., None], flat),
            ("turn", turned, flat | heel | toe),
        ):
            rows = array[poses[which], one.leg]
            if len(rows) and np.abs(rows - rows[0]).max() > SLIP_MM:
                yield f"{plan.legs[one.leg]} {name} slips by {np.abs(rows - rows[0]).max():.2g} in step {one.step}"


def every_touching_foot_is_in_a_stance(case: Case) -> Wrong:
    """A foot is in the air in all poses outside its stances, and stances of one leg do not overlap."""
    plan = case.plan
    count = np.zeros((plan.poses, len(plan.legs)), dtype=int)
    for one in plan.stances:
        count[max(one.first, 0) : one.last + 1, one.leg] += 1
    if count.max() > 1:
        yield "two stances of a leg overlap"
    if ((count == 0) != (plan.state == FootState.AIR)).any():
        yield "a foot touches outside its stances"


def segments_keep_their_lengths(case: Case) -> Wrong:
    """Bones, foot and toe are as long as measured, and the leg ends at its foot's ankle but for the gap."""
    plan = case.plan
    for i, leg in enumerate(plan.shot.puppet.legs):
        ankle = plan.ankle_mm[:, i]
        sole = plan.heel_mm[:, i] + plan.foot_axes[:, i] @ np.array((leg.heel_behind_mm, 0.0, leg.ankle_up_mm))
        for name, one, other, length in (
            ("thigh", plan.hip_mm[:, i], plan.knee_mm[:, i], leg.thigh_mm),
            ("shank", plan.knee_mm[:, i], plan.hock_mm[:, i], leg.shank_mm),
            ("cannon", plan.hock_mm[:, i], ankle, leg.cannon_mm or 0.0),
            ("sole", plan.heel_mm[:, i], plan.ball_mm[:, i], leg.heel_behind_mm + leg.ball_ahead_mm),
            ("toe", plan.ball_mm[:, i], plan.toe_mm[:, i], leg.toe_mm),
            ("gap", sole, ankle, plan.gap_mm[:, i]),
        ):
            off = np.abs(np.linalg.norm(one - other, axis=1) - length).max()
            if off > LENGTH_MM * max(1.0, leg.straight_mm / 100):
                yield f"{leg.name} {name} is {off:.2g} mm off its length"


def angles_lead_to_the_places(case: Case) -> Wrong:
    """Forward kinematics of the printed angles gives the printed places: hip, knee, ankle, the sole's upright, toe."""
    plan = case.plan
    for i, leg in enumerate(plan.shot.puppet.legs):
        hip = plan.on_part(leg.part, np.array(leg.hip_mm))
        knee = hip + plan.thigh_axes[:, i] @ np.array((0.0, 0.0, -leg.thigh_mm))
        hock = knee + plan.shank_axes[:, i] @ np.array((0.0, 0.0, -leg.shank_mm))
        ankle = hock + plan.cannon_axes[:, i] @ np.array((0.0, 0.0, -(leg.cannon_mm or 0.0)))
        toe = plan.ball_mm[:, i] + plan.toe_axes[:, i] @ np.array((leg.toe_mm, 0.0, 0.0))
        for name, one, other in (
            ("hip", hip, plan.hip_mm[:, i]),
            ("knee", knee, plan.knee_mm[:, i]),
            ("hock", hock, plan.hock_mm[:, i]),
            ("ankle", ankle, plan.ankle_mm[:, i]),
            ("toe", toe, plan.toe_mm[:, i]),
        ):
            off = np.abs(one - other).max()
            if off > 1e-7 * max(1.0, leg.straight_mm / 100):
                yield f"{leg.name} {name}'s angle leads {off:.2g} mm off its place"
        bend = plan.knee_deg[:, i]
        if bend.min() < 0 or bend.max() > 180:
            yield f"{leg.name} knee bends by {bend.min():g} to {bend.max():g} degrees"


def joints_keep_their_limits_or_a_finding_says_so(case: Case) -> Wrong:
    """Where a joint is past its stop, a finding covers the pose; where by more than a hand feels, an impossible one."""
    some = case.told(LIMIT_CODES)
    bad = case.told(LIMIT_CODES, "impossible")
    for one in excesses(case.plan):
        for most, told in ((HAND_DEG, bad), (ROUNDING_DEG, some)):
            untold = (one.amount_deg > most) & ~told
            if untold.any():
                pose = int(np.argmax(untold))
                yield (
                    f"{case.plan.legs[one.leg]} {one.joint} is {one.amount_deg[pose]:.2g} degrees past its stop in pose"
                    f" {pose + 1}, and nothing says so"
                )
                break
    gap = (case.plan.gap_mm > LEAST_GAP_MM).any(axis=1) & ~case.told({"foot-out-of-reach"})
    if gap.any():
        yield "a foot is out of reach and nothing says so"


def floor_height(shot: Shot, along: Floats, left: Floats) -> Floats:
    """Height of a floor at places on the stage of a straight track, by the words of the model: slope, and everything on
    it, added up."""
    floor, x = shot.floor, along - shot.stage.start_mm[0]
    y = left - shot.stage.start_mm[1]
    height = np.tan(np.radians(floor.slope_deg)) * x + np.tan(np.radians(floor.side_slope_deg)) * y
    if floor.stairs is not None:
        s = floor.stairs
        height = height + s.riser_mm * np.clip(np.floor((x - s.first_edge_mm) / s.tread_mm) + 1, 0, s.count)
    if floor.plank is not None:
        height = height + np.where((x > floor.plank.from_mm) & (x < floor.plank.to_mm), floor.plank.height_mm, 0.0)
    if floor.kerb is not None:
        height = height + np.where(x > floor.kerb.at_mm, floor.kerb.height_mm, 0.0)
    if floor.heights_mm:
        at, up = np.array(floor.heights_mm).T
        height = height + np.interp(x, at + np.arange(len(at)) * 1e-9, up)
    return height


def _still(plan: Plan) -> list[Floats]:
    """Heel, ball and toe tip over the floor as it lies at pose 1."""
    return [points - plan.floor_shift_mm[:, None] for points in (plan.heel_mm, plan.ball_mm, plan.toe_mm)]


def no_foot_is_under_the_floor_untold(case: Case) -> Wrong:
    """Heel, ball and toe are over the floor, or a finding covers the pose. On straight tracks the floor's height is
    worked out anew from the shot's words."""
    plan, shot = case.plan, case.shot
    under = [-plan.over_floor_mm.min(axis=(1, 2))]
    if not shot.path:
        for points in _still(plan):
            low = floor_height(shot, points[..., 0] - 1e-4, points[..., 1])
            high = floor_height(shot, points[..., 0] + 1e-4, points[..., 1])
            under.append((np.minimum(low, high) - points[..., 2]).max(axis=1))
    told = case.told({"foot-under-floor"})
    for one in under:
        untold = (one > UNDER_MM + 1e-6) & ~told
        if untold.any():
            pose = int(np.argmax(np.where(untold, one, 0)))
            yield f"a foot is {one[pose]:.2g} mm under the floor in pose {pose + 1}, and nothing says so"
            return


def flat_feet_lie_on_the_floor(case: Case) -> Wrong:
    """On straight tracks without edges heel, ball and toe of a flat foot are on the floor."""
    plan, shot = case.plan, case.shot
    if shot.path or not (shot.floor.flat or _even(shot)):
        return
    flat = plan.state == FootState.PLANTED
    for points in _still(plan):
        over = np.abs(points[..., 2] - floor_height(shot, points[..., 0], points[..., 1]))[flat]
        if len(over) and over.max() > 1e-7:
            yield f"a flat foot is {over.max():.2g} mm off the floor"
            return


def _even(shot: Shot) -> bool:
    floor = shot.floor
    return not (floor.stairs or floor.plank or floor.kerb or floor.heights_mm)


def frames_partition_the_film(case: Case) -> Wrong:
    """The first pose begins with frame 1, each next one where the one before ended, and steps are counted upward."""
    plan = case.plan
    if plan.first_frame[0] != 1 or (plan.last_frame < plan.first_frame).any():
        yield "frames do not begin at 1, or a pose has none"
    if (plan.first_frame[1:] != plan.last_frame[:-1] + 1).any():
        yield "a frame belongs to two poses or to none"
    if len(plan.first_frame) != case.shot.poses or len(plan.keys) != case.shot.poses:
        yield "the plan has other poses than the shot"
    if (np.diff(plan.step) < 0).any() or plan.step[0] != 1 or plan.step[-1] != case.shot.settled_walk.steps:
        yield "steps are not counted upward from 1"


def the_file_says_the_same(case: Case) -> Wrong:
    """Shot -> file -> Shot is equal, means the same, and is written the same again."""
    text = dump_shot(case.shot)
    again = parse_shot(text, "x")
    if again != case.shot:
        yield "the shot read back is another one"
    if shot_identity(again) != shot_identity(case.shot):
        yield "the identity of the shot read back is another one"
    if dump_shot(again) != text:
        yield "the shot read back is written differently"


def solving_again_gives_the_same(case: Case) -> Wrong:
    """A plan is a function of its shot alone: solved twice, every number is the same."""
    again = solve(case.shot)
    for part in fields(Plan):
        one, other = getattr(case.plan, part.name), getattr(again, part.name)
        if isinstance(one, np.ndarray) and not np.array_equal(one, other):
            yield f"{part.name} is another one when solved again"


def a_fit_is_never_worse(case: Case) -> Wrong:
    """Fitted, a walk has no more impossible findings than asked, and none where it says so."""
    for step in (False, True):
        found = fit(case.shot, step=step)
        asked, got = trouble_of(case.plan), trouble_of(solve(found.shot))
        if got.exceeds(asked):
            yield f"the fit is worse: {got} after {asked}"
        if found.fits != (got.findings == 0):
            yield f"the fit says {found.fits} and has {got.findings} impossible findings"
        if found.untouched and found.shot != case.shot:
            yield "an untouched walk is another one"
        yield from planted_feet_do_not_slip(Case(found.shot))


Truth = Callable[[Case], Wrong]

PLAN_TRUTHS: tuple[Truth, ...] = (
    places_are_numbers,
    planted_feet_do_not_slip,
    every_touching_foot_is_in_a_stance,
    segments_keep_their_lengths,
    angles_lead_to_the_places,
    joints_keep_their_limits_or_a_finding_says_so,
    no_foot_is_under_the_floor_untold,
    flat_feet_lie_on_the_floor,
    frames_partition_the_film,
)
"""Of the plan: quick."""

FILE_TRUTHS: tuple[Truth, ...] = (the_file_says_the_same, solving_again_gives_the_same)
FIT_TRUTHS: tuple[Truth, ...] = (a_fit_is_never_worse,)


def wrong(shot: Shot, truths: tuple[Truth, ...]) -> list[str]:
    """What is wrong with a shot's plan, each with the truth it breaks; [] where all hold."""
    case = Case(shot)
    return [f"{truth.__name__}: {words}" for truth in truths for words in truth(case)]
