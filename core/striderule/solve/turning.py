"""Where feet stand on a track that turns: under the hips of a stiff trunk, and beside each other."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.track import Track

Floats = npt.NDArray[np.float64]

SOLE_GAP_MM = 1.5
"""Least gap between two soles that stand or pass beside each other (common practice, no source)."""


def beside(track: Track, progress: Floats, home: Floats, aside: Floats) -> tuple[Floats, Floats]:
    """Places (2, E) and the track's headings (E,) of feet.

    home (E,): how far a foot's hip is ahead of the middle of all hips. On a curve that is straight ahead of it, as the
    trunk is stiff: a foot stands where its hip will pass over it.
    """
    if track.straight or not home.any():
        level, travel = track.on(progress)
        return level + aside * np.array((-np.sin(travel), np.cos(travel))), travel
    level, travel = track.on(progress - home)
    cos, sin = np.cos(travel), np.sin(travel)
    return level + np.array((home * cos - aside * sin, home * sin + aside * cos)), travel


def turning(foot: Floats, side: Floats, track: Track) -> Floats:
    """The same progress (E,) of footfalls, those of turns on the spot so that one foot is always beside the other: the
    inner foot opens by two steps' angle from the outer one, and that comes to stand beside it."""
    turned = foot.copy()
    for k in np.flatnonzero((track.moves == 0) & (track.turn != 0)).tolist():
        begin, end = float(track.begin_mm[k]), float(track.begin_mm[k + 1])
        inner = side * np.sign(track.turn[k]) > 0
        here = np.flatnonzero((foot > begin) & (foot <= end + 1e-9))
        for v in here.tolist():
            standing = max(turned[v - 1], begin) if v else begin
            if inner[v]:
                turned[v] = min(standing + 2.0 * (foot[v] - foot[v - 1]), end)
            else:
                turned[v] = standing
    return turned


def kept_clear(level: Floats, heading: Floats, travel: Floats, side: Floats, soles: Floats, width: Floats) -> Floats:
    """(2, E) how far footfalls must be moved outward so that a sole, turned against the one that stands when it lands,
    lies beside it. side (E,): + for left feet; soles (2, E): heel behind, toe ahead; width (E,)."""
    away = np.zeros_like(level)
    bent = np.zeros(len(heading), dtype=bool)
    bent[1:] = np.abs(np.diff(travel)) > 1e-9
    if not bent.any():
        return away
    turn = np.zeros(len(heading))
    turn[1:] = side[1:] * np.diff(heading)  # outward positive
    c, s = np.cos(turn), np.sin(turn)
    standing = np.arange(len(heading)) - 1  # of the first, any: it is not bent
    stand_cos, stand_sin = np.cos(heading[standing]), np.sin(heading[standing])
    x, y = level - level[:, standing]
    ahead, aside = x * stand_cos + y * stand_sin, side * (y * stand_cos - x * stand_sin)
    half, (heel, toe) = 0.5 * width, soles
    stand_half, (stand_heel, stand_toe) = half[standing], soles[:, standing]

    def most(along: Floats, across: Floats, heel: Floats, toe: Floats, half: Floats) -> Floats:
        """Furthest that a sole reaches in a direction with these components along and across it."""
        return np.maximum(along * toe, -along * heel) + half * np.abs(across)

    # gaps along the normals of both soles' edges (separating axis theorem), and what a mm outward adds to each
    own_along, own_across = ahead * c + aside * s, aside * c - ahead * s
    gaps = np.array((
        aside - stand_half - most(-s, c, heel, toe, half),
        own_across - half - most(-s, c, stand_heel, stand_toe, stand_half),
        own_along - heel - most(c, s, stand_heel, stand_toe, stand_half),
        -own_along - toe - most(-c, s, stand_heel, stand_toe, stand_half),
        ahead - stand_toe - most(-c, s, heel, toe, half),
        -ahead - stand_heel - most(c, s, heel, toe, half),
    ))  # fmt: skip
    adds = np.array((np.ones_like(c), c, s, -s, np.zeros_like(c), np.zeros_like(c)))
    lack = np.where(adds > 0.1, (SOLE_GAP_MM - gaps) / np.maximum(adds, 0.1), np.inf).min(axis=0)
    crossed = aside < -stand_half  # feet that cross over on purpose
    by = np.where(bent & ~crossed & (gaps.max(axis=0) < SOLE_GAP_MM), lack, 0.0) * side
    away[0], away[1] = -by * stand_sin, by * stand_cos
    return away
