"""Ready temperaments: ways of walking that write ordinary values of [walk] where a person typed none.

Most are shares of the puppet's own even walk (`model.defaults`), so that a heron and a person keep what is theirs.
All numbers are common practice of drawn and puppet walks, no source. There is no limp: it needs a short step after a
long one, and a walk holds one value for all of its steps.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Set
from dataclasses import dataclass, replace

from ..errors import ModelError
from ..model.defaults import half_up, with_defaults
from ..model.fields import specs_of
from ..model.shot import Shot
from ..model.step_change import WHOLE_WALK
from ..model.walk import Hips, Walk
from .values import Change, Value, changes, spec_of, typed_values, value_of, with_values

LEAST_POSES, MOST_POSES = 2, 240
MOST_OF_WALK = 100_000
"""Poses that a step and a whole walk may have (`Walk`)."""

NEVER = WHOLE_WALK | {"pause_poses"}
"""What no temperament has a say in."""


@dataclass(frozen=True)
class Temperament:
    """A way of walking.

    step_s: seconds a step. passing, lift_off, heel_up: shares of a step; heel_up counts back from the other foot's
    contact. step, width, heel_off, heel_strike, lift, clearance: multiples of the even walk's. crouch: hips lowered
    by this share of the straight leg, half of it where knees bend backward; bounce: multiple of their even rise and
    fall.
    """

    name: str
    purpose: str
    step_s: float = 0.5
    passing: float = 0.5
    lift_off: float = 0.2
    heel_up: float = 1 / 6
    step: float = 1.0
    width: float = 1.0
    heel_off: float = 1.0
    heel_strike: float = 1.0
    lift: float = 1.0
    lift_top: float = 0.22
    clearance: float = 1.0
    landing: str = "soft"
    sway: float = 0.35
    turn_deg: float = 4.5
    drop_deg: float = 3.5
    counter_turn: float = 0.7
    lean_deg: float = 2.0
    toe_out_deg: float = 0.0
    crouch: float = 0.0
    bounce: float = 1.0


TEMPERAMENTS = {
    one.name: one
    for one in (
        Temperament("even", "an even walk: two steps a second, nothing hurried, nothing heavy"),
        Temperament(
            "burdened", "carries something heavy: slow to leave the floor, quick to come down on it",
            step_s=1.0, passing=0.75, lift_off=5 / 12, heel_up=1 / 3, step=0.76, width=1.05, heel_off=1.05,
            heel_strike=0.6, lift=0.85, landing="heavy", sway=0.45, turn_deg=4.0, drop_deg=5.0, counter_turn=0.5,
            lean_deg=10.0, crouch=0.008, bounce=1.3,
        ),
        Temperament(
            "stealthy", "wants not to be heard: low, bent forward, feet lifted clear and set down flat",
            step_s=1.0, passing=0.6, lift_off=0.25, heel_up=1 / 3, step=0.75, heel_off=1.2, heel_strike=0.0, lift=1.1,
            lift_top=0.3, clearance=1.4, sway=0.5, turn_deg=4.0, drop_deg=1.5, counter_turn=1.0, lean_deg=14.0,
            crouch=0.022, bounce=0.5,
        ),
        Temperament(
            "proud", "wants to be seen: tall, leaning back, feet thrown out and knees high",
            step_s=2 / 3, step=1.02, heel_off=1.1, heel_strike=1.4, lift=1.3, lift_top=0.3, sway=0.3,
            turn_deg=6.0, drop_deg=4.5, counter_turn=1.4, lean_deg=-5.0, toe_out_deg=6.0, bounce=1.2,
        ),
        Temperament(
            "hurried", "is late: three steps a second, long ones, thrown forward",
            step_s=1 / 3, step=1.12, heel_off=1.1, lift=1.15, sway=0.25, turn_deg=6.0, counter_turn=1.0, lean_deg=9.0,
        ),
        Temperament(
            "very-old", "is very old: bent, knees never straight, short steps close over the floor",
            step_s=0.75, lift_off=1 / 3, heel_up=0.2, step=0.42, width=1.2, heel_off=0.4, heel_strike=0.3, lift=0.42,
            clearance=0.6, sway=0.5, turn_deg=2.0, drop_deg=1.5, counter_turn=0.2, lean_deg=18.0, toe_out_deg=12.0,
            crouch=0.015, bounce=0.6,
        ),
    )
}  # fmt: skip
"""Every temperament by its name, in the order to show them."""


def temperament_named(name: str) -> Temperament:
    """A temperament by name. Raises ModelError where there is none."""
    if name not in TEMPERAMENTS:
        cure = (
            "A limp needs steps that differ from each other; a walk holds one value for all." if name == "limp" else ""
        )
        raise ModelError("temperament", "one of " + ", ".join(TEMPERAMENTS), repr(name), cure)
    return TEMPERAMENTS[name]


def tempered(shot: Shot, temperament: Temperament, typed: Set[str] | None = None) -> Shot:
    """The shot with the temperament's values in its walk. See `temperament_values`; a value that is neither typed nor
    written is open afterwards."""
    values = temperament_values(shot, temperament, typed)
    return replace(shot, walk=with_values(shot.walk, values, opened_by(shot, values, typed)))


def opened_by(shot: Shot, values: Mapping[str, Value], typed: Set[str] | None) -> frozenset[str]:
    """Keys that are neither typed nor among the written `values`, but hold something: they go back to open."""
    return frozenset() if typed is None else typed_values(shot.walk) - typed - NEVER - values.keys()


def temperament_values(shot: Shot, temperament: Temperament, typed: Set[str] | None = None) -> dict[str, Value]:
    """What the temperament writes into the shot's walk, by key below [walk], in file order.

    typed: keys that stay as they are, as `model.shotfile.typed_walk_keys` reads them from a file; None: whatever is not
    at its default, which is all that a shot can tell by itself. What is written fits what stays: poses go with typed
    poses, hip heights keep their distance from typed ones. Whether the puppet can take the walk is for the checks to
    say.
    """
    kept = typed_values(shot.walk) if typed is None else typed
    wanted = _wanted(shot, temperament, kept)
    return {key: value for key, value in wanted.items() if key not in kept}


def kept_values(shot: Shot, temperament: Temperament, typed: Set[str] | None = None) -> tuple[Change, ...]:
    """Where the shot keeps to what a person typed: old the shot's value, new what the temperament would have written
    had nothing been typed."""
    written = temperament_values(shot, temperament, typed)
    free = _wanted(shot, temperament, frozenset())
    return tuple(one for one in changes(shot, free) if one.key not in written and one.old != one.new)


def _wanted(shot: Shot, one: Temperament, kept: Set[str]) -> dict[str, Value]:
    """Every value of the temperament, made to go with those that are kept."""
    walk = shot.walk
    even = with_defaults(Walk(), shot.puppet)
    values: dict[str, Value] = {}
    for key, share, places in (
        ("step_mm", one.step, 1),
        ("width_mm", one.width, 1),
        ("heel_off_deg", one.heel_off, 0),
        ("heel_strike_deg", one.heel_strike, 0),
        ("lift_mm", one.lift, 1),
        ("clearance_mm", one.clearance, 1),
    ):
        spec = spec_of(key)
        values[key] = min(max(round(share * float(value_of(even, key)), places), spec.least), spec.most)
    values |= {
        "lift_top": one.lift_top,
        "landing": one.landing,
        "sway": one.sway,
        "pelvis_turn_deg": one.turn_deg,
        "pelvis_drop_deg": one.drop_deg,
        "chest_counter_turn": one.counter_turn,
        "lean_deg": one.lean_deg,
        "toe_out_deg": one.toe_out_deg,
    }
    values |= {key: value_of(walk, key) for key in kept if key in values}
    values |= _timing(shot, one, values, kept)
    values |= _hips(shot, one, values, kept)
    order = [*(key for key in specs_of(Walk)), *(f"hips.{key}" for key in specs_of(Hips))]
    return {key: values[key] for key in order if key in values}


def _timing(shot: Shot, one: Temperament, values: dict[str, Value], kept: Set[str]) -> dict[str, Value]:
    """The values that count poses. values: those that do not; a heavy landing passes late enough to land fast."""
    own: dict[str, int] = {
        key: value_of(shot.walk, key)
        for key in ("poses_per_step", "passing_pose", "lift_off_poses", "toe_roll_poses", "flat_after_poses")
        if key in kept
    }
    n = own.get("poses_per_step")
    if n is None:
        n = half_up(one.step_s * float(shot.rate) / shot.frames_per_pose)
        n = max(n, LEAST_POSES, own.get("passing_pose", 0) + 1, own.get("lift_off_poses", 0) + 2,
                own.get("toe_roll_poses", 0) + own.get("flat_after_poses", 0))  # fmt: skip
        n = min(n, MOST_POSES, (MOST_OF_WALK - 1) // (shot.settled_walk.steps or 1))
    passing = own.get("passing_pose")
    if passing is None:
        passing = max(half_up(one.passing * n), own.get("lift_off_poses", 0) + 1)
    off = own.get("lift_off_poses", min(half_up(one.lift_off * n), min(passing, n - 1) - 1))
    if values["landing"] == "heavy" and "passing_pose" not in own:
        passing = max(passing, math.ceil((n + off) / 2))
    passing = min(passing, n - 1)
    timing: dict[str, Value] = {"poses_per_step": n, "passing_pose": passing, "lift_off_poses": off}
    flat = own.get("flat_after_poses")
    if flat is None and values["heel_strike_deg"] == 0:
        flat = 0  # lands flat: nothing to write
    elif flat is None:
        flat = min(max(1, half_up(0.15 * n)), n + off - own.get("toe_roll_poses", 0))
        timing["flat_after_poses"] = flat
    timing["toe_roll_poses"] = own.get("toe_roll_poses", min(half_up(one.heel_up * n) + off, n + off - flat))
    return timing


def _hips(shot: Shot, one: Temperament, values: dict[str, Value], kept: Set[str]) -> dict[str, Value]:
    """The hip line at the four keys, where it is another than these values have by themselves. It keeps its distance
    from heights that are kept."""
    if not one.crouch and one.bounce == 1.0:
        return {}
    loose = typed_values(shot.walk) - kept - values.keys()
    walk = replace(with_values(shot.walk, values, loose), hips=Hips())
    by_itself = with_defaults(walk, shot.puppet).hips
    contact = float(value_of(by_itself, "contact_mm"))
    leg = shot.puppet.legs[0]
    # a leg that walks bent is folded further in its swing: it has half the room below
    crouch = one.crouch * leg.straight_mm * (1.0 if leg.knee == "forward" else 0.5)
    lowered = contact - crouch
    heights = {key: lowered + one.bounce * (float(value_of(by_itself, key)) - contact) for key in specs_of(Hips)}
    own = {key: float(value_of(shot.walk.hips, key)) for key in heights if f"hips.{key}" in kept}
    moved = sum(height - heights[key] for key, height in own.items()) / len(own) if own else 0.0
    return {
        f"hips.{key}": own.get(key, min(max(round(height + moved, 1), 1.0), 5000.0)) for key, height in heights.items()
    }
