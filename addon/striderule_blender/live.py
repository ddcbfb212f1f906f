"""A walk that changes while its numbers are edited and its handles are dragged.

An edit is only noted; the walk is solved when Blender is idle, or at once by flush().
"""

from __future__ import annotations

from typing import Any

import bpy
from bpy.app.handlers import persistent

from striderule.errors import StrideruleError
from striderule.model.view import View
from striderule.solve import Plan

from . import following, reporting, scene
from .edit_values import with_drags
from .showing import edited_shot, forget, is_filling, settings_of, shot_of, show, shown_of, solved, state_of

__all__ = [
    "edited_shot",
    "flush",
    "forget",
    "go_to_edit",
    "go_to_finding",
    "is_filling",
    "plan_of",
    "register",
    "schedule",
    "settings_of",
    "shot_of",
    "show",
    "shown_of",
    "unregister",
]

DELAY = 0.08
"""Seconds that an edit rests before the walk is solved: a dragged slider solves once, not at every pixel."""


def plan_of(stage: Any) -> tuple[Plan, tuple[View, ...]] | None:
    """The plan and the views of what is on show, edits that still wait included. Raises StrideruleError."""
    flush(stage)
    text = scene.read_text(stage)
    return solved(text, settings_of(stage).variant) if text else None


def flush(stage: Any, force: bool = False) -> bool:
    """Solve and show the edits of `stage` now. True where something was built; a refusal is kept for the panel.

    force: build even where the properties are those of the shot on show, handles back where they were built.
    """
    settings = settings_of(stage)
    if settings.filling:
        return False
    try:
        shot = edited_shot(stage)
        drags = [] if force else list(scene.dragged(stage))
        redrawn = not force and shot is not None and following.has_changed(stage)
        if shot is None or (state_of(stage, shot) == settings.built and not (drags or redrawn or force)):
            settings.refusal = ""
            return False
        if drags:
            plan, _ = solved(scene.read_text(stage), settings.variant)
            shot = with_drags(shot, shown_of(shot, settings.variant), plan, drags, settings.edits.pin == "PIN")
        if redrawn:
            shot = following.along_curve(stage, shot)
        show(stage, shot)
    except StrideruleError as error:
        settings.refusal = reporting.message(error)
        return False
    return True


def schedule(stage: Any) -> None:
    """Note that something of `stage` was edited; several edits in a row are solved once."""
    if is_filling(stage):
        return
    if bpy.app.timers.is_registered(_flush_all):
        bpy.app.timers.unregister(_flush_all)
    bpy.app.timers.register(_flush_all, first_interval=DELAY)


def _flush_all(force: bool = False) -> None:
    for stage in bpy.data.scenes:
        if stage.library is None and scene.set_collection(stage):
            dragged = not force and any(scene.dragged(stage))
            redrawn = not force and following.has_changed(stage)
            if flush(stage, force) and (dragged or redrawn):
                _remember("Drag Footfall" if dragged else "Follow Curve")
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            area.tag_redraw()


def _build_all() -> None:
    _flush_all(force=True)


def _remember(message: str) -> None:
    """Store an undo step of what a timer did. While something is being moved there is no need: moving ends with one."""
    for window in bpy.context.window_manager.windows:
        if not window.modal_operators:
            with bpy.context.temp_override(window=window):
                bpy.ops.ed.undo_push(message=message)
        return


def go_to_finding(stage: Any) -> None:
    """Show the first frame of the finding that is picked in the list."""
    settings = settings_of(stage)
    _go_to(stage, settings.findings, settings.finding)


def go_to_edit(stage: Any) -> None:
    """Show the frame of the edit that is picked in the list."""
    edits = settings_of(stage).edits
    _go_to(stage, edits.rows, edits.row)


def _go_to(stage: Any, rows: Any, row: int) -> None:
    if not is_filling(stage) and 0 <= row < len(rows) and rows[row].frame:
        stage.frame_set(rows[row].frame)


@persistent
def _after_update(stage: Any, depsgraph: Any) -> None:
    """Note dragged handles and a changed curve. Called in every frame that is played, so it looks at little."""
    settings = settings_of(stage)
    if settings.filling or not (settings.edits.handles or settings.ground.curve):
        return
    changed = [(one.id.original, one.is_updated_transform) for one in depsgraph.updates]
    moved = settings.edits.handles and any(turned and scene.is_handle(one) for one, turned in changed)
    if (moved and any(scene.dragged(stage))) or any(following.concerns(stage, one) for one, _ in changed):
        schedule(stage)


@persistent
def _after_undo(*_: Any) -> None:
    """Build anew from the properties after undo and redo.

    An edit's undo step is stored before the walk is solved, and undo leaves a data-block alone that is the same in both
    steps, whatever was written to it since. So properties are right after an undo, and what was built may not be.
    """
    if not bpy.app.timers.is_registered(_build_all):
        bpy.app.timers.register(_build_all, first_interval=0.0)


_HANDLERS = (("undo_post", _after_undo), ("redo_post", _after_undo), ("depsgraph_update_post", _after_update))


def register() -> None:
    """Follow undo, redo and what is dragged."""
    for name, handler in _HANDLERS:
        getattr(bpy.app.handlers, name).append(handler)


def unregister() -> None:
    """Stop following, and drop an edit that still waits."""
    for name, handler in _HANDLERS:
        getattr(bpy.app.handlers, name).remove(handler)
    for timer in (_flush_all, _build_all):
        if bpy.app.timers.is_registered(timer):
            bpy.app.timers.unregister(timer)
