"""A pose from the side in clean black, grey and white, for print and for the set screen.

Level with the puppet's own heading in each pose, from the side of the shot's side-on view. Parts are painted from the
far leg to the near one: each part's outline first, then its fills, so that only the outline of the whole part stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from ..camera.solids import solids_of
from ..draw.drawing import Area, Colour, Ink, Line
from ..solve.plan import Plan
from .page import BLACK, MIDDLE, PALE, WHITE, Mark

Floats = npt.NDArray[np.float64]

_CORNERS = 28
_NEAR, _FAR, _TRUNK = MIDDLE, WHITE, PALE


@dataclass(frozen=True, eq=False)
class Part:
    """One leg or the trunk: convex pieces (poses, corners, 2) in mm along the heading from the datum's foot of the
    reference point, and up from the datum. name: the leg's, "" for the trunk."""

    name: str
    near: bool
    pieces: tuple[Floats, ...]


@dataclass(frozen=True, eq=False)
class SidePictures:
    """All poses from the side. parts: far legs, trunk, near legs, in the order of painting. along: 0 under the
    reference point; mirrored where the view looks from the puppet's left. low, high (2,): corners of the box around
    all poses. floor_mm (poses,): height of the floor; reference_mm (poses,): height of the reference point."""

    parts: tuple[Part, ...]
    low: Floats
    high: Floats
    floor_mm: Floats
    reference_mm: Floats

    @property
    def size_mm(self) -> tuple[float, float]:
        width, height = (self.high - self.low).tolist()
        return width, height

    def marks(self, pose: int, x: float, y: float, scale: float, outline_mm: float = 0.18) -> list[Mark]:
        """Marks of a pose on a page: the box's lower left corner at (x, y), `scale` page mm a stage mm."""
        found: list[Mark] = []
        ink = Ink(BLACK, 2 * outline_mm)
        for part in self.parts:
            rings = [self._on_page(piece[pose], x, y, scale) for piece in part.pieces]
            found += [Line(ring, ink, closed=True) for ring in rings]
            found += [Area((ring,), tone_of(part), 1.0) for ring in rings]
        return found

    def at(self, along_mm: float, up_mm: float, x: float, y: float, scale: float) -> tuple[float, float]:
        """Where a place of a pose lies on the page."""
        place = self._on_page(np.array([[along_mm, up_mm]]), x, y, scale)[0].tolist()
        return place[0], place[1]

    def _on_page(self, points: Floats, x: float, y: float, scale: float) -> Floats:
        return (points - self.low) * (scale, -scale) + (x, y)


def tone_of(part: Part) -> Colour:
    """The near leg is grey, the far one white, the trunk pale."""
    return (_NEAR if part.near else _FAR) if part.name else _TRUNK


def side_pictures(plan: Plan) -> SidePictures:
    """Pictures of every pose, worked out for all of them at once."""
    looks_from_left = next((one.side == "left" for one in plan.shot.cameras if one.name == "side-on"), False)
    legs = plan.shot.puppet.legs
    turn = np.radians(plan.heading_deg)
    heading = np.stack((np.cos(turn), np.sin(turn)), axis=1) * (-1.0 if looks_from_left else 1.0)

    def flat(points: Floats) -> Floats:
        away = points[..., :2] - plan.reference_mm[:, None, :2]
        return np.stack((np.einsum("pnj,pj->pn", away, heading), points[..., 2]), axis=-1)

    def near(leg: int) -> bool:
        return leg >= 0 and (legs[leg].outward_side < 0) != looks_from_left

    solids = [(solid.leg, _hulls(flat(solid.centres_mm), solid.radii_mm)) for solid in solids_of(plan)]
    solids.sort(key=lambda one: (2 if near(one[0]) else 0) if one[0] >= 0 else 1)
    parts = tuple(
        Part(legs[leg].name if leg >= 0 else "", near(leg), tuple(hull for _, hull in pieces))
        for leg, pieces in groupby(solids, key=lambda one: one[0])
    )
    lows = [piece.min(axis=(0, 1)) for part in parts for piece in part.pieces]
    highs = [piece.max(axis=(0, 1)) for part in parts for piece in part.pieces]
    low, high = np.min(lows, axis=0), np.max(highs, axis=0)
    low[1] = min(low[1], float(plan.floor_mm.min()))
    return SidePictures(parts, low, high, plan.floor_mm, plan.reference_mm[:, 2])


def _hulls(centres: Floats, radii: Floats) -> Floats:
    """(poses, corners, 2) the outermost place of balls (poses, n, 2) in each of evenly spread directions: the corners
    of their hull, as fine as the eye sees it in a small picture."""
    turn = np.linspace(0.0, 2 * np.pi, _CORNERS, endpoint=False)
    ways = np.stack((np.cos(turn), np.sin(turn)), axis=1)
    farthest = (centres @ ways.T + radii[None, :, None]).argmax(axis=1)
    picked = np.take_along_axis(centres, farthest[..., None], axis=1)
    return picked + radii[farthest][..., None] * ways
