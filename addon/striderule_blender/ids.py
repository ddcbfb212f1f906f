"""Every name that Blender knows us by."""

from __future__ import annotations

from enum import StrEnum

TAB = "Striderule"
"""Title of the sidebar tab."""

PROPERTY = "striderule"
"""Attribute of a scene that holds our settings, and key of the mark on every data-block that we own."""


class Operator(StrEnum):
    LOAD_STARTER = "striderule.load_starter"
    LOAD_SHOT = "striderule.load_shot"
    SAVE_SHOT = "striderule.save_shot"
    APPLY_TEXT = "striderule.apply_text"
    REBUILD = "striderule.rebuild"
    REMOVE = "striderule.remove"
    DUPLICATE_VARIANT = "striderule.duplicate_variant"
    SHOW_VARIANT = "striderule.show_variant"
    REMOVE_VARIANT = "striderule.remove_variant"
    USE_VIEW = "striderule.use_view"
    EXPORT = "striderule.export"


class Panel(StrEnum):
    SHOT = "STRIDERULE_PT_shot"
    VARIANTS = "STRIDERULE_PT_variants"
    WALK = "STRIDERULE_PT_walk"
    HIPS = "STRIDERULE_PT_hips"
    FEET = "STRIDERULE_PT_feet"
    BODY = "STRIDERULE_PT_body"
    UPPER = "STRIDERULE_PT_upper"
    ENDS = "STRIDERULE_PT_ends"
    GAIT = "STRIDERULE_PT_gait"
    FINDINGS = "STRIDERULE_PT_findings"
    VIEWS = "STRIDERULE_PT_views"
    EXPORT = "STRIDERULE_PT_export"


class UiList(StrEnum):
    FINDINGS = "STRIDERULE_UL_findings"
