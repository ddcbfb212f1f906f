"""A walk that changes while its numbers are edited: text (the truth) -> Shot -> Plan -> scene, findings and
properties.

An edit is only noted; the walk is solved when Blender is idle, or at once by flush().
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import bpy
from bpy.app.handlers import persistent

from striderule.adjust.variants import with_edited
from striderule.camera.framing import framing_findings
from striderule.camera.placing import views_of
from striderule.check import findings_of, in_order
from striderule.errors import StrideruleError
from striderule.model.identity import shot_identity
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, parse_shot
from striderule.model.view import View
from striderule.solve import Plan, solve

from . import bridge, reporting, scene
from .ids import PROPERTY

DELAY = 0.08
"""Seconds that an edit rests before the walk is solved: a dragged slider solves once, not at every pixel."""


def settings_of(stage: Any) -> Any:
    """Our settings of a scene."""
    return getattr(stage, PROPERTY)


def is_filling(stage: Any) -> bool:
    """True while properties are being set from the shot, when their update callbacks must stay quiet."""
    return settings_of(stage).filling


@lru_cache(maxsize=4)
def _parsed(text: str) -> Shot:
    return parse_shot(text, scene.TEXT)


@lru_cache(maxsize=8)
def _solved(text: str, variant: str) -> tuple[Plan, tuple[View, ...]]:
    plan = solve(shown_of(_parsed(text), variant))
    return plan, views_of(plan)


def shown_of(shot: Shot, variant: str) -> Shot:
    """The shot as it is on show: a variant of it, or itself ("")."""
    return shot.with_variant(variant) if variant else shot


def shot_of(stage: Any) -> Shot | None:
    """The shot that the scene's text holds, None where it has none. Raises FileError where the text is no shot."""
    text = scene.read_text(stage)
    return _parsed(text) if text else None


def plan_of(stage: Any) -> tuple[Plan, tuple[View, ...]] | None:
    """The plan and the views of what is on show, edits that still wait included. Raises StrideruleError."""
    flush(stage)
    text = scene.read_text(stage)
    return _solved(text, settings_of(stage).variant) if text else None


def edited_shot(stage: Any) -> Shot | None:
    """The scene's shot with the values of the properties, which are those of the variant on show. Raises ModelError."""
    shot, settings = shot_of(stage), settings_of(stage)
    if shot is None or (settings.variant and settings.variant not in {one.name for one in shot.variants}):
        return shot
    base = replace(shown_of(shot, settings.variant), name=shot.name)
    hips = bridge.model_from_properties(settings.hips, base.walk.hips)
    walk = bridge.model_from_properties(settings.walk, replace(base.walk, hips=hips))
    chosen = tuple(view.name for view in settings.views if view.export)
    overlay = replace(bridge.model_from_properties(settings.overlay, base.overlay), views=chosen)
    edited = bridge.model_from_properties(settings.shot, replace(base, walk=walk, overlay=overlay))
    if not settings.variant:
        return edited
    main = replace(shot, name=edited.name, overlay=overlay)
    return with_edited(main, settings.variant, edited, settings.variant_title)


def show(stage: Any, shot: Shot, variant: str | None = None) -> Plan:
    """Make `shot` the scene's: text, set, properties and findings. Raises StrideruleError before anything changes.

    variant: which of its walks to show and to edit, "" = the main one; None = the one on show, if it has it.
    """
    settings, text = settings_of(stage), dump_shot(shot)
    if variant is None:
        variant = settings.variant if settings.variant in {one.name for one in shot.variants} else ""
    plan, views = _solved(text, variant)
    chosen = [view for view in views if view.name in shot.overlay.views]
    findings = in_order([*findings_of(plan), *framing_findings(plan, chosen)])
    beside = _beside(shot, text, variant) if settings.side_by_side and shot.variants else ()
    look = scene.SceneSettings(settings.ghosts_before, settings.ghosts_after, text=text, beside=beside)
    scene.build(stage, plan, views, look)
    settings.filling = True
    try:
        seen, walk = plan.shot, plan.shot.settled_walk
        bridge.fill_properties(settings.shot, replace(seen, name=shot.name), seen)
        bridge.fill_properties(settings.walk, seen.walk, walk)
        bridge.fill_properties(settings.hips, seen.walk.hips, walk.hips)
        _fill_variants(settings, shot, variant)
        bridge.fill_properties(settings.overlay, shot.overlay, shot.overlay)
        if [view.name for view in settings.views] != [view.name for view in views]:
            settings.views.clear()
            for view in views:
                settings.views.add().name = view.name
        for row in settings.views:
            row.export = row.name in shot.overlay.views
        settings.findings.clear()
        for finding in findings:
            row = settings.findings.add()
            row.severity, row.text = finding.severity, finding.text
            row.cure = finding.cures[0].text if finding.cures else ""
            row.frame = int(plan.first_frame[finding.first - 1]) if finding.first else 0
        settings.refusal, settings.poses, settings.frames = "", plan.poses, plan.frames
        settings.built = _state(stage, shot)
    finally:
        settings.filling = False
    return plan


def _state(stage: Any, shot: Shot) -> str:
    settings = settings_of(stage)
    walks = " ".join(f"{one.name}={one.title}={shot_identity(shot.with_variant(one.name))}" for one in shot.variants)
    look = f"{settings.ghosts_before} {settings.ghosts_after} {settings.side_by_side}"
    return f"{shot_identity(shot)} {look} {settings.variant} {walks}"


def _fill_variants(settings: Any, shot: Shot, variant: str) -> None:
    settings.variant = variant
    settings.variant_title = next((one.title for one in shot.variants if one.name == variant), "")
    settings.variants.clear()
    for one in shot.variants:
        row = settings.variants.add()
        row.name, row.title = one.name, one.title


def _beside(shot: Shot, text: str, variant: str) -> tuple[scene.Beside, ...]:
    """Every walk of the shot, in its order, with what stands for the one on show."""
    walks = (("", shot.name), *((one.name, one.label) for one in shot.variants))
    return tuple(scene.Beside(name, title, _solved(text, name)[0], name == variant) for name, title in walks)


def flush(stage: Any, force: bool = False) -> bool:
    """Solve and show the edits of `stage` now. True where something was built; a refusal is kept for the panel.

    force: build even where the properties are those of the shot on show.
    """
    settings = settings_of(stage)
    if settings.filling:
        return False
    try:
        shot = edited_shot(stage)
        if shot is None or (_state(stage, shot) == settings.built and not force):
            settings.refusal = ""
            return False
        show(stage, shot)
    except StrideruleError as error:
        settings.refusal = reporting.message(error)
        return False
    return True


def forget(stage: Any) -> None:
    """Forget the shot of a scene whose set was removed."""
    settings = settings_of(stage)
    settings.built = settings.refusal = settings.variant = settings.variant_title = ""
    settings.findings.clear()
    settings.variants.clear()
    settings.views.clear()


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
            flush(stage, force)
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            area.tag_redraw()


def _build_all() -> None:
    _flush_all(force=True)


def go_to_finding(stage: Any) -> None:
    """Show the first frame of the finding that is picked in the list."""
    settings = settings_of(stage)
    if not settings.filling and 0 <= settings.finding < len(settings.findings):
        frame = settings.findings[settings.finding].frame
        if frame:
            stage.frame_set(frame)


@persistent
def _after_undo(*_: Any) -> None:
    """Build anew from the properties after undo and redo.

    An edit's undo step is stored before the walk is solved, and undo leaves a data-block alone that is the same in both
    steps, whatever was written to it since. So properties are right after an undo, and what was built may not be.
    """
    if not bpy.app.timers.is_registered(_build_all):
        bpy.app.timers.register(_build_all, first_interval=0.0)


_HANDLERS = ("undo_post", "redo_post")


def register() -> None:
    """Follow undo and redo."""
    for name in _HANDLERS:
        getattr(bpy.app.handlers, name).append(_after_undo)


def unregister() -> None:
    """Stop following, and drop an edit that still waits."""
    for name in _HANDLERS:
        getattr(bpy.app.handlers, name).remove(_after_undo)
    for timer in (_flush_all, _build_all):
        if bpy.app.timers.is_registered(timer):
            bpy.app.timers.unregister(timer)
