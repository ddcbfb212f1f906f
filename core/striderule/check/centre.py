"""The puppet's centre over the feet that are down: where it is, and how far inside or outside them, seen from above.

A walk whose centre stays inside never leans on its ties or its rig; whether those hold is for check/weight to say.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import dist, pi, prod

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet, Shape
from ..solve.plan import Plan
from .finding import Finding
from .runs import finding_of
from .weight.support import margin_mm, soles_of

Floats = npt.NDArray[np.float64]

NEAR_END = {"thigh": 0.433, "shank": 0.433, "cannon": 0.5, "foot": 0.5}
"""Centre of mass of a leg's part as a share of the way from its upper joint to its lower one, of the foot from ankle to
ball (Winter, Biomechanics and Motor Control of Human Movement, 2009, table 4.1, from memory; cannon: half way)."""

ARM_SHARES = (0.436, 0.430)
"""The same for upper arm and forearm (same table)."""

_TRUNK = ("body", "chest", "head")


@dataclass(frozen=True, eq=False)
class Support:
    """Per pose: the puppet's centre (P, 3) on the stage, and how far it is inside the hull of the soles that are down,
    mm (P,): outside negative, minus infinity with no foot down. weighed: the centre is that of the parts' masses; else
    not all of them are known, and the middle of the hip pivots stands for it."""

    centre_mm: Floats
    margin_mm: Floats
    weighed: bool


def support_of(plan: Plan) -> Support:
    """The centre of every pose and its margin."""
    weighed = _centre_of_mass(plan)
    centre = plan.hip_mm.mean(axis=1) if weighed is None else weighed
    return Support(centre, margin_mm(soles_of(plan), centre[:, :2]), weighed is not None)


def centre_findings(plan: Plan) -> tuple[Finding, ...]:
    """centre-outside, for more than two legs: two feet are never far enough apart to stand over without a tie."""
    if len(plan.legs) < 3:
        return ()
    support = support_of(plan)
    outside = np.where(np.isfinite(support.margin_mm), -support.margin_mm, 0.0)
    what = "centre of mass" if support.weighed else "centre (the middle of its hips: not all parts were weighed)"
    text = (
        f"The puppet's {what} is outside the feet that are down in {{poses}}, by {{number}} mm in pose {{worst}}: ties "
        "or a rig must hold it. With a longer duty more feet are down."
    )
    return finding_of("centre-outside", outside > 1e-6, outside, "mm", text)


def _centre_of_mass(plan: Plan) -> Floats | None:
    """(P, 3); None where a mass is not known, or all are 0."""
    puppet = plan.shot.puppet
    ends = {
        "thigh": (plan.hip_mm, plan.knee_mm),
        "shank": (plan.knee_mm, plan.hock_mm),
        "cannon": (plan.hock_mm, plan.ankle_mm),
        "foot": (plan.ankle_mm, plan.ball_mm),
    }
    grams: list[float | None] = []
    places: list[Floats] = []
    for part, (near, far) in ends.items():
        centres = near + NEAR_END[part] * (far - near)
        for index, leg in enumerate(puppet.legs):
            if part != "cannon" or leg.cannon_mm is not None:
                grams.append(getattr(leg, f"{part}_g"))
                places.append(centres[:, index])
    for part in _TRUNK:
        grams.append(getattr(puppet.body, f"{part}_g"))
        places.append(plan.on_part(part, _middle_of(puppet, part)))
    # arms and loose parts that were not weighed by themselves are in the trunk's masses
    for arm, at in zip(puppet.arms, plan.arms, strict=True):
        grams += [arm.upper_g or 0.0, arm.fore_g or 0.0, arm.hand_g or 0.0]
        places += [at.shoulder_mm + ARM_SHARES[0] * (at.elbow_mm - at.shoulder_mm),
                   at.elbow_mm + ARM_SHARES[1] * (at.hand_mm - at.elbow_mm), at.hand_mm]  # fmt: skip
    for one, where in zip(puppet.loose, plan.loose, strict=True):
        grams.append(one.mass_g or 0.0)
        places.append(0.5 * (where.joint_mm + where.end_mm))
    known = np.array([one for one in grams if one is not None])
    if len(known) < len(grams) or known.sum() <= 0:
        return None
    centre: Floats = (np.array(places) * (known / known.sum())[:, None, None]).sum(axis=0)
    return centre


def _middle_of(puppet: Puppet, part: str) -> Floats:
    """Where a part of the trunk has its centre, from the body's: its shapes' by volume, else midway between pivots."""
    own = [shape for shape in puppet.shapes if shape.part == part]
    if own:
        volume = np.array([_volume(shape) for shape in own])
        return volume @ np.array([_middle(shape) for shape in own]) / volume.sum()
    waist, neck = np.array(puppet.body.waist_mm), np.array(puppet.body.neck_mm)
    hips = np.array([leg.hip_mm for leg in puppet.legs]).mean(axis=0)
    return {"body": 0.5 * (hips + waist), "chest": 0.5 * (waist + neck), "head": neck}[part]


def _volume(shape: Shape) -> float:
    """Of a shape, mm^3; where shapes are in each other both count."""
    if shape.form == "box":
        return prod(shape.size_mm or ())
    r = shape.radius_mm or 0.0
    return 4.0 / 3.0 * pi * r**3 + pi * r * r * dist(shape.from_mm or (), shape.to_mm or ())


def _middle(shape: Shape) -> Floats:
    if shape.centre_mm is not None:
        return np.array(shape.centre_mm)
    return 0.5 * (np.array(shape.from_mm) + np.array(shape.to_mm))
