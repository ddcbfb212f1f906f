"""Contact and passing, posed by dragging."""

from .. import ids, view_model
from ..ids import Operator
from .base import ShotPanel


class STRIDERULE_PT_posing(ShotPanel):
    bl_idname = ids.Panel.POSING
    bl_label = "Contact and Passing"
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context):
        return super().poll(context) and view_model.shown(context.scene).settings.legs == 2

    def draw(self, context):
        settings, layout = view_model.shown(context.scene).settings, self.layout
        row = layout.row(align=True)
        row.operator(Operator.POSE_CONTACT, icon="POSE_HLT")
        if not settings.posing:
            return
        row.operator(Operator.STOP_POSING, text="", icon="X")
        column = layout.column(align=True)
        for line in view_model.POSING_HELP:
            column.label(text=line)
        column = layout.column(align=True)
        column.operator(Operator.READ_POSES, icon="IMPORT")
        column.operator(Operator.HOOK_UP, icon="LINKED")
        column = layout.column(align=True)
        for line in view_model.wrapped(settings.poses_read):
            column.label(text=line)


CLASSES = (STRIDERULE_PT_posing,)
