"""What all panels have in common."""

import bpy

from .. import ids, view_model


class Panel(bpy.types.Panel):
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = ids.TAB


class ShotPanel(Panel):
    """A panel that is only there where the scene has a walk."""

    @classmethod
    def poll(cls, context):
        return view_model.shown(context.scene).has_shot


def draw_rows(layout, rows) -> None:
    layout.use_property_decorate = False
    column = layout.column(align=True)
    for row in rows:
        split = column.split(factor=row.share)
        name = split.row(align=True)
        if row.use:
            name.prop(row.group, row.use, text=row.label)
        else:
            name.label(text=row.label)
        value = split.row(align=True)
        # An open value shows what it comes to; typing into it sets it, so it stays editable.
        value.active = not row.use or getattr(row.group, row.use)
        value.prop(row.group, row.key, text="")
