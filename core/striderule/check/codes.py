"""Every finding there is: code -> severity and meaning. Codes are never reused; a test pins this list."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Code:
    """severity: one of finding.SEVERITIES; meaning: one line for a person."""

    severity: str
    meaning: str


CODES: dict[str, Code] = {
    "foot-out-of-reach": Code("impossible", "the leg is too short for where its foot must be"),
    "band-empty": Code("impossible", "no hip height suits all standing legs of a pose"),
    "hips-too-high": Code("impossible", "the hips are above the height that a standing leg's stop allows"),
    "hips-too-low": Code("impossible", "the hips are below the height that a leg's stop allows"),
    "joint-past-stop": Code("impossible", "a joint would have to go past its stop by more than 1 degree"),
    "foot-under-floor": Code("impossible", "heel, ball or toe of a foot is under the floor"),
    "soles-overlap": Code("impossible", "two soles are in the same place"),
    "no-foot-down": Code("impossible", "no foot touches the floor"),
    "off-stage": Code("impossible", "a sole reaches over the stage's edge"),
    "on-obstacle": Code("impossible", "a foot stands on an obstacle"),
    "joint-at-stop": Code("risky", "a joint is past its stop by no more than a hand can feel (1 degree)"),
    "band-narrow": Code("risky", "the hip heights that suit a pose span less than 1 mm"),
    "soles-close": Code("risky", "two soles come nearer than 1.5 mm"),
    "tie-off-hole": Code("risky", "a foot is tied down where the grid has no hole (0.5 mm or more beside one)"),
    "knee-pop": Code("risky", "a standing knee is nearly straight: 1 mm of hip turns it by 10 degrees"),
    "joint-overloaded": Code("risky", "a joint carries more than it holds, so that the puppet sags"),
    "tips-over": Code("risky", "the weight is outside the feet that stand, and nothing ties them down"),
    "tie-pulled-out": Code("risky", "more pulls on a tie-down than it holds"),
    "rig-cannot-help": Code("risky", "no lift at the rig's point brings every joint under what it may carry"),
    "knee-jump": Code("note", "the knee over a flat foot changes by more than 12 degrees from one pose to the next"),
    "landing-slow": Code(
        "note", "a heavy landing has more poses after passing than before it, so that it lands slowly"
    ),
    "waist-past-stop": Code("note", "the chest cannot stay as the walk asks: the waist is at its stop"),
    "neck-past-stop": Code("note", "the head cannot stay as the walk asks: the neck is at its stop"),
    "arm-past-stop": Code("note", "an arm cannot go as far as the walk asks: it goes to its stop"),
    "arc-breaks": Code("note", "a point is off the arc through the poses around it"),
    "moves-below-hand": Code("note", "in a pose nothing at all moves as far as hands can set (0.5 mm)"),
    "move-below-hand": Code("note", "a move of the reference point is smaller than hands can set (0.5 mm)"),
    "reference-strobes": Code("note", "the reference point moves by more than a limb's width from pose to pose"),
    "nothing-tied": Code("note", "in a pose no foot lies flat or is held by its toe, so that nothing can be tied down"),
    "centre-outside": Code("note", "the centre of a puppet of more than two legs is outside the feet that are down"),
    "joint-strained": Code("note", "a joint holds what it carries, but not with the rig's margin"),
    "untie-needs-rig": Code("note", "a rig must carry before the next foot is let go"),
    "weight-unknown": Code("note", "some masses or holding torques of the puppet were measured, but not enough"),
    "out-of-view": Code("note", "a part of the puppet leaves the picture of a chosen view"),
}
"""Worst first: findings come in this order."""
