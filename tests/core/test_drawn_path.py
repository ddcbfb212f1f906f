"""A walk along a drawn line."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from striderule.adjust.drawn_path import NEAR_MM, off_line_mm, with_drawn_path, without_path
from striderule.errors import GeometryError
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.model.track import track_of
from striderule.solve import solve


@pytest.fixture
def heron():
    return load_shot(starter_paths()["heron"])


def wave(turned: float = 0.0) -> np.ndarray:
    x = np.linspace(0, 900, 400)
    line = np.stack((x, 80 * np.sin(x / 140)), axis=1)
    c, s = math.cos(turned), math.sin(turned)
    return line @ np.array([[c, s], [-s, c]]) + (130, -70)


LINES = {
    "straight": np.array([[20.0, 10.0], [620.0, 10.0]]),
    "straight aside": np.array([[0.0, 0.0], [-200.0, 500.0]]),
    "wave": wave(),
    "wave turned": wave(2.3),
    "circle": 300 * np.stack((np.cos(np.linspace(0, 2 * np.pi, 200)), np.sin(np.linspace(0, 2 * np.pi, 200))), axis=1),
}


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_the_walk_follows_the_line_from_end_to_end_with_few_points(heron, line):
    shot = with_drawn_path(heron, line)
    track = track_of(shot.path, shot.stage.start_mm)
    assert off_line_mm(track, line) < NEAR_MM
    length = np.hypot(*np.diff(line, axis=0).T).sum()
    assert track.length_mm == pytest.approx(length, rel=0.002)
    assert len(shot.path[0].points_mm) <= 40
    plan = solve(shot)
    assert np.abs(plan.reference_mm[0, :2] - line[0]).max() < 6, "the body is over the line's first place"
    assert np.abs(plan.reference_mm[-1, :2] - line[-1]).max() < 6
    assert shot.settled_walk.steps * shot.settled_walk.step_mm == pytest.approx(length, rel=0.002)
    assert abs(shot.settled_walk.step_mm - 80) < 6
    assert parse_shot(dump_shot(shot), "t.toml") == shot
    still = np.abs(np.diff(plan.ankle_mm, axis=0))[(plan.state[1:] == 0) & (plan.state[:-1] == 0)]
    assert still.max() < 1e-9


def test_a_straight_line_is_one_point(heron):
    assert len(with_drawn_path(heron, LINES["straight"]).path[0].points_mm) == 1


def test_steps_stay_where_they_are_not_to_be_fitted(heron):
    shot = with_drawn_path(heron, LINES["wave"], fit_steps=False)
    assert shot.walk == heron.walk
    assert len(solve(shot).footing.step) == len(solve(heron).footing.step)


def test_without_the_path_the_walk_has_the_steps_it_had(heron):
    drawn = with_drawn_path(heron, LINES["straight"])
    back = without_path(drawn, drawn.settled_walk.steps)
    assert back.path == ()
    assert back.walk.steps == 8
    assert without_path(heron, 3).walk.steps == 6


@pytest.mark.parametrize("line", [np.zeros((0, 2)), np.zeros((5, 2)), np.array([[0.0, 0.0], [0.6, 0.0]])])
def test_a_line_with_no_way_to_go_is_refused(heron, line):
    with pytest.raises(GeometryError, match="path: expected a line"):
        with_drawn_path(heron, line)


def test_typed_distance_gives_way_to_the_lines_length(heron):
    long = replace(heron, walk=replace(heron.walk, steps=None, distance_mm=400.0))
    assert with_drawn_path(long, LINES["straight"]).walk.distance_mm is None
