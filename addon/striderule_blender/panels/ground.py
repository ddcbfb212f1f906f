"""Where the walk goes, and what it stands on."""

from .. import ids, view_model
from ..ids import Operator
from .base import ShotPanel


class STRIDERULE_PT_ground(ShotPanel):
    bl_idname = ids.Panel.GROUND
    bl_label = "Path and Floor"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context):
        shown = view_model.shown(context.scene)
        ground, layout = shown.settings.ground, self.layout
        column = layout.column(align=True)
        column.label(text=shown.path)
        column.prop(ground, "curve", text="")
        row = column.row(align=True)
        row.operator(Operator.WALK_ALONG_CURVE, icon="CURVE_PATH")
        row.operator(Operator.WALK_STRAIGHT, text="", icon="X")
        column = layout.column(align=True)
        column.active = ground.curve is not None
        column.prop(ground, "fit_steps")
        column.prop(ground, "follow")
        column = layout.column(align=True)
        column.label(text=shown.floor)
        column.prop(ground, "mesh", text="")
        row = column.row(align=True)
        row.operator(Operator.STAND_ON_MESH, icon="MESH_GRID")
        row.operator(Operator.STAND_ON_FLAT, text="", icon="X")


CLASSES = (STRIDERULE_PT_ground,)
