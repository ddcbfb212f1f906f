"""Previews: the walk as a film per view. One picture a pose from Workbench, holds and repeats by the sequencer."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from contextlib import contextmanager
from itertools import groupby
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import numpy.typing as npt

from striderule.draw.png import encode
from striderule.errors import ModelError
from striderule.model.view import View
from striderule.solve.plan import Plan

from . import compat, scene
from .preview_crop import Box, puppet_box, whole_box
from .preview_film import Held, render_scene, write_film
from .preview_walks import PreviewWalk, along_track, on_the_spot, travelling
from .scene import studio

SAMPLES_OF_A_BOX, SAMPLES_OF_A_WHOLE = 3, 2
"""Rendered pixels along each side of a film's pixel. Workbench's own smoothing costs most of a second a picture where
there is no graphics card; more pixels of a small box cost a tenth of that."""

Progress = Callable[[int, int], object]
"""(pictures done, pictures in all)."""

Shown = tuple[Path, tuple[float, float]]
"""A picture, and where its centre lies from the film's: pixels to the right and up."""

DEFAULT_VIEWS = ("side-on", "three-quarter-front")


def preview_name(view: str, spot: bool = False, block_through: bool = False) -> str:
    """File name of a preview."""
    return f"preview_{view}{'_on-the-spot' if spot else ''}{'_block-through' if block_through else ''}.mp4"


def render_previews(
    plan: Plan,
    views: Sequence[View],
    names: Sequence[str],
    folder: Path,
    *,
    spot: bool = False,
    block_through: bool = False,
    progress: Progress | None = None,
) -> list[Path]:
    """Write one film per named view into `folder`, at the shot's rate and at least 8 s long. Returns the files.

    spot: on the spot, the floor moving under the puppet; otherwise it travels. block_through: only key poses, each
    held for its time. Works in a scene of its own that is gone afterwards. Raises ModelError for an unknown view,
    OutputError.
    """
    by_name = {view.name: view for view in views}
    for name in names:
        if name not in by_name:
            raise ModelError("views", "views out of " + ", ".join(by_name), repr(name))
    seen = [by_name[name] for name in names]
    walk = (on_the_spot if spot else travelling)(plan, seen, block_through)
    written, done, total = [], 0, len(seen) * len(walk.poses)
    folder.mkdir(parents=True, exist_ok=True)
    settings = scene.SceneSettings(0, 0, ruler=not spot)
    with tempfile.TemporaryDirectory(prefix="striderule-") as pictures, preview_stage(walk, settings, spot) as stage:
        for view in walk.views:

            def tell(number: int, before: int = done) -> None:
                if progress:
                    progress(before + number, total)

            plate, shots = pictures_of(stage, walk, view, Path(pictures), tell)
            done += len(walk.poses)
            path = folder / preview_name(view.name, spot, block_through)
            _film(walk, view, plate, shots, path)
            written.append(path)
    return written


def pictures_of(
    stage: Any, walk: PreviewWalk, view: View, folder: Path, tell: Callable[[int], object] | None = None
) -> tuple[Path | None, list[Shown]]:
    """Render the walk's poses through one of its views, and what stands still behind them.

    Returns (background without the puppet, None where the camera moves; picture and offset of every pose). tell: told
    how many poses are done. Raises OutputError.
    """
    scene.look_through(stage, scene.camera_of(stage, view.name))
    scene.hide(stage, ("tracks",), along_track(walk.plan, view))  # they would bury the puppet
    shots: list[Shown] = []
    moving = view.moving or walk.plan.shot.walk.on_the_spot  # what stands still behind a moving floor is little
    plate = None if moving else folder / f"{view.name}.png"
    samples = SAMPLES_OF_A_BOX if plate else SAMPLES_OF_A_WHOLE
    if plate:
        scene.hide(stage, ("puppet", "marks"), True)
        _picture(stage, walk.plan, 0, whole_box(view), view, samples, plate)
        scene.hide(stage, ("puppet", "marks"), False)
    for number, pose in enumerate(walk.poses, 1):
        path = folder / f"{view.name}-{pose + 1:06d}.png"
        box = puppet_box(walk.plan, view, pose) if plate else whole_box(view)
        _picture(stage, walk.plan, pose, box, view, samples, path)
        shots.append((path, box.offset(view)))
        if tell:
            tell(number)
    return plate, shots


@contextmanager
def preview_stage(walk: PreviewWalk, settings: scene.SceneSettings, spot: bool = False) -> Any:
    """A scene of our own that shows the walk, taken away at the end. spot: its floor is carried along."""
    stage = bpy.data.scenes.new("Striderule preview")
    window = bpy.context.window or bpy.context.window_manager.windows[0]
    shown = window.scene
    try:
        window.scene = stage  # a scene that no window shows keeps its first frame, in renders too
        scene.build(stage, walk.plan, walk.views, settings)
        if spot:
            scene.carry_floor(stage, walk.plan, walk.floor_mm)
        studio.light(stage, oversampled=True)
        compat.still_output(stage)
        yield stage
    finally:
        window.scene = shown
        stage.world = None
        scene.remove(stage)
        bpy.data.scenes.remove(stage)


def _picture(stage: Any, plan: Plan, pose: int, box: Box, view: View, samples: int, path: Path) -> None:
    """Render a pose inside a box of the view's picture, each pixel the mean of samples x samples rendered ones."""
    stage.frame_set(int(plan.first_frame[pose]))
    scene.aim(stage, box.view(view, samples))
    stage.render.filepath = str(path)
    render_scene(path, scene=stage.name, write_still=True)
    path.write_bytes(encode(np.round(_means(path, samples)).astype(np.uint8)))


def _means(path: Path, samples: int) -> npt.NDArray[np.float32]:
    """(height, width, 4) of a picture made smaller, 0..255, the top row first."""
    image = bpy.data.images.load(str(path))
    try:
        image.colorspace_settings.name = "Non-Color"
        width, height = image.size
        pixels = np.empty(4 * width * height, np.float32)
        image.pixels.foreach_get(pixels)
    finally:
        bpy.data.images.remove(image)
    rows = pixels.reshape(height // samples, samples, width // samples, samples, 4)
    return 255 * rows.mean(axis=(1, 3))[::-1]


def _film(walk: PreviewWalk, view: View, plate: Path | None, shots: list[Shown], path: Path) -> None:
    """The pictures, each held for its frames over the plate."""
    held = [Held(shots[k][0], len(list(run)), shots[k][1]) for k, run in groupby(walk.frames)]
    tracks = [[Held(plate, len(walk.frames))], held] if plate else [held]
    write_film(path, walk.plan.shot.rate, (view.width, view.height), tracks)
