"""Colours that read on Workbench and are told apart by colour-blind people (M. Okabe and K. Ito, Color Universal
Design, 2008), as materials that look alike whether a viewport colours by material or by object."""

from __future__ import annotations

from typing import Any

from .owned import OwnedSet

Rgb = tuple[float, float, float]

RIGHT_LEGS: tuple[Rgb, ...] = ((0.337, 0.706, 0.914), (0.0, 0.447, 0.698))  # sky blue, blue
LEFT_LEGS: tuple[Rgb, ...] = ((0.902, 0.624, 0.0), (0.835, 0.369, 0.0))  # orange, vermilion
REFERENCE: Rgb = (0.941, 0.894, 0.259)  # yellow
TIE: Rgb = (0.8, 0.475, 0.655)  # reddish purple
BODY: dict[str, Rgb] = {"body": (0.80, 0.79, 0.76), "chest": (0.90, 0.89, 0.86), "head": (0.74, 0.75, 0.77)}
FLOOR: Rgb = (0.60, 0.60, 0.58)
RULER: Rgb = (0.95, 0.95, 0.95)
BACKDROP: Rgb = (0.27, 0.29, 0.31)


def leg_colour(legs: tuple[Any, ...], index: int) -> Rgb:
    """A leg's colour: blues on the puppet's right, orange tones on its left, so that from the usual side the near leg
    is blue, as in the overlay; a second pair has the darker tone."""
    side = legs[index].outward_side
    tone = sum(leg.outward_side == side for leg in legs[:index])
    shades = LEFT_LEGS if side > 0 else RIGHT_LEGS
    return shades[tone % len(shades)]


def mixed(colour: Rgb, other: Rgb, share: float) -> Rgb:
    """`colour` with a share of another one."""
    r, g, b = (a + (c - a) * share for a, c in zip(colour, other, strict=True))
    return r, g, b


def linear(colour: Rgb) -> Rgb:
    """sRGB 0..1 to the linear light that Blender keeps (IEC 61966-2-1, from memory)."""
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour)
    return r, g, b


def material(owned: OwnedSet, role: str, colour: Rgb, alpha: float = 1.0) -> Any:
    """The material of that role in that sRGB colour."""
    made = owned.get("materials", role)
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
