"""The shot itself and its variants."""

import bpy

from .. import ids, view_model
from ..ids import Operator
from .base import Panel, ShotPanel


class STRIDERULE_PT_shot(Panel):
    bl_idname = ids.Panel.SHOT
    bl_label = "Shot"

    def draw(self, context):
        shown = view_model.shown(context.scene)
        layout = self.layout
        layout.menu("STRIDERULE_MT_starters", icon="ARMATURE_DATA")
        row = layout.row(align=True)
        row.operator(Operator.LOAD_SHOT, text="Load File", icon="FILE_FOLDER")
        row.operator(Operator.SAVE_SHOT, text="Save File", icon="FILE_TICK")
        if not shown.has_shot:
            return
        if shown.refusal:
            box = layout.box().column(align=True)
            box.alert = True
            for number, line in enumerate(shown.refusal):
                box.label(text=line, icon="NONE" if number else "ERROR")
        column = layout.column()
        column.use_property_split, column.use_property_decorate = True, False
        column.prop(shown.settings.shot, "name", text="Name")
        column.prop(shown.settings.shot, "fps", text="FPS")
        column.prop(shown.settings.shot, "frames_per_pose", text="Frames a Pose")
        ghosts = column.column(align=True)
        ghosts.prop(shown.settings, "ghosts_before")
        ghosts.prop(shown.settings, "ghosts_after", text="After")
        for fact in shown.facts:
            layout.label(text=fact, icon="TIME")
        row = layout.row(align=True)
        row.operator(Operator.REBUILD, icon="FILE_REFRESH")
        row.operator(Operator.APPLY_TEXT, icon="TEXT")
        row.operator(Operator.REMOVE, text="", icon="TRASH")


class STRIDERULE_MT_starters(bpy.types.Menu):
    bl_label = "Load Starter"

    def draw(self, context):
        for name, title in view_model.starters():
            self.layout.operator(Operator.LOAD_STARTER, text=title).name = name


class STRIDERULE_PT_variants(ShotPanel):
    bl_idname = ids.Panel.VARIANTS
    bl_parent_id = ids.Panel.SHOT
    bl_label = "Variants"

    def draw(self, context):
        settings, layout = view_model.shown(context.scene).settings, self.layout
        column = layout.column(align=True)
        for name, title, active in view_model.variants(settings):
            row = column.row(align=True)
            row.operator(Operator.SHOW_VARIANT, text=title, depress=active).name = name
            if name:
                row.operator(Operator.REMOVE_VARIANT, text="", icon="X").name = name
        if settings.variant:
            layout.prop(settings, "variant_title")
        layout.operator(Operator.DUPLICATE_VARIANT, icon="DUPLICATE")
        row = layout.row()
        row.active = len(settings.variants) > 0
        row.prop(settings, "side_by_side")


CLASSES = (STRIDERULE_MT_starters, STRIDERULE_PT_shot, STRIDERULE_PT_variants)
