"""A floor sampled along the track."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.adjust.sampled_floor import with_sampled_floor
from striderule.errors import GeometryError
from striderule.model.path import PathPiece
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import solve
from striderule.solve.ground import ground_of


@pytest.fixture
def heron():
    return load_shot(starter_paths()["heron"])


def test_a_level_surface_is_two_heights(heron):
    shot = with_sampled_floor(heron, lambda at: np.full(len(at), 5.0), "board")
    assert [height for _, height in shot.floor.heights_mm] == [5.0, 5.0]
    assert solve(shot).ankle_mm[0, :, 2] == pytest.approx(solve(heron).ankle_mm[0, :, 2] + 5)


def test_a_rolling_surface_is_followed_to_a_tenth_of_a_millimetre_by_few_heights(heron):
    def hills(at):
        return 6 * np.sin(at[:, 0] / 90)

    floor = with_sampled_floor(heron, hills, "hills").floor
    x = np.linspace(-80, 560, 2000)
    off = np.abs(ground_of(floor).height(x) - hills(np.stack((x, x), axis=1)))
    assert off.max() < 0.12
    assert len(floor.heights_mm) < 60


def test_a_step_of_the_surface_is_an_edge_at_its_place(heron):
    floor = with_sampled_floor(heron, lambda at: np.where(at[:, 0] > 123.45, 7.0, 0.0), "steps").floor
    assert floor.heights_mm[1:3] == ((123.45, 0.0), (123.45, 7.0))
    assert len(floor.heights_mm) == 4
    plan = solve(replace(heron, floor=floor))
    assert {round(float(z), 6) for z in plan.footing.place_mm[:, 2]} == {0.0, 7.0}


def test_on_a_path_the_surface_is_looked_up_under_the_track(heron):
    path = (PathPiece(turn_deg=90, radius_mm=200), PathPiece(straight_mm=200))
    shot = with_sampled_floor(replace(heron, path=path), lambda at: 0.1 * at[:, 1], "slope")
    plan = solve(shot)
    middle = plan.reference_mm[:, 1]
    assert np.abs(plan.floor_mm - 0.1 * middle).max() < 4


def test_a_surface_that_ends_under_the_track_is_refused_with_its_place(heron):
    with pytest.raises(GeometryError, match=r"^board: expected a surface under all of the track, .* 30\d mm along it"):
        with_sampled_floor(heron, lambda at: np.where(at[:, 0] > 300, np.nan, 0.0), "board")
