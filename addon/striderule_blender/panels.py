"""The sidebar tab. Panels draw what `view_model` prepared and compute nothing."""

import bpy

from . import ids, view_model
from .ids import Operator


class _Panel(bpy.types.Panel):
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = ids.TAB


class _ShotPanel(_Panel):
    """A panel that is only there where the scene has a walk."""

    @classmethod
    def poll(cls, context):
        return view_model.shown(context.scene).has_shot


def _draw_rows(layout, rows) -> None:
    layout.use_property_decorate = False
    column = layout.column(align=True)
    for row in rows:
        split = column.split(factor=0.58)
        name = split.row(align=True)
        if row.use:
            name.prop(row.group, row.use, text=row.label)
        else:
            name.label(text=row.label)
        value = split.row(align=True)
        # An open value shows what it comes to; typing into it sets it, so it stays editable.
        value.active = not row.use or getattr(row.group, row.use)
        value.prop(row.group, row.key, text="")


class STRIDERULE_PT_shot(_Panel):
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


class STRIDERULE_PT_variants(_ShotPanel):
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


class STRIDERULE_PT_walk(_ShotPanel):
    bl_idname = ids.Panel.WALK
    bl_label = "Walk"

    def draw(self, context):
        _draw_rows(self.layout, view_model.rows(view_model.shown(context.scene).settings, "walk"))


class _WalkSection(_ShotPanel):
    bl_parent_id = ids.Panel.WALK
    bl_options = {"DEFAULT_CLOSED"}
    section = ""

    def draw(self, context):
        _draw_rows(self.layout, view_model.rows(view_model.shown(context.scene).settings, self.section))


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


class STRIDERULE_UL_findings(bpy.types.UIList):
    bl_idname = ids.UiList.FINDINGS

    def draw_item(self, context, layout, data, item, icon, active_data, active_property, index=0, flt_flag=0):
        layout.label(text=item.text, icon=view_model.ICONS[item.severity])


class STRIDERULE_PT_findings(_ShotPanel):
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


class STRIDERULE_PT_views(_ShotPanel):
    bl_idname = ids.Panel.VIEWS
    bl_label = "Views"

    def draw(self, context):
        settings = view_model.shown(context.scene).settings
        column = self.layout.column(align=True)
        for view in settings.views:
            row = column.row(align=True)
            row.prop(view, "export", text="")
            row.operator(Operator.USE_VIEW, text=view.name, icon="CAMERA_DATA").name = view.name


class STRIDERULE_PT_export(_ShotPanel):
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


CLASSES = (
    STRIDERULE_MT_starters,
    STRIDERULE_UL_findings,
    STRIDERULE_PT_shot,
    STRIDERULE_PT_variants,
    STRIDERULE_PT_walk,
    STRIDERULE_PT_hips,
    STRIDERULE_PT_feet,
    STRIDERULE_PT_body,
    STRIDERULE_PT_upper,
    STRIDERULE_PT_ends,
    STRIDERULE_PT_gait,
    STRIDERULE_PT_findings,
    STRIDERULE_PT_views,
    STRIDERULE_PT_export,
)
