"""The projection against OpenCV (opencv-python-headless), the reference for its own camera convention."""

from __future__ import annotations

import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage, plane_from_pixels
from striderule.camera.placing import look_at
from striderule.draw.layers import ShotDrawings
from striderule.draw.raster import render
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.view import View
from striderule.solve import solve

LENSES = {
    "plain": (0.0, 0.0, 0.0, 0.0, 0.0),
    "barrel": (-0.25, 0.08, 0.001, -0.0008, -0.01),
    "pincushion": (0.12, -0.03, -0.0006, 0.0011, 0.004),
}
FRAMES = {
    "1080p": (1920, 1080, 1920.0, 1920.0),
    "portrait": (1080, 1920, 2400.0, 2400.0),
    "not square": (1440, 1080, 1500.0, 2000.0),
    "still": (6000, 4000, 8333.0, 8333.0),
}


def view_of(lens: str, frame: str) -> View:
    width, height, fx, fy = FRAMES[frame]
    eye = np.array((310.0, -780.0, 260.0))
    rotation = look_at(eye, np.array((100.0, 20.0, 90.0)))
    centre = (width - 1) / 2 + 7.3, (height - 1) / 2 - 4.1
    return View("outside", width, height, fx, fy, *centre, rotation, -rotation @ eye, LENSES[lens])


def opencv_pixels(view: View, points: np.ndarray) -> np.ndarray:
    import cv2

    turn, _ = cv2.Rodrigues(view.rotation)
    matrix = np.array([(view.fx, 0, view.cx), (0, view.fy, view.cy), (0, 0, 1.0)])
    flat = np.ascontiguousarray(points.reshape(-1, 1, 3))
    pixels, _ = cv2.projectPoints(flat, turn, view.translation_mm, matrix, np.array(view.distortion))
    return pixels.reshape(*points.shape[:-1], 2)


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("lens", LENSES)
def test_pixels_are_those_of_opencv(lens, frame):
    """cv2.projectPoints, to 1e-6 px wherever its result lies in the frame."""
    view = view_of(lens, frame)
    points = np.random.default_rng(7).uniform((-200, -150, 0), (400, 150, 250), (4000, 3))
    ours, depth = pixels_from_stage(view, points)
    theirs = opencv_pixels(view, points)
    inside = ((theirs > -0.5) & (theirs < (view.width - 0.5, view.height - 0.5))).all(axis=1) & (depth > 0)
    assert inside.sum() > 500
    assert np.abs(ours - theirs)[inside].max() < 1e-6


@pytest.mark.parametrize("lens", LENSES)
def test_undistorted_places_are_those_of_opencv(lens):
    """cv2.undistortPointsIter, run to 1e-12."""
    import cv2

    view = view_of(lens, "1080p")
    pixels = np.stack(np.meshgrid(np.linspace(0, 1919, 12), np.linspace(0, 1079, 9)), axis=-1).reshape(-1, 1, 2)
    matrix = np.array([(view.fx, 0, view.cx), (0, view.fy, view.cy), (0, 0, 1.0)])
    until = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 500, 1e-14)
    theirs = cv2.undistortPointsIter(pixels, matrix, np.array(view.distortion), None, None, until)
    assert np.abs(plane_from_pixels(view, pixels) - theirs).max() < 1e-9


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("lens", ["plain", "barrel"])
def test_the_painted_target_has_its_centroid_where_opencv_projects_the_reference_point(lens, frame):
    """cv2.projectPoints against the alpha-weighted centroid of the painted layer, to 0.1 px; its centre is open."""
    plan = solve(load_shot(starter_paths()["lamplighter"]))
    view = view_of(lens, frame)
    drawings = ShotDrawings(plan, view)
    expected = opencv_pixels(view, plan.reference_mm)
    room = 40 * view.height / 1080
    whole = np.flatnonzero(((expected > room) & (expected < (view.width - room, view.height - room))).all(axis=1))
    assert len(whole) >= 3
    for pose in whole[[0, len(whole) // 2, -1]].tolist():
        alpha = render([drawings.layer("target", pose)], view.width, view.height).rgba8()[..., 3].astype(float)
        across, down = np.arange(view.width), np.arange(view.height)
        centroid = np.array((alpha.sum(axis=0) @ across, alpha.sum(axis=1) @ down)) / alpha.sum()
        assert np.abs(centroid - expected[pose]).max() < 0.1
        x, y = expected[pose]
        open_centre = np.hypot(across - x, (down - y)[:, None]) < 4.0 * view.height / 1080
        assert not alpha[open_centre].any()
