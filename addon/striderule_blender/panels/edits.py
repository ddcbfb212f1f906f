"""What was changed by hand after the walk was planned: made, listed, changed and removed."""

import bpy

from .. import ids, view_model
from ..ids import Operator
from .base import ShotPanel, draw_rows


class STRIDERULE_UL_edits(bpy.types.UIList):
    bl_idname = ids.UiList.EDITS

    def draw_item(self, context, layout, data, item, icon, active_data, active_property, index=0, flt_flag=0):
        row = layout.row(align=True)
        row.label(text=item.text, icon=view_model.EDIT_ICONS[item.kind])
        remove = row.operator(Operator.REMOVE_EDIT, text="", icon="X", emboss=False)
        remove.kind, remove.index = item.kind, item.index


class STRIDERULE_PT_edits(ShotPanel):
    bl_idname = ids.Panel.EDITS
    bl_label = "Edits"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context):
        edits, layout = view_model.shown(context.scene).settings.edits, self.layout
        column = layout.column(align=True)
        column.prop(edits, "handles", toggle=True, icon="EMPTY_ARROWS")
        if edits.handles:
            column.row(align=True).prop(edits, "pin", expand=True)
            row = column.row(align=True)
            row.operator(Operator.PIN_FOOTFALLS, icon="PINNED")
            row.operator(Operator.LET_GO_FOOTFALLS, icon="UNPINNED")
        column = layout.column(align=True)
        column.prop(edits, "nudge_mm")
        column.prop(edits, "nudge_poses")
        column.operator(Operator.NUDGE_BODY, icon="SORT_DESC")
        column = layout.column(align=True)
        column.prop(edits, "hold_frames")
        column.operator(Operator.HOLD_POSE, icon="TIME")
        if not edits.rows:
            layout.label(text="No edits")
            return
        layout.template_list(ids.UiList.EDITS, "", edits, "rows", edits, "row", rows=3)
        draw_rows(layout, view_model.edit_values(edits))
        layout.operator(Operator.REMOVE_EDITS, icon="TRASH")


CLASSES = (STRIDERULE_UL_edits, STRIDERULE_PT_edits)
