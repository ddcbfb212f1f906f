"""Soles against a stage's edges and obstacles, beside an independent library."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from striderule.check.stage import off_stage_mm, on_obstacle_mm
from striderule.model.stage import Obstacle, Stage


def test_soles_against_edges_and_obstacles_agree_with_shapely():
    """Shapely's polygons and distances, an independent library."""
    number = np.random.default_rng(5)
    for _ in range(300):
        turn, (x, y) = number.uniform(-3, 3), number.uniform(-60, 60, 2)
        box = np.array(((-14, -16), (50, -16), (50, 16), (-14, 16)), float)
        c, s = np.cos(turn), np.sin(turn)
        corners = box @ np.array(((c, s), (-s, c))) + (x, y)
        obstacle = Obstacle(tuple(number.uniform(-60, 60, 2).tolist()), float(number.uniform(1, 30)))
        sole, middle = Polygon(corners), Point(obstacle.at_mm)
        depth = float(on_obstacle_mm(obstacle, corners[None])[0])
        if not sole.contains(middle):
            assert depth == pytest.approx(max(obstacle.radius_mm - sole.distance(middle), 0.0), abs=1e-6)
        else:
            assert depth == pytest.approx(obstacle.radius_mm + sole.exterior.distance(middle), abs=1e-6)
        stage = Stage(along_mm=(-50.0, 70.0), across_mm=(-40.0, 40.0))
        inside = Polygon(((-50, -40), (70, -40), (70, 40), (-50, 40))).covers(sole)
        assert (float(off_stage_mm(stage, corners[None])[0]) == 0) == inside
