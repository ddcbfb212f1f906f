"""Ready temperaments: ways of walking that write ordinary values of [walk] where a person typed none; a limp also
writes those of the sound leg's steps, [step.LEG].

Most are shares of the puppet's own even walk (`model.defaults`), so that a heron and a person keep what is theirs.
All numbers are common practice of drawn and puppet walks, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError


@dataclass(frozen=True)
class Sound:
    """What a limp's steps differ in while the sound leg swings, for the lame one will not carry for long: fewer poses
    and a shorter step, as shares of the others; the body sinks over the lame leg by a share of the straight leg."""

    poses: float
    step: float
    sink: float
    sway: float
    drop_deg: float
    lean_deg: float


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
    sound: Sound | None = None


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
        Temperament(
            "limp", "spares one leg: a long slow step with it, a short quick one while it carries",
            step_s=7 / 12, passing=0.57, lift_off=0.3, step=0.9, heel_off=0.9, heel_strike=0.5, lift=0.8, sway=0.3,
            turn_deg=5.5, drop_deg=2.5, counter_turn=0.6, lean_deg=4.0, crouch=0.004,
            sound=Sound(poses=0.6, step=0.6, sink=0.006, sway=0.5, drop_deg=6.0, lean_deg=7.0),
        ),
    )
}  # fmt: skip
"""Every temperament by its name, in the order to show them."""


def temperament_named(name: str) -> Temperament:
    """A temperament by name. Raises ModelError where there is none."""
    if name not in TEMPERAMENTS:
        raise ModelError("temperament", "one of " + ", ".join(TEMPERAMENTS), repr(name))
    return TEMPERAMENTS[name]
