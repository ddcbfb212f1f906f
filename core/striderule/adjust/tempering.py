"""Shot -> Shot: a temperament's values where a person typed none, made to fit what was typed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Set
from dataclasses import replace

from ..errors import ModelError
from ..model.defaults import half_up, with_defaults
from ..model.fields import specs_of
from ..model.shot import Shot
from ..model.step_change import WHOLE_WALK, StepChange, per_step_specs
from ..model.walk import Hips, Walk
from .temperament import Sound, Temperament
from .values import Change, Value, changes, spec_of, typed_values, value_of, with_values

LEAST_POSES, MOST_POSES = 2, 240
MOST_OF_WALK = 100_000
"""Poses that a step and a whole walk may have (`Walk`)."""

NEVER = WHOLE_WALK | {"pause_poses"}
"""What no temperament has a say in."""


def tempered(shot: Shot, temperament: Temperament, typed: Set[str] | None = None, lame: str | None = None) -> Shot:
    """The shot with the temperament's values in its walk, and a limp's in its steps. See `temperament_values` and
    `sound_values`; a value of the walk that is neither typed nor written is open afterwards. Raises ModelError."""
    values = temperament_values(shot, temperament, typed)
    which, own = sound_values(shot, temperament, typed, lame)
    changed = list(shot.step_changes)
    if own:
        at = next((i for i, one in enumerate(changed) if one.which == which), None)
        if at is None:
            changed.append(StepChange(which, tuple(own.items())))
        else:
            changed[at] = StepChange(which, tuple(_in_file_order(dict(changed[at].values) | own).items()))
    walk = with_values(shot.walk, values, opened_by(shot, values, typed))
    return replace(shot, walk=walk, step_changes=tuple(changed))


def sound_values(
    shot: Shot, temperament: Temperament, typed: Set[str] | None = None, lame: str | None = None
) -> tuple[str, dict[str, Value]]:
    """The leg that is not lame, and what the temperament writes into its steps, [step.LEG], in file order; nothing
    where the temperament is no limp.

    lame: the leg that is spared, of the pair that leads; None: its second one. A value that is typed for the whole walk
    or for these steps stays. Raises ModelError where there is no such leg.
    """
    legs = shot.puppet.leg_names
    pair = legs if len(legs) % 2 else legs[:2]
    if lame is not None and temperament.sound is None:
        raise ModelError("--leg", "a temperament that spares a leg (limp)", temperament.name)
    if lame is not None and lame not in pair:
        raise ModelError("--leg", "a leg that leads: " + ", ".join(pair), repr(lame))
    spared = pair[1] if lame is None else lame
    which = next(one for one in pair if one != spared)
    sound = temperament.sound
    if sound is None:
        return which, {}
    kept = typed_values(shot.walk) if typed is None else typed
    own = {key for one in shot.step_changes if one.which == which for key, _ in one.values}
    wanted = _sound(shot, temperament, sound, kept)
    return which, {key: value for key, value in wanted.items() if key not in kept and key not in own}


def _sound(shot: Shot, one: Temperament, sound: Sound, kept: Set[str]) -> dict[str, Value]:
    """Values of the steps in which the lame leg carries alone, made to go with the walk's."""
    values = _wanted(shot, one, kept)
    step = round(sound.step * float(values["step_mm"]), 1)
    values |= {"step_mm": step, "sway": sound.sway, "pelvis_drop_deg": sound.drop_deg, "lean_deg": sound.lean_deg}
    poses = (
        values["poses_per_step"] if "poses_per_step" in kept else half_up(sound.poses * int(values["poses_per_step"]))
    )
    values |= _timing(shot, one, values, kept, int(poses))
    walk = replace(with_values(shot.walk, values, typed_values(shot.walk) - kept - values.keys()), hips=Hips())
    alone = with_defaults(walk, shot.puppet).hips
    leg = shot.puppet.legs[0]
    sink = (sound.sink + one.crouch) * leg.straight_mm * (1.0 if leg.knee == "forward" else 0.5)
    contact = _wanted(shot, one, kept)["hips.contact_mm"]  # the step begins where the one before it ends
    heights = {f"hips.{key}": round(float(value_of(alone, key)) - sink, 1) for key in specs_of(Hips)}
    keys = ("poses_per_step", "step_mm", "passing_pose", "lift_off_poses", "toe_roll_poses", "flat_after_poses", "sway",
            "pelvis_drop_deg", "lean_deg")  # fmt: skip
    return _in_file_order({key: values[key] for key in keys if key in values} | heights | {"hips.contact_mm": contact})


def _in_file_order(values: Mapping[str, Value]) -> dict[str, Value]:
    return {key: values[key] for key in per_step_specs() if key in values}


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


def _timing(
    shot: Shot, one: Temperament, values: dict[str, Value], kept: Set[str], poses: int | None = None
) -> dict[str, Value]:
    """The values that count poses. values: those that do not; poses: a step's, where not the temperament's; a heavy
    landing passes late enough to land fast."""
    own: dict[str, int] = {
        key: value_of(shot.walk, key)
        for key in ("poses_per_step", "passing_pose", "lift_off_poses", "toe_roll_poses", "flat_after_poses")
        if key in kept
    }
    n = own.get("poses_per_step")
    if n is None:
        n = poses or half_up(one.step_s * float(shot.rate) / shot.frames_per_pose)
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
