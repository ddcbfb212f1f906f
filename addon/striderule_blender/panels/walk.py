"""The walk's values, a panel for each kind."""

from .. import ids, view_model
from .base import ShotPanel, draw_rows


class STRIDERULE_PT_walk(ShotPanel):
    bl_idname = ids.Panel.WALK
    bl_label = "Walk"

    def draw(self, context):
        draw_rows(self.layout, view_model.rows(view_model.shown(context.scene).settings, "walk"))


class _WalkSection(ShotPanel):
    bl_parent_id = ids.Panel.WALK
    bl_options = {"DEFAULT_CLOSED"}
    section = ""

    def draw(self, context):
        draw_rows(self.layout, view_model.rows(view_model.shown(context.scene).settings, self.section))


class STRIDERULE_PT_hips(_WalkSection):
    bl_idname = ids.Panel.HIPS
    bl_label = "Hip Heights"
    section = "hips"


class STRIDERULE_PT_feet(_WalkSection):
    bl_idname = ids.Panel.FEET
    bl_label = "Feet"
    section = "feet"


class STRIDERULE_PT_body(_WalkSection):
    bl_idname = ids.Panel.BODY
    bl_label = "Body"
    section = "body"


class STRIDERULE_PT_upper(_WalkSection):
    bl_idname = ids.Panel.UPPER
    bl_label = "Chest, Head, Arms"
    section = "upper"


class STRIDERULE_PT_ends(_WalkSection):
    bl_idname = ids.Panel.ENDS
    bl_label = "Start, Stop, Turn"
    section = "ends"


class STRIDERULE_PT_gait(_WalkSection):
    bl_idname = ids.Panel.GAIT
    bl_label = "More Than Two Legs"
    section = "gait"

    @classmethod
    def poll(cls, context):
        return super().poll(context) and view_model.shown(context.scene).settings.legs > 2


CLASSES = (
    STRIDERULE_PT_walk,
    STRIDERULE_PT_hips,
    STRIDERULE_PT_feet,
    STRIDERULE_PT_body,
    STRIDERULE_PT_upper,
    STRIDERULE_PT_ends,
    STRIDERULE_PT_gait,
)
