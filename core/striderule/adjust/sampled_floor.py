"""A floor that is there as a surface of some kind: its heights are sampled once along the track, and written as the few
that matter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError
from ..model.fields import Pair
from ..model.floor import Floor
from ..model.shot import Shot
from ..model.track import Track, track_of

Floats = npt.NDArray[np.float64]
HeightAt = Callable[[Floats], Floats]
"""Heights (n,) of a surface at places (n, 2) on the stage; NaN where it is not."""

NEAR_MM = 0.1
EVERY_MM = 2.0
STEEP = 2.0
"""Rise over run from which on a rise is the edge of something, not a slope."""


def with_sampled_floor(shot: Shot, height_at: HeightAt, name: str) -> Shot:
    """The shot on a floor whose heights along the track are those of a surface, in place of the floor it had.

    name: the surface's, for messages. Raises GeometryError where the surface does not lie under all of the track.
    """
    walk = shot.settled_walk
    step = walk.step_mm or 0.0
    track = track_of(shot.path, shot.stage.start_mm, step / (walk.turn_per_step_deg or 1.0))
    # from behind the rear foot of pose 1 to before the front foot of the last one
    sole = max(leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm for leg in shot.puppet.legs)
    hips = max(abs(leg.hip_mm[0]) for leg in shot.puppet.legs)
    low, high = -step - hips - sole, (walk.steps or 1) * step + step + hips + sole
    at = np.linspace(low, high, max(int(np.ceil((high - low) / EVERY_MM)), 2) + 1)

    def height(progress: Floats) -> Floats:
        return height_at(track.on(progress)[0].T)

    found = height(at)
    _refuse_gaps(at, found, name, track)
    return replace(shot, floor=Floor(heights_mm=heights_of(at, found, height)))


def heights_of(at_mm: Floats, height_mm: Floats, height: Callable[[Floats], Floats]) -> tuple[Pair, ...]:
    """Heights along a track out of dense samples (n,), as pairs (distance, height): straight between them to within
    NEAR_MM. A steep rise between two samples is looked up more closely and becomes an edge: two pairs at one distance.
    """
    run, rise = np.diff(at_mm), np.diff(height_mm)
    steep = np.flatnonzero(np.abs(rise) > np.maximum(STEEP * run, NEAR_MM))
    pieces: list[list[Pair]] = []
    begin, first = 0, None
    for k in steep.tolist():
        edge, below, above = _edge(at_mm[k], at_mm[k + 1], height_mm[k], height_mm[k + 1], height)
        pieces.append(_thinned(at_mm[begin : k + 1], height_mm[begin : k + 1], first, (edge, below)))
        begin, first = k + 1, (edge, above)
    pieces.append(_thinned(at_mm[begin:], height_mm[begin:], first, None))
    return tuple((round(x, 2) + 0.0, round(z, 2) + 0.0) for piece in pieces for x, z in piece)


def _edge(
    a: float, b: float, low: float, high: float, height: Callable[[Floats], Floats]
) -> tuple[float, float, float]:
    """Where between a and b the height jumps, and the heights on either side of it."""
    for _ in range(12):
        middle = 0.5 * (a + b)
        here = float(height(np.array([middle]))[0])
        if abs(here - low) <= abs(high - here):
            a, low = middle, here
        else:
            b, high = middle, here
    return round(0.5 * (a + b), 2), low, high


def _thinned(at: Floats, height: Floats, first: Pair | None, last: Pair | None) -> list[Pair]:
    """The few of these places between which all others lie straight, by splitting at the farthest one, measured upright
    (D. Douglas and T. Peucker, Cartographica 10 (1973) 112)."""
    x = np.concatenate(([first[0]] if first else [], at, [last[0]] if last else []))
    z = np.concatenate(([first[1]] if first else [], height, [last[1]] if last else []))
    keep = {0, len(x) - 1}
    open_ = [(0, len(x) - 1)]
    while open_:
        a, b = open_.pop()
        if b - a < 2:
            continue
        inside = slice(a + 1, b)
        off = np.abs(z[inside] - np.interp(x[inside], (x[a], x[b]), (z[a], z[b])))
        worst = int(off.argmax())
        if off[worst] > NEAR_MM:
            middle = a + 1 + worst
            keep.add(middle)
            open_ += [(a, middle), (middle, b)]
    return [(float(x[k]), float(z[k])) for k in sorted(keep)]


def _refuse_gaps(at: Floats, found: Floats, name: str, track: Track) -> None:
    gaps = np.flatnonzero(np.isnan(found))
    if not len(gaps):
        return
    x, y = track.on(at[gaps[:1]])[0][:, 0].tolist()
    share = 100.0 * len(gaps) / len(at)
    raise GeometryError(
        f"{name}: expected a surface under all of the track, given none under {share:.0f} % of it, first "
        f"{at[gaps[0]]:.0f} mm along it (at {x:.0f}, {y:.0f} mm on the stage). Move or enlarge it, or shorten the walk."
    )
