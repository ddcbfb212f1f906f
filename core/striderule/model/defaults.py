"""The values a walk takes where a person typed none: everything fits the puppet's own legs."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from .puppet import Leg, Puppet
from .walk import Hips, Walk

FEET_AHEAD = 0.04
"""Feet stand this share of a step ahead of the middle of their stance: the hips hang back a little at contact, so that
the front leg can land nearly straight and the rear one is not pulled straight (within the 5 % that drawn walks allow;
common practice, no source)."""

LANDING_BEND_DEG = 14.5
"""Bend of a straight-leg walker's front knee at contact, by default; more in steps longer than LONG_STEP legs, in which
the foot must reach far ahead of the hips the pose before."""
LONG_STEP = 0.53

MOST_LEG = 0.97
"""Largest default hip height over the ankle at contact, as a share of the leg's bones: in short steps nothing else
would keep the knees from locking."""

MOST_RISE = 0.06
"""Largest default rise of the hips in a step, as a share of the straight leg: the pendulum's grows with the square of
the step, and says nothing where the leg can no longer reach."""


EARLIER_UP, EARLIER_DOWN, HIGHER_DEG, MOST_HIGHER_DEG = 2.6, 4.0, 120.0, 20.0
"""Where each foot stands higher or lower than the one before the rear heel rises earlier and higher, so that the hips
need not come down as far: by so many steps' poses, and degrees, for a whole leg's rise (tuned on the lamplighter, whose
ankles then keep inside their stops on treads of 12 and 15 mm, up and down)."""

DEFAULT_STEPS = 4

FIRST_STEP, LAST_STEP = 0.6, 0.6
"""First step from standing and last step to standing, as shares of a step: 50-70 % (common practice, no source)."""

TURN_PER_STEP_DEG = 30.0
"""How far a turn on the spot goes in a step (common practice, no source)."""
TURNED_FEET = 0.25
"""In it the feet at the ends of a long trunk go sideways by at most this share of a leg in a stride."""


ARM_SWING_DEG, ARM_LATE, ELBOW_SWING_DEG = 20.0, 0.05, 10.0
"""Arms swing 15-25 degrees to either side, 0-.1 of a step late (common practice, no source); elbows give a little."""

FOUR_LEGS_DUTY = 0.75
"""Pairs of legs, by default: at every pose only one of four feet is free (McGhee & Frank, Math. Biosci. 3 (1968)
331)."""


def half_up(x: float) -> int:
    """Round to the nearest whole number, halves upward (not to even)."""
    return math.floor(x + 0.5)


def down_pose(passing: int) -> int:
    """Pose of the lowest body, counted from contact; may reach `passing` in very short steps."""
    return max(1, half_up(passing / 3))


def up_pose(poses: int, passing: int) -> int:
    """Pose of the highest body, counted from contact; may reach `poses` in very short steps."""
    return passing + max(1, half_up((poses - passing) / 3))


def _typed(value: Any, default: Any) -> Any:
    return default if value is None else value


AHEAD_BY_ROLL = 0.85
"""A foot comes level with the standing ankle this share of a step after its lift-off: the roll brought it forward."""


def _passing(walk: Walk, rise_mm: float) -> int:
    """Half way, or a pose later where the foot would have to hurry more before it than after it (not where it has to
    rise); for a heavy landing late enough that the foot has no more poses after passing than before it."""
    n = walk.poses_per_step
    if walk.duty is not None:  # a foot that stands so long passes in the middle of its swing
        return min(max(half_up((n + _lift_off(walk, n)) / 2), 1), n - 1)
    if walk.landing == "soft":
        half = half_up(n / 2)
        before, after = half - _lift_off(walk, half - 1), n - half - 1
        return half + 1 if AHEAD_BY_ROLL * after > before and not rise_mm else half
    lift_off = _lift_off(walk, n)
    return min(max(half_up(n / 2), half_up((n + lift_off) / 2)), n - 1)


def _lift_off(walk: Walk, most: int) -> int:
    """Poses from contact to lift-off: what was typed, by the duty factor (a stance is never rounded shorter), or a
    fifth of a step."""
    n = walk.poses_per_step
    if walk.lift_off_poses is not None:
        return walk.lift_off_poses
    if walk.duty is not None:
        return min(_duty_lift_off(walk.duty, n), most)
    return min(half_up(0.2 * n), most)


def _duty_lift_off(duty: float, poses: int) -> int:
    """Poses from contact to lift-off that make a stance of at least this share of a stride of two steps."""
    return max(math.ceil((2.0 * duty - 1.0) * poses - 1e-9), 0)


def feet_ahead(lift_off: int | npt.NDArray[np.int64], poses: int | npt.NDArray[np.int64], pairs: bool) -> Any:
    """How far ahead of the middle of their pair feet land, less half a step, as a share of a step: pairs of several
    stand as far ahead of their hips at landing as behind them at lift-off, so that their centre stays over them."""
    return 0.5 * lift_off / poses if pairs else FEET_AHEAD


def turn_per_step_deg(walk: Walk, puppet: Puppet) -> float:
    """How far a turn on the spot goes in a step: what was typed, or as far as the legs at the ends of the trunk can."""
    if walk.turn_per_step_deg is not None:
        return walk.turn_per_step_deg
    along = [leg.hip_mm[0] for leg in puppet.legs]
    half = 0.5 * (max(along) - min(along))
    if half <= 0:
        return TURN_PER_STEP_DEG
    swept = 0.5 * TURNED_FEET * min(leg.straight_mm for leg in puppet.legs)
    return max(1.0, min(TURN_PER_STEP_DEG, math.degrees(swept / half)))


def _landing_height(leg: Leg, step_mm: float, ahead: float, strike_deg: float, turn_deg: float) -> float:
    """Hip line over the floor from which the front leg reaches its landing foot with the knee bent by LANDING_BEND_DEG,
    by the theorem of Pythagoras; never below a third of the leg. ahead: `feet_ahead`."""
    long = max(0.0, step_mm / leg.bones_mm - LONG_STEP)
    reach = leg.length_mm(max(LANDING_BEND_DEG + 90.0 * long, leg.knee_range_deg[0] + 3.0))
    strike = math.radians(strike_deg)
    ankle_up = leg.heel_behind_mm * math.sin(strike) + leg.ankle_up_mm * math.cos(strike)
    ankle_back = leg.heel_behind_mm * (1.0 - math.cos(strike)) + leg.ankle_up_mm * math.sin(strike)
    ahead = (0.5 + ahead) * step_mm - ankle_back - abs(leg.hip_mm[1]) * math.sin(math.radians(turn_deg))
    return ankle_up + math.sqrt(max(reach * reach - ahead * ahead, (reach / 3.0) ** 2))


def _hips(walk: Walk, puppet: Puppet, step_mm: float, ahead: float, strike_deg: float, turn_deg: float) -> Hips:
    """The hip line at the four keys, from its height at contact.

    Straight-leg walkers land with a nearly straight front leg (about 97.5 % of the straight leg at a usual step) and
    rise by .7 of the inverted pendulum's step^2 / (8 leg); bent-leg walkers keep 87 % and rise 3.5 %. Where some are
    typed, the others keep their distance from those. A heavy landing falls half as far again from contact to down.
    """
    leg = puppet.legs[0]
    length = leg.bones_mm
    if leg.walks_straight:
        highest = leg.ankle_up_mm + MOST_LEG * length
        contact = min(highest, _landing_height(leg, step_mm, ahead, strike_deg, turn_deg))
        rise = min(0.7 * step_mm**2 / (8 * length), MOST_RISE * leg.straight_mm)
        shares = {"contact_mm": 0.0, "down_mm": -0.45, "passing_mm": 0.38, "up_mm": 0.55}
    else:
        rise = 0.035 * 0.873 * leg.straight_mm
        contact = 0.873 * leg.straight_mm - 0.25 * rise
        shares = {"contact_mm": 0.0, "down_mm": -0.25, "passing_mm": 0.58, "up_mm": 0.75}
    typed = {key: getattr(walk.hips, key) for key in shares if getattr(walk.hips, key) is not None}
    if typed:
        contact = sum(value - shares[key] * rise for key, value in typed.items()) / len(typed)
    values = {key: typed.get(key, contact + share * rise) for key, share in shares.items()}
    if walk.landing == "heavy" and "down_mm" not in typed:
        values["down_mm"] -= 0.5 * max(0.0, values["contact_mm"] - values["down_mm"])
    return Hips(**{key: min(max(value, 1.0), 5000.0) for key, value in values.items()})


def _higher(leg: Leg, rise: float, heel_off_deg: float) -> float:
    """How much higher than that the rear heel rises where the floor rises or falls by this share of a leg; no higher
    than the toe joint lets it."""
    most = max(leg.limits.toe_deg[1] - heel_off_deg, 0.0) if leg.toe_mm > 0 else MOST_HIGHER_DEG
    return min(HIGHER_DEG * abs(rise), MOST_HIGHER_DEG, most)


@lru_cache(maxsize=256)
def with_defaults(walk: Walk, puppet: Puppet, rise_mm: float = 0.0) -> Walk:
    """The same walk with every open value filled in. rise_mm: how much higher each foot stands than the
    one behind it.
    Raises ModelError where typed values contradict each other."""
    leg = puppet.legs[0]
    straight_leg = leg.walks_straight
    n = walk.poses_per_step
    pairs = len(puppet.legs) > 2 and len(puppet.legs) % 2 == 0
    typed_duty = walk.duty
    if pairs and typed_duty is None and walk.lift_off_poses is None:
        walk = replace(walk, duty=max(0.5, min(FOUR_LEGS_DUTY, 1.0 - 1.0 / n)))
    passing = _typed(walk.passing_pose, _passing(walk, rise_mm))
    lift_off = _lift_off(walk, passing - 1)
    if typed_duty is not None and walk.lift_off_poses is None and lift_off < _duty_lift_off(typed_duty, n):
        most = math.floor(500.0 * (n + lift_off) / n) / 1000.0
        raise ModelError(
            "walk.duty",
            f"at most {most:g} in steps of {n} poses (a foot must be in the air at pose {passing} of it)",
            f"{typed_duty:g}",
            "Take more poses a step, or a shorter duty: a stance is never made shorter than asked.",
        )
    if lift_off >= passing:
        raise ModelError(
            "walk.lift_off_poses",
            f"lift-off before the passing pose (at most {passing - 1})",
            str(lift_off),
            "Lift the foot earlier, or give a later passing_pose.",
        )
    strike = _typed(walk.heel_strike_deg, 11.0 if straight_leg else 0.0)
    flat = _typed(walk.flat_after_poses, max(1, half_up(0.15 * n)) if strike > 0 else 0)
    standing = n + lift_off  # poses from landing to the same foot's lift-off
    turn = _typed(walk.pelvis_turn_deg, 4.5)
    rise = rise_mm / leg.straight_mm
    plain = 33.0 if straight_leg else 25.0
    heel_off = _typed(walk.heel_off_deg, plain + _higher(leg, rise, plain))
    earlier = half_up((EARLIER_UP if rise > 0 else -EARLIER_DOWN) * rise * n)
    roll = _typed(walk.toe_roll_poses, min(max(1, half_up(n / 6)) + lift_off + earlier, max(0, standing - flat)))
    if flat + roll > standing:
        key, value = ("toe_roll_poses", roll) if walk.toe_roll_poses is not None else ("flat_after_poses", flat)
        most = standing - (flat if key == "toe_roll_poses" else roll)
        raise ModelError(
            f"walk.{key}",
            f"at most {most} (a foot stands {standing} poses and must lie flat before it rolls off)",
            str(value),
        )
    straight = leg.straight_mm
    step = _typed(walk.step_mm, round((0.5 if straight_leg else 0.35) * straight, 1))
    across = [one.hip_mm[1] for one in puppet.legs]
    sole = max(one.sole_width_mm for one in puppet.legs)
    width = _typed(walk.width_mm, round(max(0.75 * (max(across) - min(across)), sole + 4.0), 1))
    return replace(
        walk,
        steps=_typed(walk.steps, DEFAULT_STEPS),
        step_mm=step,
        first_foot=_typed(walk.first_foot, leg.name),
        width_mm=width,
        passing_pose=passing,
        lift_off_poses=lift_off,
        toe_roll_poses=roll if heel_off > 0 else 0,
        heel_off_deg=heel_off,
        heel_strike_deg=strike if flat > 0 else 0.0,  # a foot that is flat at once lands flat
        flat_after_poses=flat if strike > 0 else 0,
        lift_mm=_typed(walk.lift_mm, round((0.115 if straight_leg else 0.105) * straight, 1)),
        lift_top=_typed(walk.lift_top, 0.22),
        clearance_mm=_typed(walk.clearance_mm, max(3.0, round(0.015 * straight, 1))),
        sway=_typed(walk.sway, 0.35),
        pelvis_turn_deg=turn,
        pelvis_drop_deg=_typed(walk.pelvis_drop_deg, 3.5),
        chest_counter_turn=_typed(walk.chest_counter_turn, 0.7),
        arm_swing_deg=_typed(walk.arm_swing_deg, ARM_SWING_DEG if puppet.arms else 0.0),
        arm_late=_typed(walk.arm_late, ARM_LATE if puppet.arms else 0.0),
        elbow_swing_deg=_typed(walk.elbow_swing_deg, ELBOW_SWING_DEG if puppet.arms else 0.0),
        lean_deg=_typed(walk.lean_deg, 2.0),
        toe_out_deg=_typed(walk.toe_out_deg, 0.0),
        lead_in_poses=_typed(walk.lead_in_poses, max(2, half_up(n / 2))),
        first_step=_typed(walk.first_step, FIRST_STEP),
        last_step=_typed(walk.last_step, LAST_STEP),
        anticipation_mm=_typed(walk.anticipation_mm, round(0.01 * straight, 1)),
        settle_poses=_typed(walk.settle_poses, 3),
        overshoot=_typed(walk.overshoot, 0.05),
        turn_per_step_deg=turn_per_step_deg(walk, puppet),
        hips=_hips(walk, puppet, step, feet_ahead(lift_off, n, pairs), strike if flat > 0 else 0.0, turn),
    )
