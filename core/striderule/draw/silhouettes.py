"""Outlines of convex pieces in a plane: hulls, the union of several, and what is left of a line that others hide.

All places are plane places (n, 2); convex pieces run anticlockwise in the sense that their inside has a positive
cross product with every edge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


def hull_of_points(points: Floats) -> Floats:
    """Corners (m, 2) of the convex hull of (n, 2) points; fewer than 3 corners where all lie on a line or in a point.

    Source: Andrew, Another efficient algorithm for convex hulls in two dimensions, 1979.
    """
    ordered = sorted({(float(x), float(y)) for x, y in points})
    if len(ordered) < 3:
        return np.array(ordered, float).reshape(-1, 2)
    halves: list[tuple[float, float]] = []
    for run in (ordered, ordered[::-1]):
        chain: list[tuple[float, float]] = []
        for x, y in run:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2], chain[-1]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                chain.pop()
            chain.append((x, y))
        halves += chain[:-1]
    return np.array(halves)


def hull_of_discs(first: Floats, second: Floats, radius: float, other: float, sagitta: float) -> Floats:
    """Convex hull (m, 2) of two discs: a tapered limb, or one disc where one holds the other.

    sagitta: how far the corners' chords may lie inside the true arcs.
    """
    if other > radius:
        first, second, radius, other = second, first, other, radius
    across = second - first
    distance = float(np.hypot(*across))
    if distance <= radius - other:
        second, other, distance = first, radius, 0.0
    heading = math.atan2(across[1], across[0])
    opening = math.acos(min(1.0, (radius - other) / distance)) if distance > 0 else math.pi / 2
    far = _turns(radius, heading + opening, 2 * (math.pi - opening), sagitta)
    near = _turns(other, heading - opening, 2 * opening, sagitta)
    turn = np.concatenate([far, near])
    ring = np.empty((len(turn), 2))
    np.cos(turn, out=ring[:, 0])
    np.sin(turn, out=ring[:, 1])
    ring[: len(far)] = first + radius * ring[: len(far)]
    ring[len(far) :] = second + other * ring[len(far) :]
    return _without_repeats(ring, 1e-9 * radius)


def _turns(size: float, begin: float, sweep: float, sagitta: float) -> Floats:
    """Angles along an arc, close enough together that chords stay within the sagitta."""
    step = max(math.sqrt(8 * sagitta / size), 1e-3) if size > 0 else math.inf
    count = max(1, min(180, math.ceil(sweep / step)))
    return np.arange(count + 1, dtype=np.float64) * (sweep / count) + begin


@dataclass(frozen=True, eq=False)
class Covers:
    """Convex pieces, ready to hide lines: their edges' inward normals and offsets, padded to one length."""

    normals: Floats  # (pieces, edges, 2)
    offsets: Floats  # (pieces, edges): a place p is inside where normals . p >= offsets for every edge
    boxes: Floats  # (pieces, 4) left, top, right, bottom

    @classmethod
    def of(cls, pieces: Sequence[Floats]) -> Covers:
        """Pieces with fewer than 3 corners hide nothing."""
        solid = [piece for piece in pieces if len(piece) >= 3]
        if not solid:
            return cls(np.zeros((0, 1, 2)), np.zeros((0, 1)), np.zeros((0, 4)))
        most = max(len(piece) for piece in solid)
        corners = np.empty((len(solid), most + 1, 2))
        for row, piece in zip(corners, solid, strict=True):
            row[: len(piece)] = piece
            row[len(piece) :] = piece[0]
        along = corners[:, 1:] - corners[:, :-1]
        size = np.hypot(along[..., 0], along[..., 1])
        length = np.where(size > 0, size, 1.0)
        normals = np.stack([-along[..., 1] / length, along[..., 0] / length], axis=-1)
        offsets = np.where(size > 0, (normals * corners[:, :-1]).sum(axis=-1), -1.0)
        return cls(normals, offsets, np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1))

    def near(self, low: Floats, high: Floats) -> Covers:
        """Those pieces whose upright boxes meet the box from low to high."""
        meets = (self.boxes[:, :2] <= high).all(axis=1) & (self.boxes[:, 2:] >= low).all(axis=1)
        return self if meets.all() else Covers(self.normals[meets], self.offsets[meets], self.boxes[meets])


@dataclass(frozen=True, eq=False)
class Run:
    """What is left of a path: its places (n, 2), whether it is still closed, and which path it was."""

    places: Floats
    closed: bool
    path: int


def visible_runs(paths: Sequence[Floats], closed: bool, covers: Covers, tiny: float) -> list[Run]:
    """What is left of polylines outside all pieces, in order. tiny: length under which places are the same.

    A line along a piece's edge is hidden.
    """
    whole = [path for path in paths if len(path) >= 2]
    if whole:
        places = np.concatenate(whole)
        covers = covers.near(places.min(axis=0), places.max(axis=0))
    pieces = len(covers.boxes)
    if not whole or not pieces:
        return [Run(path, closed, k) for k, path in enumerate(whole)]
    return _visible(
        whole, closed, covers, tiny, np.ones((len(whole), pieces), bool), np.zeros((len(whole), pieces), bool)
    )


def union_outline(pieces: Sequence[Floats], tiny: float) -> list[Floats]:
    """Closed rings (n, 2) around the union of convex pieces, without the lines inside; holes run the other way.

    Pieces may overlap, touch along an edge, lie apart or inside each other. tiny: length under which places are
    equal.
    """
    solid = [piece for piece in pieces if len(piece) >= 3]
    if len(solid) < 2:
        return solid
    order = np.arange(len(solid))
    # of an edge that two pieces share side by side, the earlier piece keeps its copy
    runs = _visible(solid, True, Covers.of(solid), tiny, order[:, None] != order, order[:, None] < order)
    return [run.places for run in runs if run.closed] + _stitched([run.places for run in runs if not run.closed], tiny)


def outline_outside(pieces: Sequence[Floats], covers: Sequence[Floats], tiny: float) -> list[Floats]:
    """Closed rings (n, 2) whose windings together are 1 inside some convex pieces and outside all that cover them,
    and 0 elsewhere: the outline of both, and that of the covers the other way round."""
    solid = [cover for cover in covers if len(cover) >= 3]
    if not solid:
        return union_outline(pieces, tiny)
    (low, high), (least, most) = boxes_of(pieces), boxes_of(solid)
    close: Flags = np.all((low[:, None] < most) & (high[:, None] > least), axis=2)
    over = [
        cover
        for k, cover in enumerate(solid)
        if any(_overlap(pieces[i], cover) for i in np.flatnonzero(close[:, k]).tolist())
    ]
    if not over:
        return union_outline(pieces, tiny)
    return union_outline([*pieces, *over], tiny) + [ring[::-1] for ring in union_outline(over, tiny)]


def boxes_of(pieces: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Lowest and highest corners (pieces, 2) of the upright boxes around pieces of one corner or more."""
    places = np.concatenate(pieces)
    starts = np.cumsum([0, *(len(piece) for piece in pieces[:-1])])
    return np.minimum.reduceat(places, starts), np.maximum.reduceat(places, starts)


def _overlap(first: Floats, second: Floats) -> bool:
    """Whether two convex pieces of 3 corners or more share an area: no edge of either has the other on its outside."""
    for one, other in ((first, second), (second, first)):
        along = np.concatenate([one[1:], one[:1]]) - one
        level = along[:, 0] * one[:, 1] - along[:, 1] * one[:, 0]
        inward = along[:, :1] * other[:, 1] - along[:, 1:] * other[:, 0]
        if (inward.max(axis=1) <= level).any():
            return False
    return True


def _visible(
    paths: Sequence[Floats], closed: bool, covers: Covers, tiny: float, meets: Flags, keeps: Flags
) -> list[Run]:
    """meets (paths, pieces): which pieces may hide which path; keeps: which paths keep an edge shared with a piece."""
    corners = [np.concatenate([path, path[:1]]) if closed else path for path in paths]
    counts = np.array([len(path) - 1 for path in corners])
    start = np.concatenate([path[:-1] for path in corners])
    along = np.concatenate([path[1:] for path in corners]) - start
    owner = np.repeat(np.arange(len(paths)), counts)
    enter, leave = _hidden_shares(start, along, covers, tiny, meets[owner], keeps[owner])
    hides = leave > enter
    touched = hides.any(axis=1)
    if not touched.any():
        return [Run(path, closed, k) for k, path in enumerate(paths)]
    gone = (hides & (enter <= 0) & (leave >= 1)).any(axis=1)
    size = np.hypot(along[:, 0], along[:, 1])
    partly: list[tuple[int, float, float]] = []
    for index in np.flatnonzero(touched & ~gone).tolist():
        here = hides[index]
        least = tiny / max(float(size[index]), 1e-300)
        at = 0.0
        for low, high in sorted(zip(enter[index, here].tolist(), leave[index, here].tolist(), strict=True)):
            if low - at > least:
                partly.append((index, at, low))
            at = max(at, high)
        if 1 - at > least:
            partly.append((index, at, 1.0))
    whole = np.bincount(owner[touched], minlength=len(paths)) == 0
    untouched = np.flatnonzero(~touched)
    kept = np.zeros((len(untouched) + len(partly), 3))
    kept[: len(untouched), 0], kept[: len(untouched), 2] = untouched, 1.0
    if partly:
        kept[len(untouched) :] = partly
        kept = kept[np.lexsort((kept[:, 1], kept[:, 0]))]
    return _joined(paths, start, along, owner, kept, closed, whole)


def _hidden_shares(
    start: Floats, along: Floats, covers: Covers, tiny: float, meets: Flags, keeps: Flags
) -> tuple[Floats, Floats]:
    """Where segments start + t along, 0 <= t <= 1, lie inside each piece: (segments, pieces) enter and leave.

    enter >= leave where they do not, or where the segment does not meet the piece. A segment that runs along a
    piece's edge is inside if it runs the other way round (the two meet back to back); if it runs the same way, it is
    inside unless it `keeps` (segments, pieces) that edge. Source: Cyrus & Beck, Generalized two- and
    three-dimensional clipping, 1978.
    """
    low, high = np.minimum(start, start + along) - tiny, np.maximum(start, start + along) + tiny
    boxes = covers.boxes
    close = (low[:, :1] <= boxes[:, 2]) & (low[:, 1:] <= boxes[:, 3]) & (high[:, :1] >= boxes[:, 0])
    close &= (high[:, 1:] >= boxes[:, 1]) & meets
    segment, piece = np.nonzero(close)
    ahead, across = covers.normals[piece, :, 0], covers.normals[piece, :, 1]
    begin, step = start[segment], along[segment]
    level = begin[:, :1] * ahead
    level += begin[:, 1:] * across
    level -= covers.offsets[piece]
    slope = step[:, :1] * ahead
    slope += step[:, 1:] * across
    flat = (np.abs(slope) < 2 * tiny) & (np.abs(level) < tiny)
    if flat.any():
        pair, edge = np.nonzero(flat & (np.abs(level + slope) < tiny))
        same_way = step[pair, 0] * across[pair, edge] - step[pair, 1] * ahead[pair, edge] > 0
        level[pair, edge] = np.where(same_way & keeps[segment[pair], piece[pair]], -1.0, 1.0)
        slope[pair, edge] = 0.0
    still = slope == 0
    rising = slope > 0
    slope[still] = -1.0
    share = level / -slope
    if still.any():
        rising |= still
        share[still] = np.where(level[still] < 0, np.inf, -np.inf)
    enter, leave = np.ones(close.shape), np.zeros(close.shape)
    enter[segment, piece] = np.where(rising, share, 0.0).max(axis=1, initial=0.0)
    leave[segment, piece] = np.where(rising, 1.0, share).min(axis=1, initial=1.0)
    return enter, leave


def _joined(
    paths: Sequence[Floats],
    start: Floats,
    along: Floats,
    owner: npt.NDArray[np.int64],
    kept: Floats,
    closed: bool,
    whole: Flags,
) -> list[Run]:
    """Runs from kept shares of segments; a closed path's first and last run are one where they meet."""
    if not len(kept):
        return []
    index, low, high = kept[:, 0].astype(int), kept[:, 1], kept[:, 2]
    heads, tails = start[index] + low[:, None] * along[index], start[index] + high[:, None] * along[index]
    mine = owner[index]
    goes_on = (low[1:] == 0) & (high[:-1] == 1) & (index[1:] == index[:-1] + 1) & (mine[1:] == mine[:-1])
    begins = [0, *(np.flatnonzero(~goes_on) + 1).tolist(), len(kept)]
    runs: list[Run] = []
    first_of_path: dict[int, tuple[int, bool]] = {}
    for a, b in pairwise(begins):
        path = int(mine[a])
        if whole[path]:
            runs.append(Run(paths[path], closed, path))
            continue
        places = np.concatenate([heads[a : a + 1], tails[a:b]])
        from_start = closed and low[a] == 0 and (index[a] == 0 or int(owner[index[a] - 1]) != path)
        to_end = high[b - 1] == 1 and (index[b - 1] + 1 == len(owner) or int(owner[index[b - 1] + 1]) != path)
        first, opens = first_of_path.setdefault(path, (len(runs), from_start))
        if to_end and opens and first < len(runs):
            runs[first] = Run(np.concatenate([places, runs[first].places[1:]]), False, path)
        else:
            runs.append(Run(places, False, path))
    return runs


def _without_repeats(places: Floats, tiny: float) -> Floats:
    """A ring's corners without those that lie on the one before."""
    before = np.concatenate([places[-1:], places[:-1]])
    return places[np.abs(places - before).max(axis=1) > tiny]


def _stitched(runs: list[Floats], tiny: float) -> list[Floats]:
    """Rings made by joining each run's end to the nearest run's start; one that meets nothing near is closed itself."""
    rings: list[Floats] = []
    heads = [(float(run[0, 0]), float(run[0, 1])) for run in runs]
    free = set(range(len(runs)))
    while free:
        first = now = min(free)
        free.remove(first)
        ring = [runs[first]]
        while True:
            x, y = runs[now][-1].tolist()
            gap, following = min((math.hypot(heads[run][0] - x, heads[run][1] - y), run) for run in (*free, first))
            if following == first or gap > 1e4 * tiny:
                break
            free.remove(following)
            ring.append(runs[following])
            now = following
        places = _without_repeats(np.concatenate(ring), tiny)
        if len(places) >= 3:
            rings.append(places)
    return rings
