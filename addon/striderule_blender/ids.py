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
    NUDGE_BODY = "striderule.nudge_body"
    HOLD_POSE = "striderule.hold_pose"
    PIN_FOOTFALLS = "striderule.pin_footfalls"
    LET_GO_FOOTFALLS = "striderule.let_go_footfalls"
    REMOVE_EDIT = "striderule.remove_edit"
    REMOVE_EDITS = "striderule.remove_edits"
    POSE_CONTACT = "striderule.pose_contact"
    READ_POSES = "striderule.read_poses"
    HOOK_UP = "striderule.hook_up"
    STOP_POSING = "striderule.stop_posing"
    WALK_ALONG_CURVE = "striderule.walk_along_curve"
    WALK_STRAIGHT = "striderule.walk_straight"
    STAND_ON_MESH = "striderule.stand_on_mesh"
    STAND_ON_FLAT = "striderule.stand_on_flat"
    BAND_CHART = "striderule.band_chart"
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
    GROUND = "STRIDERULE_PT_ground"
    POSING = "STRIDERULE_PT_posing"
    EDITS = "STRIDERULE_PT_edits"
    BANDS = "STRIDERULE_PT_bands"
    FINDINGS = "STRIDERULE_PT_findings"
    VIEWS = "STRIDERULE_PT_views"
    EXPORT = "STRIDERULE_PT_export"


class UiList(StrEnum):
    FINDINGS = "STRIDERULE_UL_findings"
    EDITS = "STRIDERULE_UL_edits"
