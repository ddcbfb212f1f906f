"""What a puppet's weight makes of a plan: joints that carry more than they hold, puppets that fall, ties that
let go."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from ...model.puppet import Puppet
from ...model.weight import GRAVITY
from ...solve.plan import Plan
from ..codes import CODES
from ..finding import Cure, Finding
from ..runs import finding_of
from .load import Weight, weigh
from .masses import masses_of
from .rig import rig_of
from .support import Flags, Floats
from .words import JOINT_WORDS, grams_words, lifted_words, times_words

_LOADS = ("joint-overloaded", "tips-over", "tie-pulled-out", "rig-cannot-help", "joint-strained", "untie-needs-rig")


def tells_of_load(findings: Iterable[Finding]) -> bool:
    """True where any of them tells of a load, so that the caution must stand beside them."""
    return any(one.code in _LOADS for one in findings)


def weight_findings(plan: Plan) -> tuple[Finding, ...]:
    """All of them; nothing for a puppet of which nothing was weighed and no joint was measured."""
    unknown = unmeasured(plan.shot.puppet)
    if unknown is None:
        return ()
    if unknown:
        text = f"What the joints carry is not known: {unknown}."
        return (Finding("weight-unknown", CODES["weight-unknown"].severity, text),)
    weight = weigh(plan)
    if weight is None:
        return ()
    return (
        *_overloaded(weight),
        *_tips_over(weight),
        *_pulled_out(weight),
        *_cannot_help(weight),
        *_strained(weight),
        *_before_untying(weight),
    )


def unmeasured(puppet: Puppet) -> str | None:
    """What is still to be measured before loads can be told, in words; "" = nothing; None = nothing of it was begun."""
    masses = masses_of(puppet)
    joints = [leg.held_nmm(joint) for leg in puppet.legs for joint in ("hip", "knee", "ankle")]
    measured = any(held is not None for held in joints)
    weighed = any(one.grams is not None and one.how != "carrier" for one in masses.parts)
    if not weighed and not measured:
        return None
    if masses.missing:
        keys = [one.key for one in masses.missing]
        more = f" and {len(keys) - 3} more" if len(keys) > 3 else ""
        return f"weigh {', '.join(keys[:3])}{more}, or the whole puppet (body.total_g)"
    if not measured:
        leg = puppet.legs[0].name
        return (
            f"hang a weight on each limb, held level, until its joint slips ([[leg.{leg}.pull]]: joint, hung_g, at_mm, "
            "limb_g, limb_mm), or leave the masses out"
        )
    return ""


def _unrigged(weight: Weight) -> Flags:
    """(P,) poses in which no rig is there that helps."""
    if not rig_of(weight.plan).carries:
        return np.ones(weight.plan.poses, dtype=bool)
    return ~weight.lift.helps


def _overloaded(weight: Weight) -> tuple[Finding, ...]:
    """joint-overloaded: one finding for each joint, of standing legs and of free ones."""
    found: list[Finding] = []
    open_poses = _unrigged(weight)
    for i, joint in enumerate(weight.joints):
        if joint.held_nmm is None:
            continue
        ratio: Floats = weight.ratio[:, i]
        mask = (ratio > 1.0 + 1e-9) & open_poses
        if not mask.any():
            continue
        leg, words = weight.plan.legs[joint.leg], JOINT_WORDS[joint.name]
        worst = int(np.argmax(np.where(mask, np.round(ratio, 6), -np.inf)))
        text = (
            f"The {leg} {words} holds {times_words(float(ratio[worst]))} times less than it must in {{poses}} (worst: "
            f"pose {{worst}}: it carries {abs(float(weight.torque_nmm[worst, i])):.0f} N mm and holds "
            f"{joint.held_nmm:.0f})."
        )
        found += finding_of("joint-overloaded", mask, ratio, "times", text, leg=leg, joint=joint.name)
    return tuple(found)


def _tips_over(weight: Weight) -> tuple[Finding, ...]:
    outside = -weight.margin_mm
    mask = ~weight.stands & weight.soles.down.any(axis=1) & _unrigged(weight)
    text = (
        "Nothing keeps the puppet from tipping over in {poses}: no tie-down holds it, and its weight is {number} mm "
        "outside the feet that stand in pose {worst}."
    )
    found = finding_of("tips-over", mask, outside, "mm", text)
    return tuple(replace(one, cures=rig_cures(weight, one)) for one in found)


def _pulled_out(weight: Weight) -> tuple[Finding, ...]:
    found: list[Finding] = []
    for index, leg in enumerate(weight.plan.shot.puppet.legs):
        if leg.tie_holds_g is None:
            continue
        pull = weight.pull_n[:, index] * 1000.0 / GRAVITY
        mask = (pull > leg.tie_holds_g * (1 + 1e-9)) & weight.ties.tied[:, index] & _unrigged(weight)
        text = (
            f"The {leg.name} foot's {leg.tie} lets go in {{poses}}: it holds {grams_words(leg.tie_holds_g)} and "
            "{number} g pull on it in pose {worst}."
        )
        found += finding_of("tie-pulled-out", mask, pull, "g", text, leg=leg.name)
    return tuple(found)


def _cannot_help(weight: Weight) -> tuple[Finding, ...]:
    lift = weight.lift
    text = (
        f"In {{poses}} no lift at the {lift.name} brings every joint under what it may carry (a margin of "
        f"{lift.margin:g}): let the rig hold another point, or support what the worst joint carries by hand."
    )
    return finding_of("rig-cannot-help", ~lift.helps, weight.worst, "times", text)


def _strained(weight: Weight) -> tuple[Finding, ...]:
    margin = rig_of(weight.plan).margin
    mask = (weight.worst > 1.0 / margin + 1e-9) & (weight.worst <= 1.0 + 1e-9) & weight.stands & _unrigged(weight)
    if not mask.any():
        return ()
    worst = int(np.argmax(np.where(mask, np.round(weight.worst, 6), -np.inf)))
    i = int(np.nanargmax(weight.ratio[worst]))
    joint = weight.joints[i]
    leg = weight.plan.legs[joint.leg]
    text = (
        f"In {{poses}} a joint holds less than {margin:g} times what it carries; least the {leg} "
        f"{JOINT_WORDS[joint.name]} in pose {{worst}}: {math.floor(10.0 / float(weight.worst[worst])) / 10:.1f} times."
    )
    return finding_of("joint-strained", mask, weight.worst, "times", text, leg=leg, joint=joint.name)


def _before_untying(weight: Weight) -> tuple[Finding, ...]:
    """untie-needs-rig: where the feet that stay would not hold by themselves, with the next foot let go."""
    lift = weight.lift
    if rig_of(weight.plan).carries:
        return ()
    mask = (lift.untie_g > 0) & lift.untie_helps & (lift.untie_ratio > 1.0 + 1e-9)
    text = (
        f"Before the next foot is let go in {{poses}} a rig must carry: {{grams}} at the {lift.name} in pose {{worst}}"
    )
    if not mask.any():
        return ()
    grams = lifted_words(float(lift.untie_g[mask].max()))
    return finding_of("untie-needs-rig", mask, lift.untie_g, "g", text.replace("{grams}", grams) + ".")


def rig_cures(weight: Weight, finding: Finding) -> tuple[Cure, ...]:
    """ "rig 180 g at the hip bolt": what it must lift in the finding's poses; none where no lift there helps."""
    lift = weight.lift
    poses = np.zeros(weight.plan.poses, dtype=bool)
    for first, last in finding.runs:
        poses[first - 1 : last] = True
    can = poses & lift.helps & (lift.least_g > 0)
    if not can.any():
        return ()
    text = f"rig {lifted_words(float(lift.least_g[can].max()))} at the {lift.name}"
    if not bool((can | ~poses).all()):
        text += " (helps, but not enough)"
    return (Cure("rig.carries", "true", text),)


def overload(plan: Plan, leg: str, joint: str) -> float:
    """How much more than it holds a joint carries at worst, as a ratio less 1; 0 where it holds."""
    weight = weigh(plan)
    if weight is None:
        return 0.0
    index = plan.legs.index(leg)
    own = [i for i, one in enumerate(weight.joints) if (one.leg, one.name) == (index, joint)]
    worst = max((float(weight.ratio[:, i].max()) for i in own), default=0.0)
    return max(worst - 1.0, 0.0) if worst > 1.0 + 1e-9 else 0.0
