"""The floor as a function of how far along the track, and of how far to its left: heights and slopes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.floor import Floor
from ..model.shot import Shot
from ..model.track import track_of

Floats = npt.NDArray[np.float64]

EDGE_MM = 1e-6
"""An edge is a rise over so short a way."""


@dataclass(frozen=True, eq=False)
class Ground:
    """Straight pieces (K,) of height over progress, and the slope across. flat: 0 everywhere."""

    at_mm: Floats
    height_mm: Floats
    before: float
    behind: float
    across: float
    flat: bool

    def height(self, progress_mm: Floats, aside_mm: Floats | float = 0.0) -> Floats:
        """Height (...,) of the floor; aside + to the left of the track."""
        level = np.interp(progress_mm, self.at_mm, self.height_mm)
        level = level + self.before * np.minimum(progress_mm - self.at_mm[0], 0.0)
        return level + self.behind * np.maximum(progress_mm - self.at_mm[-1], 0.0) + self.across * aside_mm

    def grade(self, back_mm: Floats, front_mm: Floats) -> Floats:
        """Rise a mm (...,) of a sole that lies from back to front; 0 where it lies over an edge."""
        rise = (self.height(front_mm) - self.height(back_mm)) / np.maximum(front_mm - back_mm, 1e-9)
        return np.where(self.edge_between(back_mm, front_mm), 0.0, rise)

    def edge_between(self, back_mm: Floats, front_mm: Floats) -> npt.NDArray[np.bool_]:
        """True (...,) where an edge, up or down, lies under that stretch."""
        edges = self.at_mm[1:][(self.at_mm[1:] - self.at_mm[:-1]) <= 2 * EDGE_MM]
        return np.searchsorted(edges, front_mm) > np.searchsorted(edges, back_mm)


def over_ground(
    ground: Ground, points_mm: tuple[Floats, ...], progress_mm: Floats, level_mm: Floats, heading_rad: Floats
) -> Floats:
    """Height (points, L, P) of points (3, L, P) each over the floor under it. progress (P,), level (2, P), heading
    (P,): of a place on the track near them, from which the track is taken to go straight."""
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    found = np.empty((len(points_mm), *points_mm[0].shape[1:]))
    for i, point in enumerate(points_mm):
        if ground.flat:
            found[i] = point[2]
            continue
        x, y = point[0] - level_mm[0], point[1] - level_mm[1]
        found[i] = point[2] - ground.height(progress_mm + x * cos + y * sin, y * cos - x * sin)
    return found


def surface_mm(shot: Shot, margin_mm: float, half_width_mm: float) -> list[Floats]:
    """What of a floor is not flat, as strips across the track: their corners (4, 3) on the stage, in order. [] for a
    flat floor.

    The track is covered from margin_mm before the walk's first foot to as far behind its last one; where it turns,
    in pieces of at most 20 mm.
    """
    if shot.floor.flat:
        return []
    walk, ground = shot.settled_walk, ground_of(shot.floor)
    step = walk.step_mm or 0.0
    track = track_of(shot.path, shot.stage.start_mm, step / (walk.turn_per_step_deg or 1.0))
    low, high = -step - margin_mm, (walk.steps or 1) * step + step + margin_mm
    between = np.empty(0) if track.straight else np.arange(low, high, 20.0)
    inside = ground.at_mm[(ground.at_mm > low) & (ground.at_mm < high)]
    at = np.unique(np.concatenate(((low, high), inside, between)))
    place, heading = track.on(at)
    aside = half_width_mm * np.array((-np.sin(heading), np.cos(heading)))
    left = np.vstack((place + aside, ground.height(at, half_width_mm)))
    right = np.vstack((place - aside, ground.height(at, -half_width_mm)))
    return [np.array((right[:, k], right[:, k + 1], left[:, k + 1], left[:, k])) for k in range(len(at) - 1)]


def floor_height_mm(shot: Shot, places_mm: Floats) -> Floats:
    """Height (n,) of the floor at places (n, 2) of the stage; off the track as high as beside its nearest place, to
    2 mm along."""
    if shot.floor.flat or not len(places_mm):
        return np.zeros(len(places_mm))
    walk, ground = shot.settled_walk, ground_of(shot.floor)
    step = walk.step_mm or 0.0
    track = track_of(shot.path, shot.stage.start_mm, step / (walk.turn_per_step_deg or 1.0))
    margin = float(np.ptp(places_mm, axis=0).max()) + step
    at = np.arange(-margin, (walk.steps or 1) * step + margin, 4.0)
    place, heading = track.on(at)
    few = max(1_000_000 // len(at), 1)  # at a time, for the sake of memory
    nearest = np.concatenate(
        [((some[:, None] - place.T) ** 2).sum(axis=2).argmin(axis=1) for some in _parts(places_mm, few)]
    )
    x, y = places_mm.T - place[:, nearest]
    cos, sin = np.cos(heading[nearest]), np.sin(heading[nearest])
    return ground.height(at[nearest] + x * cos + y * sin, y * cos - x * sin)


def _parts(places: Floats, few: int) -> list[Floats]:
    return [places[k : k + few] for k in range(0, len(places), few)]


def ground_of(floor: Floor) -> Ground:
    """The ground of a floor; what it is made of adds up."""
    if floor.flat:
        return Ground(np.zeros(1), np.zeros(1), 0.0, 0.0, 0.0, flat=True)
    slope = math.tan(math.radians(floor.slope_deg))
    parts: list[tuple[Floats, Floats]] = []
    if floor.heights_mm:
        at, height = np.array(floor.heights_mm, dtype=float).T
        # two places at one distance are an edge
        at = at + EDGE_MM * np.concatenate(([0.0], np.cumsum(np.diff(at) == 0)))
        parts.append((at, height))
    if floor.stairs:
        s = floor.stairs
        edges = s.first_edge_mm + s.tread_mm * np.arange(s.count, dtype=np.float64)
        parts.append(_edges(edges, np.full(s.count, s.riser_mm)))
    if floor.plank:
        p = floor.plank
        parts.append(_edges(np.array((p.from_mm, p.to_mm)), np.array((p.height_mm, -p.height_mm))))
    if floor.kerb:
        parts.append(_edges(np.array((floor.kerb.at_mm,)), np.array((floor.kerb.height_mm,))))
    at = np.unique(np.concatenate([np.zeros(1), *(one for one, _ in parts)]))
    height = slope * at
    for places, heights in parts:
        height = height + np.interp(at, places, heights)
    return Ground(at, height, slope, slope, math.tan(math.radians(floor.side_slope_deg)), flat=False)


def _edges(at: Floats, rise: Floats) -> tuple[Floats, Floats]:
    places = np.stack((at - 0.5 * EDGE_MM, at + 0.5 * EDGE_MM), axis=1).ravel()
    after = np.cumsum(rise)
    return places, np.stack((after - rise, after), axis=1).ravel()
