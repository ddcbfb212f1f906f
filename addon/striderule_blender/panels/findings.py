"""What the checks say, with cures."""

import bpy

from .. import ids, view_model
from .base import ShotPanel


class STRIDERULE_UL_findings(bpy.types.UIList):
    bl_idname = ids.UiList.FINDINGS

    def draw_item(self, context, layout, data, item, icon, active_data, active_property, index=0, flt_flag=0):
        layout.label(text=item.text, icon=view_model.ICONS[item.severity])


class STRIDERULE_PT_findings(ShotPanel):
    bl_idname = ids.Panel.FINDINGS
    bl_label = "Findings"

    def draw(self, context):
        shown = view_model.shown(context.scene)
        settings, layout = shown.settings, self.layout
        layout.label(text=shown.findings)
        if not settings.findings:
            return
        layout.template_list(ids.UiList.FINDINGS, "", settings, "findings", settings, "finding", rows=3)
        chosen = settings.findings[min(max(settings.finding, 0), len(settings.findings) - 1)]
        column = layout.column(align=True)
        for line in view_model.wrapped(chosen.text):
            column.label(text=line)
        for number, line in enumerate(view_model.wrapped(chosen.cure)):
            column.label(text=line, icon="NONE" if number else "TOOL_SETTINGS")


CLASSES = (STRIDERULE_UL_findings, STRIDERULE_PT_findings)
