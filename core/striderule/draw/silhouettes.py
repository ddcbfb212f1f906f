"""Outlines of convex pieces in a plane: hulls, the union of several, and what is left of a line that others hide.

All places are plane places (n, 2); convex pieces run anticlockwise in the sense that their inside has a positive cross
product with every edge.
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
    arcs: list[Floats] = []
    for centre, size, begin, end in (
        (first, radius, opening, 2 * math.pi - opening),
        (second, other, -opening, opening),
    ):
        step = math.sqrt(8 * sagitta / size) if size > 0 else math.inf
        count = max(2, min(180, math.ceil((end - begin) / max(step, 1e-3)) + 1))
        turn = heading + np.linspace(begin, end, count)
        arcs.append(centre + size * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    return _without_repeats(np.concatenate(arcs), 1e-9 * radius)


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

    def near(self, path: Floats) -> Covers:
        """Those pieces whose upright boxes meet that of a path."""
        low, high = path.min(axis=0), path.max(axis=0)
        meets = (self.boxes[:, :2] <= high).all(axis=1) & (self.boxes[:, 2:] >= low).all(axis=1)
        return Covers(self.normals[meets], self.offsets[meets], self.boxes[meets])


def hidden_shares(
    start: Floats, along: Floats, covers: Covers, tiny: float, keep_shared: Flags
) -> tuple[Floats, Floats]:
    """Where segments start + t along, 0 <= t <= 1, lie inside each piece: (segments, pieces) enter and leave.

    enter >= leave where they do not. A segment that runs along a piece's edge is inside if it runs the other way round
    (the two meet back to back); if it runs the same way, it is inside unless `keep_shared` (pieces,) says that this
    piece leaves shared edges to the segment.
    Source: Cyrus & Beck, Generalized two- and three-dimensional clipping, 1978.
    """
    pieces, edges = covers.offsets.shape
    normals = covers.normals.reshape(-1, 2).T
    level = start @ normals - covers.offsets.ravel()
    slope = along @ normals
    flat = (np.abs(level) < tiny) & (np.abs(level + slope) < tiny)
    if flat.any():
        segment, edge = np.nonzero(flat)
        same_way = along[segment, 0] * normals[1, edge] - along[segment, 1] * normals[0, edge] > 0
        level[segment, edge] = np.where(same_way & keep_shared[edge // edges], -1.0, 1.0)
        slope[segment, edge] = 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        share = level / -slope
    still = slope == 0
    if still.any():
        share[still] = np.where(level[still] < 0, np.inf, -np.inf)
    rising = (slope > 0) | still
    shape = (len(start), pieces, edges)
    enter = np.where(rising, share, 0.0).reshape(shape).max(axis=2, initial=0.0)
    leave = np.where(rising, 1.0, share).reshape(shape).min(axis=2, initial=1.0)
    return enter, leave


def visible_runs(
    path: Floats, closed: bool, covers: Covers, tiny: float, keep_shared: Flags | None = None
) -> tuple[list[Floats], bool]:
    """What is left of a polyline outside all pieces: its runs in order, and whether it is whole and still closed.

    tiny: length under which places are the same. keep_shared: see `hidden_shares`; default: shared edges are hidden.
    """
    if len(path) < 2:
        return ([path] if len(path) else []), False
    if keep_shared is None:
        covers = covers.near(path)
    if len(covers.boxes) == 0:
        return [path], closed
    shared = np.zeros(len(covers.boxes), bool) if keep_shared is None else keep_shared
    corners = np.concatenate([path, path[:1]]) if closed else path
    start, along = corners[:-1], corners[1:] - corners[:-1]
    enter, leave = hidden_shares(start, along, covers, tiny, shared)
    hides = leave > enter
    touched = hides.any(axis=1)
    if not touched.any():
        return [path], closed
    gone = (hides & (enter <= 0) & (leave >= 1)).any(axis=1)
    kept = [(index, 0.0, 1.0) for index in np.flatnonzero(~touched).tolist()]
    for index in np.flatnonzero(touched & ~gone).tolist():
        here = hides[index]
        least = tiny / max(float(np.hypot(*along[index])), 1e-300)
        at = 0.0
        for low, high in sorted(zip(enter[index, here].tolist(), leave[index, here].tolist(), strict=True)):
            if low - at > least:
                kept.append((index, at, low))
            at = max(at, high)
        if 1 - at > least:
            kept.append((index, at, 1.0))
    return _joined(start, along, sorted(kept), closed), False


def _joined(start: Floats, along: Floats, kept: list[tuple[int, float, float]], closed: bool) -> list[Floats]:
    """Runs of places from kept shares of segments; a closed path's first and last run are one where they meet."""
    if not kept:
        return []
    table = np.array(kept)
    index, low, high = table[:, 0].astype(int), table[:, 1:2], table[:, 2:]
    heads, tails = start[index] + low * along[index], start[index] + high * along[index]
    goes_on = (low[1:, 0] == 0) & (high[:-1, 0] == 1) & (index[1:] == index[:-1] + 1)
    begins = [0, *(np.flatnonzero(~goes_on) + 1).tolist(), len(kept)]
    runs = [np.concatenate([heads[a : a + 1], tails[a:b]]) for a, b in pairwise(begins)]
    if closed and len(runs) > 1 and kept[0][:2] == (0, 0.0) and kept[-1][0] == len(start) - 1 and kept[-1][2] == 1.0:
        runs[0] = np.concatenate([runs.pop(), runs[0][1:]])
    return runs


def union_outline(pieces: Sequence[Floats], tiny: float) -> list[Floats]:
    """Closed rings (n, 2) around the union of convex pieces, without the lines inside; holes run the other way.

    Pieces may overlap, touch along an edge, lie apart or inside each other. tiny: length under which places are equal.
    """
    solid = [piece for piece in pieces if len(piece) >= 3]
    if len(solid) < 2:
        return solid
    covers = Covers.of(solid)
    rings: list[Floats] = []
    ends: list[Floats] = []
    for index, piece in enumerate(solid):
        others = np.arange(len(solid)) != index
        box = covers.boxes[index]
        others &= (covers.boxes[:, :2] <= box[2:] + tiny).all(axis=1) & (covers.boxes[:, 2:] >= box[:2] - tiny).all(
            axis=1
        )
        rest = Covers(covers.normals[others], covers.offsets[others], covers.boxes[others])
        # of an edge that two pieces share side by side, the earlier piece keeps its copy
        runs, whole = visible_runs(piece, True, rest, tiny, np.flatnonzero(others) > index)
        (rings if whole else ends).extend(runs)
    return rings + _stitched(ends, tiny)


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
