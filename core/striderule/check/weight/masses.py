"""What every part of a puppet weighs and where its centre of mass is: as weighed, or its share of the whole puppet."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ...model.fields import Triple
from ...model.puppet import Leg, Puppet, Shape

TRUNK = ("body", "chest", "head")
LIMB = ("thigh", "shank", "cannon", "foot")
ARM = ("upper", "fore", "hand")

PERSON_SHARE = {
    "foot": 0.0145, "shank": 0.0465, "thigh": 0.100, "head": 0.081, "chest": 0.355, "body": 0.142,
    "upper": 0.028, "fore": 0.016, "hand": 0.006, "cannon": 0.0145,
}  # fmt: skip
"""Share of a person's mass; the chest's is that of chest and belly, the body's that of the pelvis.

Source: Winter, Biomechanics and Motor Control of Human Movement, 4th ed. 2009, table 4.1, from memory; foot, shank and
thigh also in the data of tests/outside. A person has no cannon: it counts as much as a foot (no source).
"""

CENTRE_SHARE = {"thigh": 0.433, "shank": 0.433, "cannon": 0.50, "foot": 0.50, "upper": 0.436, "fore": 0.430}
"""Centre of mass of a limb's part, as a share of the way from hip to knee, knee to ankle (or hock), ankle to ball,
shoulder to elbow, elbow to wrist (same table); of a cannon half way."""


@dataclass(frozen=True)
class PartMass:
    """One part: what it weighs, and how that is known (weighed | person | volume | carrier = with what it hangs on; ""
    where it is not).

    part: thigh | shank | cannon | foot, body | chest | head, arm.NAME.upper | .fore | .hand, loose.NAME. leg: index of
    its leg, -1 for other parts. key: where its mass stands in a puppet file.
    """

    part: str
    leg: int
    grams: float | None
    how: str
    key: str


@dataclass(frozen=True)
class Masses:
    """All parts of a puppet: the legs' in the order of LIMB, the trunk's, the arms' in the order of ARM, loose ones."""

    parts: tuple[PartMass, ...]

    @property
    def missing(self) -> tuple[PartMass, ...]:
        """Parts whose mass is not known."""
        return tuple(one for one in self.parts if one.grams is None)

    @property
    def total_g(self) -> float:
        """What is known of it together."""
        return sum(one.grams for one in self.parts if one.grams is not None)

    @property
    def shared(self) -> tuple[PartMass, ...]:
        """Parts whose mass is a share of the whole puppet's and not weighed."""
        return tuple(one for one in self.parts if one.how in ("person", "volume"))


def masses_of(puppet: Puppet) -> Masses:
    """Every part's mass; where the whole puppet was weighed, what is left of it is shared among parts that were not. An
    arm or a loose part without a mass was weighed with what it hangs on."""
    body = puppet.body
    known = [
        PartMass(part, index, getattr(leg, f"{part}_g"), "weighed", f"leg.{leg.name}.{part}_g")
        for index, leg in enumerate(puppet.legs)
        for part in LIMB
        if part != "cannon" or leg.cannon_mm is not None
    ]
    known += [PartMass(part, -1, getattr(body, f"{part}_g"), "weighed", f"body.{part}_g") for part in TRUNK]
    with_arms = body.chest_g is None and body.total_g is not None
    for arm in puppet.arms:
        keys = [(f"arm.{arm.name}.{part}", getattr(arm, f"{part}_g")) for part in ARM]
        known += [_hung(name, grams, f"{name}_g", open_too=with_arms) for name, grams in keys]
    known += [_hung(f"loose.{one.name}", one.mass_g, f"loose.{one.name}.mass_g") for one in puppet.loose]
    open_parts = [one for one in known if one.grams is None]
    if not open_parts or body.total_g is None:
        return Masses(tuple(one if one.grams is not None else replace(one, how="") for one in known))
    rest = body.total_g - puppet.weighed_g
    how, sizes = body.total_by, [_volume_mm3(puppet, one) for one in open_parts]
    if how == "person" or min(sizes) <= 0:  # a part without a shape has no volume to go by
        how, sizes = "person", [_person_share(puppet, one) for one in open_parts]
    share = dict(zip((one.key for one in open_parts), sizes, strict=True))
    whole = sum(sizes)
    return Masses(
        tuple(
            one if one.grams is not None else replace(one, grams=rest * share[one.key] / whole, how=how)
            for one in known
        )
    )


def _hung(part: str, grams: float | None, key: str, *, open_too: bool = False) -> PartMass:
    """What hangs on the trunk: weighed by itself, or with its carrier. open_too: it may be left open as well."""
    if grams is not None:
        return PartMass(part, -1, grams, "weighed", key)
    return PartMass(part, -1, None, "weighed", key) if open_too else PartMass(part, -1, 0.0, "carrier", key)


def _person_share(puppet: Puppet, one: PartMass) -> float:
    """A part's share of a person; a chest whose arms are no parts of their own has theirs too."""
    share = PERSON_SHARE[one.part.rpartition(".")[2]]
    if one.part == "chest" and not puppet.arms:
        share += 2 * sum(PERSON_SHARE[part] for part in ARM)
    return share


def centre_of(puppet: Puppet, part: str) -> Triple:
    """Centre of mass of a trunk's part: as measured, else of its shapes' volume, else midway between its pivots."""
    body = puppet.body
    given: Triple | None = getattr(body, f"{part}_centre_mm")
    if given is not None:
        return given
    own = shapes_centre(puppet, part)
    if own is not None:
        return own
    waist, neck = np.array(body.waist_mm), np.array(body.neck_mm)
    hips = np.array([leg.hip_mm for leg in puppet.legs]).mean(axis=0)
    x, y, z = {"body": (hips + waist) / 2, "chest": (waist + neck) / 2, "head": neck}[part].tolist()
    return x, y, z


def shapes_centre(puppet: Puppet, part: str) -> Triple | None:
    """The middle of the shapes on a part by their volume, from the body's centre in the zero pose; None without any."""
    own = [shape for shape in puppet.shapes if shape.part == part]
    if not own:
        return None
    sizes = np.array([volume_mm3(shape) for shape in own])
    x, y, z = (sizes @ np.array([_middle(shape) for shape in own]) / sizes.sum()).tolist()
    return x, y, z


def volume_mm3(shape: Shape) -> float:
    """What a shape takes up; where shapes are in each other, both count."""
    r = shape.radius_mm or 0.0
    if shape.form == "box":
        return math.prod(shape.size_mm or ())
    ball = 4.0 / 3.0 * math.pi * r**3
    return ball + math.pi * r * r * math.dist(shape.from_mm or (), shape.to_mm or ())


def _middle(shape: Shape) -> tuple[float, ...]:
    if shape.centre_mm is not None:
        return shape.centre_mm
    assert shape.from_mm is not None
    assert shape.to_mm is not None
    return tuple((a + b) / 2 for a, b in zip(shape.from_mm, shape.to_mm, strict=True))


def _volume_mm3(puppet: Puppet, one: PartMass) -> float:
    if one.part.endswith(".hand"):
        return 1.0  # a hand is a shape of its forearm
    if one.leg < 0:
        return sum(volume_mm3(shape) for shape in puppet.shapes if shape.part == one.part)
    leg = puppet.legs[one.leg]
    if one.part == "foot":
        return _wedge(leg)
    if one.part == "cannon":
        return _rod(leg.cannon_mm or 0.0, leg.cannon_width_mm, 0.19)
    thigh = one.part == "thigh"
    return _rod(leg.thigh_mm, leg.thigh_width_mm, 0.24) if thigh else _rod(leg.shank_mm, leg.shank_width_mm, 0.19)


def _rod(length: float, width: float | None, share: float) -> float:
    """A round limb; one whose thickness was not measured is as thick as it is drawn."""
    thick = share * length if width is None else width
    return math.pi / 4 * thick * thick * length


def _wedge(leg: Leg) -> float:
    """A foot: half the block around it."""
    return 0.5 * (leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm) * leg.sole_width_mm * max(leg.ankle_up_mm, 0.1)
