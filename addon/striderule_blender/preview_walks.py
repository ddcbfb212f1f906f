"""Which walk a preview shows: the shot's own, made longer by whole strides, or one stride over a floor that runs by.

A walk is solved in microseconds a pose, so a longer preview is a longer walk and not a picture pushed along: puppet,
marks and prints all go on, and there is no seam to jump at.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from striderule.camera.placing import views_of
from striderule.model.shot import Shot
from striderule.model.view import BUILT_IN_VIEWS, View
from striderule.solve import Plan, solve

LEAST_SECONDS = 8
ALONG_DEG = 25.0
SIZE = (1280, 720)
"""Width and height that a preview's picture fits into."""


@dataclass(frozen=True, eq=False)
class PreviewWalk:
    """plan: the walk whose pictures are taken; views: what they are seen through; poses: pose index of every picture
    that is needed; frames: for each film frame the index into `poses` of the picture it shows.
    floor_mm: (P,) how far along the floor's plain surface is carried with the puppet."""

    plan: Plan
    views: tuple[View, ...]
    poses: tuple[int, ...]
    frames: tuple[int, ...]
    floor_mm: np.ndarray


def longer(shot: Shot, seconds: float = LEAST_SECONDS) -> Shot:
    """The shot with as many whole strides more as make it last at least `seconds`; as it is where strides differ."""
    n, held, steps = shot.walk.poses_per_step, shot.frames_per_pose, len(shot.laid_out.kind)
    frames = math.ceil(seconds * shot.rate)
    missing = frames - shot.poses * held
    strides = max(0, math.ceil(missing / (2 * n * held)))
    return shot.with_steps(steps + 2 * strides) if shot.repeats and strides else shot


def travelling(plan: Plan, views: Sequence[View], block_through: bool = False) -> PreviewWalk:
    """The puppet walks through the picture; built-in cameras stand where the longer walk needs them."""
    shot = longer(plan.shot)
    walk = plan if shot == plan.shot else solve(shot)
    seen = views if walk is plan else _placed_again(walk, views)
    poses, frames = _held(walk, range(walk.poses), block_through)
    return PreviewWalk(walk, tuple(fitted(view) for view in seen), poses, frames, np.zeros(walk.poses))


def on_the_spot(plan: Plan, views: Sequence[View], block_through: bool = False) -> PreviewWalk:
    """One stride from the middle of a long walk, the camera near the body and moving along with it, repeated until it
    lasts."""
    shot = replace(plan.shot, walk=replace(plan.shot.walk, on_the_spot=False))
    n = shot.walk.poses_per_step
    stride = solve(shot.with_steps(2))
    move = (stride.reference_mm[2 * n] - stride.reference_mm[0]) / (2 * n)
    seen = _placed_again(stride, views, close=True)
    away = max(float(np.linalg.norm(view.translation_mm)) for view in seen)
    # As many strides on either side as a camera sees prints of.
    beside = min(200, math.ceil(2 * away / max(float(np.linalg.norm(2 * n * move)), 1.0)) + 1)
    steps = len(shot.laid_out.kind)
    first_step = steps - steps % 2 + 2 * beside
    walk = solve(shot.with_steps(first_step + 2 + 2 * beside))
    first = first_step * n
    shift = walk.reference_mm[first] - stride.reference_mm[0]
    shift[1:] = 0.0
    travel = shift + (np.arange(walk.poses) - first)[:, None] * move
    moved: list[View] = []
    for view in seen:
        start = view.translations_mm[0] if view.translations_mm is not None else view.translation_mm
        moved.append(fitted(replace(view, translations_mm=start - travel @ view.rotation.T)))
    poses, frames = _held(walk, range(first, first + 2 * n), block_through)
    repeats = math.ceil(LEAST_SECONDS * shot.rate / len(frames))
    return PreviewWalk(walk, tuple(moved), poses, frames * repeats, travel[:, 0])


def _placed_again(walk: Plan, views: Sequence[View], close: bool = False) -> list[View]:
    """The same views for a longer or shorter walk: built-in ones placed anew, a camera of the user's own as it is.

    close: as near as a camera that goes along may stand.
    """
    anew = {view.name: view for view in views_of(walk, close) if view.name in BUILT_IN_VIEWS}
    placed = {camera.name for camera in walk.shot.cameras if camera.place_mm is not None}
    return [view if view.name in placed else anew.get(view.name, view) for view in views]


def _held(walk: Plan, poses: range, block_through: bool) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """(poses that get a picture, picture of every film frame). Block-through: key poses, each held until the next."""
    shown = [k for k in poses if not block_through or walk.keys[k] != "in-between" or k == poses[0]]
    starts = [int(walk.first_frame[k]) for k in shown] + [int(walk.last_frame[poses[-1]]) + 1]
    frames = [i for i, (a, b) in enumerate(pairwise(starts)) for _ in range(b - a)]
    return tuple(shown), tuple(frames)


def along_track(walk: Plan, view: View) -> bool:
    """True where the view looks along the walk within ALONG_DEG, so that its track stands before the puppet."""
    way = walk.reference_mm[-1] - walk.reference_mm[0]
    length = float(np.linalg.norm(way))
    return length > 1.0 and abs(float(view.rotation[2] @ way)) / length > math.cos(math.radians(ALONG_DEG))


def fitted(view: View) -> View:
    """The same view in other pixels: the largest picture of its shape that SIZE holds, with even sides for video.
    Lens distortion, which Blender does not render, is left out."""
    return scaled(view, min(SIZE[0] / view.width, SIZE[1] / view.height))


def scaled(view: View, share: float) -> View:
    """The same view in a picture of another size with even sides, without lens distortion.

    Pixels are centred on whole numbers, so a scale s takes c to (c + 0.5) s - 0.5.
    """
    width, height = (max(2, 2 * round(one * share / 2)) for one in (view.width, view.height))
    x, y = width / view.width, height / view.height
    return replace(
        view,
        width=width,
        height=height,
        distortion=(0.0, 0.0, 0.0, 0.0, 0.0),
        fx=view.fx * x,
        fy=view.fy * y,
        cx=(view.cx + 0.5) * x - 0.5,
        cy=(view.cy + 0.5) * y - 0.5,
    )
