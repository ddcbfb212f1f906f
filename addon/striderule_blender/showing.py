"""A shot on show: text (the truth) -> Shot -> Plan -> set, findings and properties of a scene; and the shot that the
properties make of it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

from striderule.adjust.variants import with_edited
from striderule.camera.framing import framing_findings
from striderule.camera.placing import views_of
from striderule.check import findings_of, in_order
from striderule.model.floor import floor_words
from striderule.model.groups import phase_of
from striderule.model.identity import shot_identity
from striderule.model.laid_out import step_units
from striderule.model.path import path_words
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, parse_shot
from striderule.model.view import View
from striderule.solve import Plan, solve

from . import bridge, edit_values, scene
from .ids import PROPERTY


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
def solved(text: str, variant: str) -> tuple[Plan, tuple[View, ...]]:
    plan = solve(shown_of(_parsed(text), variant))
    return plan, views_of(plan)


def shown_of(shot: Shot, variant: str) -> Shot:
    """The shot as it is on show: a variant of it, or itself ("")."""
    return shot.with_variant(variant) if variant else shot


def shot_of(stage: Any) -> Shot | None:
    """The shot that the scene's text holds, None where it has none. Raises FileError where the text is no shot."""
    text = scene.read_text(stage)
    return _parsed(text) if text else None


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
    listed = edit_values.with_listed(replace(base, walk=walk, overlay=overlay), settings.edits)
    edited = bridge.model_from_properties(settings.shot, listed)
    if not settings.variant:
        return edited
    main = replace(shot, name=edited.name, overlay=overlay, edits=edited.edits, holds=edited.holds)
    return with_edited(main, settings.variant, edited, settings.variant_title)


def show(stage: Any, shot: Shot, variant: str | None = None) -> Plan:
    """Make `shot` the scene's: text, set, properties and findings. Raises StrideruleError before anything changes.

    variant: which of its walks to show and to edit, "" = the main one; None = the one on show, if it has it.
    """
    settings, text = settings_of(stage), dump_shot(shot)
    if variant is None:
        variant = settings.variant if settings.variant in {one.name for one in shot.variants} else ""
    plan, views = solved(text, variant)
    chosen = [view for view in views if view.name in shot.overlay.views]
    findings = in_order([*findings_of(plan), *framing_findings(plan, chosen)])
    beside = _beside(shot, text, variant) if settings.side_by_side and shot.variants else ()
    look = scene.SceneSettings(settings.ghosts_before, settings.ghosts_after, text=text, beside=beside,
                               handles=settings.edits.handles, posing=settings.posing, band=settings.band,
                               board=not (settings.ground.mesh and shot.floor.heights_mm))  # fmt: skip
    scene.build(stage, plan, views, look)
    settings.filling = True
    try:
        seen, walk = plan.shot, plan.shot.settled_walk
        bridge.fill_properties(settings.shot, replace(seen, name=shot.name), seen)
        bridge.fill_properties(settings.walk, seen.walk, walk)
        _fill_told(settings.walk, seen)
        bridge.fill_properties(settings.hips, seen.walk.hips, walk.hips)
        _fill_variants(settings, shot, variant)
        edit_values.fill_listed(settings.edits, shot, plan)
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
        settings.legs, settings.leg_names = len(plan.legs), " ".join(plan.legs)
        settings.ground.path, settings.ground.floor = path_words(seen.path), floor_words(seen.floor)
        settings.built = state_of(stage, shot)
    finally:
        settings.filling = False
    return plan


def _fill_told(values: Any, shot: Shot) -> None:
    """Show what open values come to that other values say in their stead."""
    walk = shot.settled_walk
    if not values.use_distance_mm:
        values.distance_mm = round((walk.step_mm or 0.0) * step_units(walk, walk.steps or 1), 1)
    if not values.use_phase and len(shot.puppet.legs) > 2:
        values.phase = phase_of(walk)


def state_of(stage: Any, shot: Shot) -> str:
    """What tells whether a shot, in the look that is chosen, is the one on show."""
    settings = settings_of(stage)
    walks = " ".join(f"{one.name}={one.title}={shot_identity(shot.with_variant(one.name))}" for one in shot.variants)
    look = (settings.ghosts_before, settings.ghosts_after, settings.side_by_side, settings.edits.handles, settings.band)
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
    return tuple(scene.Beside(name, title, solved(text, name)[0], name == variant) for name, title in walks)


def forget(stage: Any) -> None:
    """Forget the shot of a scene whose set was removed."""
    settings = settings_of(stage)
    settings.built = settings.refusal = settings.variant = settings.variant_title = ""
    settings.findings.clear()
    settings.variants.clear()
    settings.views.clear()
    for rows in (settings.edits.footfalls, settings.edits.body, settings.edits.holds, settings.edits.rows):
        rows.clear()
