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
from striderule.errors import ModelError, OutputError
from striderule.export.files import part_name
from striderule.model.view import View
from striderule.solve.plan import Plan

from . import bridge, compat, scene
from .preview_crop import Box, puppet_box, whole_box
from .preview_walks import PreviewWalk, on_the_spot, travelling
from .scene import studio

SAMPLES_OF_A_BOX, SAMPLES_OF_A_WHOLE = 3, 2
"""Rendered pixels along each side of a film's pixel. Workbench's own smoothing costs most of a second a picture where
there is no graphics card; more pixels of a small box cost a tenth of that."""

Progress = Callable[[int, int], object]
"""(pictures done, pictures in all)."""

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
    with tempfile.TemporaryDirectory(prefix="striderule-") as pictures, _stage(walk, spot) as stage:
        for view in walk.views:
            scene.look_through(stage, scene.camera_of(stage, view.name))
            shots = []
            plate = None if view.moving else Path(pictures) / f"{view.name}.png"
            samples = SAMPLES_OF_A_BOX if plate else SAMPLES_OF_A_WHOLE
            if plate:
                scene.hide_puppet(stage, True)
                _picture(stage, walk.plan, 0, whole_box(view), view, samples, plate)
                scene.hide_puppet(stage, False)
            for pose in walk.poses:
                path = Path(pictures) / f"{view.name}-{pose + 1:06d}.png"
                box = puppet_box(walk.plan, view, pose) if plate else whole_box(view)
                _picture(stage, walk.plan, pose, box, view, samples, path)
                shots.append((path, box.offset(view)))
                done += 1
                if progress:
                    progress(done, total)
            path = folder / preview_name(view.name, spot, block_through)
            _film(walk, view, plate, shots, path)
            written.append(path)
    return written


@contextmanager
def _stage(walk: PreviewWalk, spot: bool) -> Any:
    """A scene of our own that shows the walk, taken away at the end."""
    stage = bpy.data.scenes.new("Striderule preview")
    window = bpy.context.window or bpy.context.window_manager.windows[0]
    shown = window.scene
    try:
        window.scene = stage  # a scene that no window shows keeps its first frame, in renders too
        scene.build(stage, walk.plan, walk.views, scene.SceneSettings(0, 0, ruler=not spot))
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
    _render(path, scene=stage.name, write_still=True)
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


def _film(
    walk: PreviewWalk,
    view: View,
    plate: Path | None,
    shots: list[tuple[Path, tuple[float, float]]],
    path: Path,
) -> None:
    """Encode the pictures, each held for its frames over the plate, under a temporary name first."""
    film = bpy.data.scenes.new("Striderule film")
    part = part_name(path)
    try:
        render, rate = film.render, walk.plan.shot.rate
        render.fps, render.fps_base = bridge.fps_of_rate(rate)
        render.resolution_x, render.resolution_y, render.resolution_percentage = view.width, view.height, 100
        film.frame_start, film.frame_end = 1, len(walk.frames)
        film.view_settings.view_transform, render.dither_intensity = "Standard", 0.0
        render.filepath, render.use_file_extension, render.use_sequencer = str(part), False, True
        if plate:
            compat.hold_picture(film, plate, 1, 1, len(walk.frames))
        first = 1
        for picture, held in groupby(walk.frames):
            frames = len(list(held))
            compat.hold_picture(film, shots[picture][0], 2, first, frames, shots[picture][1])
            first += frames
        compat.video_output(film)
        _render(path, scene=film.name, animation=True)
        part.replace(path)
    except OSError as error:
        raise OutputError(f"{path}: the preview could not be written: {error}") from error
    finally:
        part.unlink(missing_ok=True)
        bpy.data.scenes.remove(film)


def _render(path: Path, **options: Any) -> None:
    try:
        done = bpy.ops.render.render(**options)
    except RuntimeError as error:
        raise OutputError(f"{path}: Blender could not render it: {error}") from error
    if "FINISHED" not in done:
        raise OutputError(f"{path}: Blender stopped rendering it.")
