"""The area that a puppet stands on: the hull of what its feet have on the floor, and how far its weight is inside."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ...solve.plan import FootState, Plan

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


_AT_ONCE = 512  # poses worked out together: what they need stays in the processor's own memory


@dataclass(frozen=True, eq=False)
class Soles:
    """What each foot has on the floor, seen from above, mm. A sole counts as a rectangle of its length and width.

    down (P, L): it touches. corners (P, L, 4, 2): anticlockwise, all four of a flat sole, those of the toe in a toe
    roll; of a foot on the edge of its heel the two ends of that edge, each twice. ways (P, L, 4, 2) unit normals of the
    four edges, outward, and reach (P, L, 4) how far the corners go along each.
    """

    down: Flags
    corners: Floats
    ways: Floats
    reach: Floats


def soles_of(plan: Plan) -> Soles:
    """What every foot has on the floor in every pose."""
    state = plan.state
    half = 0.5 * np.array([leg.sole_width_mm for leg in plan.shot.puppet.legs])
    side = plan.foot_axes[..., :2, 1]
    rolled = (state == int(FootState.TOE))[..., None]
    on_heel = (state == int(FootState.HEEL))[..., None]
    back = np.where(rolled, plan.ball_mm[..., :2], plan.heel_mm[..., :2])
    front = np.where(on_heel, plan.heel_mm[..., :2], plan.toe_mm[..., :2])
    across = side * half[:, None]
    corners = np.stack((back + across, back - across, front - across, front + across), axis=2)
    ahead = np.where(rolled, plan.toe_axes[..., :2, 0], plan.foot_axes[..., :2, 0])
    # normals from the foot's own axes, so that an edge without length has one too
    front_way, left_way = _unit(side[..., ::-1] * (1.0, -1.0)), _unit(ahead[..., ::-1] * (-1.0, 1.0))
    ways = np.stack((-front_way, -left_way, front_way, left_way), axis=2)
    reach = most_of(dot(ways[..., :, None, :], corners[..., None, :, :]))
    return Soles(state != int(FootState.AIR), corners, ways, reach)


def dot(one: Floats, other: Floats) -> Floats:
    """Products (...,) of vectors (..., 2); numpy's own sum over so short an axis takes several times as long."""
    return one[..., 0] * other[..., 0] + one[..., 1] * other[..., 1]


def most_of(values: Floats) -> Floats:
    """The greatest (...,) of values (..., n), for a small n."""
    most = values[..., 0]
    for k in range(1, values.shape[-1]):
        most = np.maximum(most, values[..., k])
    return most


def _unit(ways: Floats) -> Floats:
    return ways / np.maximum(np.sqrt(dot(ways, ways)), 1e-12)[..., None]


def margin_mm(soles: Soles, point_mm: Floats, down: Flags | None = None) -> Floats:
    """(P,) how far points (P, 2) are inside the hull of the feet that are down; negative: so far outside. With no foot
    down minus infinity.

    down (P, L): other feet than those that touch.
    """
    down = soles.down if down is None else down
    margin = np.full(len(down), -np.inf)
    for legs, rows in groups_by(down):
        corners = soles.corners[rows][:, list(legs)].reshape(len(rows), -1, 2) - point_mm[rows, None]
        margin[rows] = hull_margin(corners)
    return margin


def groups_by(flags: Flags) -> list[tuple[tuple[int, ...], npt.NDArray[np.int64]]]:
    """(legs, poses) for each set of legs (P, L) that occurs in some pose, without the empty one."""
    bit = np.array([1 << k for k in range(flags.shape[1])], dtype=np.int64)
    code: npt.NDArray[np.int64] = np.where(flags, bit, 0).sum(axis=1)
    found: list[tuple[tuple[int, ...], npt.NDArray[np.int64]]] = []
    for one in np.unique(code).tolist():
        legs = tuple(k for k in range(flags.shape[1]) if one >> k & 1)
        if legs:
            found.append((legs, np.flatnonzero(code == one)))
    return found


def hull_margin(points: Floats) -> Floats:
    """(P,) distance of the origin from the edge of the convex hull of points (P, n, 2): inside +, outside -.

    A line through two of the points with none beyond it carries an edge of the hull; inside, the nearest of those lines
    is the nearest edge, outside, the nearest of all pieces between two points is.
    """
    margin = np.empty(len(points))
    for begin in range(0, len(points), _AT_ONCE):
        run = slice(begin, begin + _AT_ONCE)
        margin[run] = _margin_of(*np.ascontiguousarray(points[run].transpose(2, 1, 0)))
    return margin


def _margin_of(x: Floats, y: Floats) -> Floats:
    """(p,) as above, of points (n, p)."""
    first, second = (np.array(one) for one in zip(*combinations(range(len(x)), 2), strict=True))
    start_x, start_y = x[first], y[first]
    edge_x, edge_y = x[second] - start_x, y[second] - start_y
    square = edge_x * edge_x + edge_y * edge_y
    real = square > 1e-18
    length = np.sqrt(np.where(real, square, 1.0))
    normal_x, normal_y = -edge_y / length, edge_x / length
    level = normal_x * start_x + normal_y * start_y
    highest = np.full(level.shape, -np.inf)
    lowest = np.full(level.shape, np.inf)
    for k in range(len(x)):
        of_point = normal_x * x[k] + normal_y * y[k]
        np.maximum(highest, of_point, out=highest)
        np.minimum(lowest, of_point, out=lowest)
    over: Floats = np.where(real & (highest <= level + 1e-9), level, np.inf)
    under: Floats = np.where(real & (lowest >= level - 1e-9), -level, np.inf)
    inside: Floats = np.minimum(over, under).min(axis=0)
    along = -(start_x * edge_x + start_y * edge_y) / np.where(real, square, 1.0)
    share: Floats = np.minimum(np.maximum(along, 0.0), 1.0)
    near_x, near_y = start_x + share * edge_x, start_y + share * edge_y
    outside = np.sqrt((near_x * near_x + near_y * near_y).min(axis=0))
    # without any line there is one point alone; a flat hull has nothing inside
    margin: Floats = np.where((inside > 0) & np.isfinite(inside), inside, -outside)
    return margin


def hull(points: Floats) -> Floats:
    """(n, 2) corners of the convex hull of points (k, 2), anticlockwise (Andrew's monotone chain, 1979)."""
    rows = np.unique(np.round(points, 9), axis=0)
    if len(rows) < 3:
        return rows
    half: list[list[Floats]] = []
    for run in (rows, rows[::-1]):
        chain: list[Floats] = []
        for point in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0:
                chain.pop()
            chain.append(point)
        half.append(chain[:-1])
    return np.array(half[0] + half[1])


def _turn(a: Floats, b: Floats, c: Floats) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
