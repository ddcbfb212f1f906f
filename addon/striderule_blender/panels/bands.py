"""The working band: in the viewport, and as charts."""

from .. import ids, view_model
from ..ids import Operator
from .base import ShotPanel


class STRIDERULE_PT_bands(ShotPanel):
    bl_idname = ids.Panel.BANDS
    bl_label = "Working Band"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context):
        settings, layout = view_model.shown(context.scene).settings, self.layout
        layout.prop(settings, "band")
        column = layout.column(align=True)
        for leg, title in view_model.legs(settings):
            column.operator(Operator.BAND_CHART, text=f"Chart of {title} Leg", icon="GRAPH").leg = leg


CLASSES = (STRIDERULE_PT_bands,)
