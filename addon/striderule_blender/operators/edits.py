"""Edits of the shot: footfalls pinned and let go, the body nudged, poses held, any of them removed."""

from dataclasses import replace

import bpy

from striderule.adjust.editing import (
    with_dragged,
    with_hold,
    with_let_go,
    with_nudge,
    without_edit,
    without_edits,
)

from .. import live, scene
from ..edit_values import stance_of
from ..ids import Operator
from .base import ChangingOperator


def _pose(context: bpy.types.Context) -> int:
    """The pose (from 1) that the current frame shows. Raises StrideruleError."""
    plan, _ = live.plan_of(context.scene)
    return int((plan.first_frame <= context.scene.frame_current).sum()) or 1


class STRIDERULE_OT_nudge_body(ChangingOperator):
    """Raise or lower the body about the pose on show, and less in the poses around it"""

    bl_idname = Operator.NUDGE_BODY
    bl_label = "Nudge Body in This Pose"

    def changed(self, context, shot):
        edits = live.settings_of(context.scene).edits
        up, over = (round(value, 3) for value in (edits.nudge_mm, edits.nudge_poses))
        return with_nudge(shot, _pose(context), up, over)


class STRIDERULE_OT_hold_pose(ChangingOperator):
    """Hold the pose on show for more frames than the others"""

    bl_idname = Operator.HOLD_POSE
    bl_label = "Hold This Pose"

    def changed(self, context, shot):
        return with_hold(shot, _pose(context), live.settings_of(context.scene).edits.hold_frames)


class _ChosenFootfalls(ChangingOperator):
    @classmethod
    def poll(cls, context):
        if super().poll(context):
            if live.settings_of(context.scene).edits.handles:
                return True
            cls.poll_message_set("Switch Drag Footfalls on and select their handles first")
        return False

    def changed(self, context, shot):
        plan, _ = live.plan_of(context.scene)
        shown = live.shown_of(shot, live.settings_of(context.scene).variant)
        for leg, step in scene.chosen_footfalls(context.scene):
            stance = stance_of(plan, leg, step)
            if stance is not None:
                shown = self.footfall(shown, plan, stance)
        return replace(shot, edits=shown.edits)


class STRIDERULE_OT_pin_footfalls(_ChosenFootfalls):
    """Pin the selected footfalls where they stand, whatever else changes"""

    bl_idname = Operator.PIN_FOOTFALLS
    bl_label = "Pin"

    def footfall(self, shot, plan, stance):
        return with_dragged(shot, plan, stance, stance.place_mm[:2], pin=True)


class STRIDERULE_OT_let_go_footfalls(_ChosenFootfalls):
    """Let the selected footfalls go back to where the walk puts them"""

    bl_idname = Operator.LET_GO_FOOTFALLS
    bl_label = "Let Go"

    def footfall(self, shot, plan, stance):
        return with_let_go(shot, plan, stance)


class STRIDERULE_OT_remove_edit(ChangingOperator):
    """Remove this edit; the walk is then as planned there"""

    bl_idname = Operator.REMOVE_EDIT
    bl_label = "Remove Edit"

    kind: bpy.props.StringProperty(name="Kind", description="Name the kind of edit")
    index: bpy.props.IntProperty(name="Number", description="Count the edit among its kind, from 0")

    def changed(self, context, shot):
        return without_edit(shot, self.kind, self.index)


class STRIDERULE_OT_remove_edits(ChangingOperator):
    """Remove every edit, so that the walk is as planned again"""

    bl_idname = Operator.REMOVE_EDITS
    bl_label = "Remove All Edits"

    def changed(self, context, shot):
        return without_edits(shot)


CLASSES = (
    STRIDERULE_OT_nudge_body,
    STRIDERULE_OT_hold_pose,
    STRIDERULE_OT_pin_footfalls,
    STRIDERULE_OT_let_go_footfalls,
    STRIDERULE_OT_remove_edit,
    STRIDERULE_OT_remove_edits,
)
