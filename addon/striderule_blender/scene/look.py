"""Colours that read on Workbench and are told apart by colour-blind people (M. Okabe and K. Ito, Color Universal
Design, 2008), as materials that look alike whether a viewport colours by material or by object."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from .owned import OwnedSet, role_of

Rgb = tuple[float, float, float]

NEAR_LEGS: tuple[Rgb, ...] = ((0.337, 0.706, 0.914), (0.0, 0.447, 0.698))  # sky blue, blue
FAR_LEGS: tuple[Rgb, ...] = ((0.902, 0.624, 0.0), (0.835, 0.369, 0.0))  # orange, vermilion
REFERENCE: Rgb = (0.941, 0.894, 0.259)  # yellow
TIE: Rgb = (0.8, 0.475, 0.655)  # reddish purple
BODY: dict[str, Rgb] = {"body": (0.80, 0.79, 0.76), "chest": (0.90, 0.89, 0.86), "head": (0.74, 0.75, 0.77),
                        "arm": (0.86, 0.84, 0.79), "loose": (0.78, 0.74, 0.66)}  # fmt: skip
FLOOR: Rgb = (0.60, 0.60, 0.58)
HOLE: Rgb = (0.16, 0.16, 0.16)
OBSTACLE: Rgb = (0.36, 0.33, 0.31)
RULER: Rgb = (0.95, 0.95, 0.95)
BACKDROP: Rgb = (0.27, 0.29, 0.31)


_LEG, _SHADES = "striderule_leg", "striderule_shades"
"""Custom properties of a leg's materials: the leg's index; its linear RGBA as a near leg and as a far one."""


@dataclass(frozen=True)
class Paint:
    """The colours of one leg: as a near one, as a far one."""

    leg: int
    near: Rgb
    far: Rgb

    def mixed(self, other: Rgb, share: float) -> Paint:
        """Both colours with a share of another one."""
        return Paint(self.leg, mixed(self.near, other, share), mixed(self.far, other, share))


def leg_paint(legs: tuple[Any, ...], index: int) -> Paint:
    """A leg's colours: near blue, far orange, as in the overlay; a second pair has the darker tones."""
    tone = sum(leg.outward_side == legs[index].outward_side for leg in legs[:index])
    return Paint(index, NEAR_LEGS[tone % len(NEAR_LEGS)], FAR_LEGS[tone % len(FAR_LEGS)])


def paint_legs(things: Iterable[Any], near: Sequence[Any]) -> None:
    """Show the legs of our things as near or far ones; near: a truth value per leg."""
    for thing in things:
        for slot in thing.material_slots:
            made = slot.material
            if made is None or _LEG not in made or not role_of(made) or made[_LEG] >= len(near):
                continue
            shades = list(made[_SHADES])
            made.diffuse_color = shades[:4] if near[made[_LEG]] else shades[4:]
            thing.color = made.diffuse_color


def mixed(colour: Rgb, other: Rgb, share: float) -> Rgb:
    """`colour` with a share of another one."""
    r, g, b = (a + (c - a) * share for a, c in zip(colour, other, strict=True))
    return r, g, b


def linear(colour: Rgb) -> Rgb:
    """sRGB 0..1 to the linear light that Blender keeps (IEC 61966-2-1, from memory)."""
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour)
    return r, g, b


def material(owned: OwnedSet, role: str, colour: Rgb | Paint, alpha: float = 1.0) -> Any:
    """The material of that role in that sRGB colour; a leg's is near until `paint_legs` says otherwise."""
    made = owned.get("materials", role)
    if isinstance(colour, Paint):
        made[_LEG], made[_SHADES] = colour.leg, [*linear(colour.near), alpha, *linear(colour.far), alpha]
        colour = colour.near
    made.diffuse_color = (*linear(colour), alpha)
    made.roughness = 0.6
    return made


def dress(thing: Any, made: Any) -> None:
    """Show `thing` in that material. On the object, so that parts and their ghosts can share a mesh."""
    if not thing.data.materials:
        thing.data.materials.append(None)
    slot = thing.material_slots[0]
    slot.link, slot.material = "OBJECT", made
    thing.color = made.diffuse_color
