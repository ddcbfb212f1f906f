"""The walk as a .blend file of its own, which opens and plays without the add-on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import bpy

from striderule.errors import OutputError
from striderule.export.files import part_name
from striderule.model.shotfile import dump_shot
from striderule.model.view import View
from striderule.solve.plan import Plan

from . import scene
from .scene import studio


def build_scene_file(plan: Plan, views: Sequence[View], path: Path, *, ghosts: int = 2) -> None:
    """Write `plan` as a compressed .blend file that looks through the first view. Replaces the file in memory.

    ghosts: poses shown before and after. For the command line, whose Blender has nothing else open. Raises
    OutputError.
    """
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    stage = bpy.context.scene
    stage.name = plan.shot.name[:60]
    scene.build(stage, plan, views, scene.SceneSettings(ghosts, ghosts, text=dump_shot(plan.shot)))
    studio.light(stage)
    studio.arrange_windows(plan)
    stage.frame_set(1)
    part = part_name(path)
    try:
        bpy.ops.wm.save_as_mainfile(filepath=str(part), copy=True, compress=True, relative_remap=True)
        part.replace(path)
    except (RuntimeError, OSError) as error:
        part.unlink(missing_ok=True)
        raise OutputError(f"{path}: the Blender file could not be written: {error}") from error
