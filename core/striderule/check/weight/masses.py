"""What every part of a puppet weighs and where its centre of mass is: as weighed, or its share of the whole puppet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ...model.fields import Triple
from ...model.puppet import Leg, Puppet, Shape

TRUNK = ("body", "chest", "head")
LIMB = ("thigh", "shank", "foot")

PERSON_SHARE = {
    "foot": 0.0145,
    "shank": 0.0465,
    "thigh": 0.100,
    "head": 0.081,
    "chest": 0.355 + 2 * 0.050,
    "body": 0.142,
}
"""Share of a person's mass; the chest's is that of chest and belly with both arms, the body's that of the pelvis.

Source: Winter, Biomechanics and Motor Control of Human Movement, 4th ed. 2009, table 4.1, from memory; foot, shank and
thigh also in the data of tests/outside.
"""

CENTRE_SHARE = {"thigh": 0.433, "shank": 0.433, "foot": 0.50}
"""Centre of mass of a leg's part, as a share of the way from hip to knee, knee to ankle, ankle to ball (same table)."""


@dataclass(frozen=True)
class PartMass:
    """One part: what it weighs, and how that is known (weighed | person | volume; "" where it is not).

    leg: index of its leg, -1 for the trunk's parts. centre_mm: of a trunk's part, from the body's centre in the zero
    pose. key: where its mass stands in a puppet file.
    """

    part: str
    leg: int
    grams: float | None
    how: str
    key: str
    centre_mm: Triple = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Masses:
    """All parts of a puppet, the legs' first, each leg's in the order of LIMB."""

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
    """Every part's mass; where the whole puppet was weighed, what is left of it is shared among parts that were not."""
    known = [
        PartMass(part, index, getattr(leg, f"{part}_g"), "weighed", f"leg.{leg.name}.{part}_g")
        for index, leg in enumerate(puppet.legs)
        for part in LIMB
    ]
    known += [
        PartMass(part, -1, getattr(puppet.body, f"{part}_g"), "weighed", f"body.{part}_g", centre_of(puppet, part))
        for part in TRUNK
    ]
    open_parts = [one for one in known if one.grams is None]
    total = puppet.body.total_g
    if not open_parts or total is None:
        return Masses(tuple(one if one.grams is not None else _shared(one, None, "") for one in known))
    rest = total - puppet.weighed_g
    how, sizes = puppet.body.total_by, [_volume_mm3(puppet, one) for one in open_parts]
    if how == "person" or min(sizes) <= 0:  # a part without a shape has no volume to go by
        how, sizes = "person", [PERSON_SHARE[one.part] for one in open_parts]
    share = dict(zip((one.key for one in open_parts), sizes, strict=True))
    whole = sum(sizes)
    return Masses(
        tuple(one if one.grams is not None else _shared(one, rest * share[one.key] / whole, how) for one in known)
    )


def _shared(one: PartMass, grams: float | None, how: str) -> PartMass:
    return PartMass(one.part, one.leg, grams, how, one.key, one.centre_mm)


def centre_of(puppet: Puppet, part: str) -> Triple:
    """Centre of mass of a trunk's part: as measured, else of its shapes' volume, else midway between its pivots."""
    body = puppet.body
    given: Triple | None = getattr(body, f"{part}_centre_mm")
    if given is not None:
        return given
    own = [shape for shape in puppet.shapes if shape.part == part]
    if own:
        sizes = np.array([volume_mm3(shape) for shape in own])
        x, y, z = (sizes @ np.array([_middle(shape) for shape in own]) / sizes.sum()).tolist()
        return x, y, z
    waist, neck = np.array(body.waist_mm), np.array(body.neck_mm)
    hips = np.array([leg.hip_mm for leg in puppet.legs]).mean(axis=0)
    x, y, z = {"body": (hips + waist) / 2, "chest": (waist + neck) / 2, "head": neck}[part].tolist()
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
    if one.leg < 0:
        return sum(volume_mm3(shape) for shape in puppet.shapes if shape.part == one.part)
    leg = puppet.legs[one.leg]
    if one.part == "foot":
        return _wedge(leg)
    thigh = one.part == "thigh"
    return _rod(leg.thigh_mm, leg.thigh_width_mm, 0.24) if thigh else _rod(leg.shank_mm, leg.shank_width_mm, 0.19)


def _rod(length: float, width: float | None, share: float) -> float:
    """A round limb; one whose thickness was not measured is as thick as it is drawn."""
    thick = share * length if width is None else width
    return math.pi / 4 * thick * thick * length


def _wedge(leg: Leg) -> float:
    """A foot: half the block around it."""
    return 0.5 * (leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm) * leg.sole_width_mm * max(leg.ankle_up_mm, 0.1)
