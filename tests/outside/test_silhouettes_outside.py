"""Outlines of unions against shapely (GEOS)."""

from __future__ import annotations

import numpy as np
import pytest

from striderule.draw.silhouettes import hull_of_discs, hull_of_points, union_outline


@pytest.mark.parametrize("seed", range(4))
def test_unions_of_random_limbs_and_blocks_are_those_of_shapely(seed):
    """Area and length of shapely.unary_union's boundary to 1e-6, corners on a coarse grid (shared edges) included."""
    from shapely import unary_union
    from shapely.geometry import Polygon

    random = np.random.default_rng(seed)
    for _ in range(120):
        pieces = [hull_of_discs(*random.uniform(0, 100, (2, 2)), *random.uniform(2, 25, 2), 0.05) for _ in range(3)]
        pieces += [hull_of_points(random.integers(0, 11, (8, 2)) * 10.0) for _ in range(random.integers(0, 4))]
        pieces += [hull_of_points(random.uniform(0, 100, (8, 2)))]
        pieces = [piece for piece in pieces if len(piece) > 2]
        rings = union_outline(pieces, 1e-7)
        after = [np.roll(ring, -1, axis=0) for ring in rings]
        area = sum(0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() for a, b in zip(rings, after, strict=True))
        length = sum(np.hypot(*(b - a).T).sum() for a, b in zip(rings, after, strict=True))
        union = unary_union([Polygon(piece) for piece in pieces])
        assert area == pytest.approx(union.area, rel=1e-6)
        assert length == pytest.approx(union.length, rel=1e-6)
