"""Cameras, and what is written for them."""

from .. import ids, view_model
from ..ids import Operator
from .base import ShotPanel


class STRIDERULE_PT_views(ShotPanel):
    bl_idname = ids.Panel.VIEWS
    bl_label = "Views"

    def draw(self, context):
        settings = view_model.shown(context.scene).settings
        column = self.layout.column(align=True)
        for view in settings.views:
            row = column.row(align=True)
            row.prop(view, "export", text="")
            row.operator(Operator.USE_VIEW, text=view.name, icon="CAMERA_DATA").name = view.name


class STRIDERULE_PT_export(ShotPanel):
    bl_idname = ids.Panel.EXPORT
    bl_label = "Export"

    def draw(self, context):
        settings = view_model.shown(context.scene).settings
        column = self.layout.column()
        column.use_property_split, column.use_property_decorate = True, False
        column.prop(settings, "folder", placeholder="Choose a Folder")
        overlay = settings.overlay
        column.prop(overlay, "first_number", text="First Picture")
        column.prop(overlay, "digits", text="Digits")
        column.prop(overlay, "backdrop", text="Backdrop")
        column.prop(overlay, "neighbours", text="Neighbours")
        column.prop(overlay, "ghosts_before", text="Ghosts Before")
        column.prop(overlay, "ghosts_after", text="After")
        choices = self.layout.column(heading="")
        choices.prop(settings, "export_camera")
        choices.prop(settings, "export_previews")
        choices.prop(settings, "export_replace")
        self.layout.operator(Operator.EXPORT, icon="EXPORT")


CLASSES = (STRIDERULE_PT_views, STRIDERULE_PT_export)
