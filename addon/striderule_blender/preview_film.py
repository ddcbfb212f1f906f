"""A film put together from pictures by Blender's sequencer, and rendering as one call that tells why it failed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import bpy

from striderule.errors import OutputError
from striderule.export.files import part_name

from . import bridge, compat


@dataclass(frozen=True)
class Held:
    """A picture shown for some frames. offset: of its centre from the film's, in pixels to the right and up."""

    picture: Path
    frames: int
    offset: tuple[float, float] = (0.0, 0.0)


def write_film(path: Path, rate: Fraction, size: tuple[int, int], tracks: Sequence[Sequence[Held]]) -> None:
    """Encode pictures, the lowest track first, each track's one after the other, under a temporary name first.

    The longest track says how long the film is. Raises OutputError.
    """
    film = bpy.data.scenes.new("Striderule film")
    part = part_name(path)
    try:
        render = film.render
        render.fps, render.fps_base = bridge.fps_of_rate(rate)
        render.resolution_x, render.resolution_y, render.resolution_percentage = *size, 100
        film.frame_start, film.frame_end = 1, max(sum(one.frames for one in track) for track in tracks)
        film.view_settings.view_transform, render.dither_intensity = "Standard", 0.0
        render.filepath, render.use_file_extension, render.use_sequencer = str(part), False, True
        for channel, track in enumerate(tracks, 1):
            first = 1
            for one in track:
                compat.hold_picture(film, one.picture, channel, first, one.frames, one.offset)
                first += one.frames
        compat.video_output(film)
        render_scene(path, scene=film.name, animation=True)
        part.replace(path)
    except OSError as error:
        raise OutputError(f"{path}: the preview could not be written: {error}") from error
    finally:
        part.unlink(missing_ok=True)
        bpy.data.scenes.remove(film)


def render_scene(path: Path, **options: Any) -> None:
    """Render by Blender's operator. path: what it is for, in a refusal. Raises OutputError."""
    try:
        done = bpy.ops.render.render(**options)
    except RuntimeError as error:
        raise OutputError(f"{path}: Blender could not render it: {error}") from error
    if "FINISHED" not in done:
        raise OutputError(f"{path}: Blender stopped rendering it.")
