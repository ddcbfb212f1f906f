"""Writing overlays, tables and previews from inside Blender."""

from pathlib import Path

import bpy

from .. import exporting, live
from ..ids import Operator
from ..reporting import reported
from .base import has_shot


class STRIDERULE_OT_export(bpy.types.Operator):
    """Write overlay pictures, poses, views and findings into the folder"""

    bl_idname = Operator.EXPORT
    bl_label = "Export"

    @classmethod
    def poll(cls, context):
        return has_shot(cls, context)

    def execute(self, context):
        stage = context.scene
        settings = live.settings_of(stage)
        if not settings.folder or (settings.folder.startswith("//") and not bpy.data.is_saved):
            self.report({"ERROR"}, "Choose a folder to write to; one that begins with // needs a saved Blender file")
            return {"CANCELLED"}
        manager = context.window_manager
        manager.progress_begin(0, 1000)
        try:
            with reported(self):
                done = exporting.export(
                    stage,
                    Path(bpy.path.abspath(settings.folder)),
                    progress=lambda done, total, *_: manager.progress_update(1000 * done // max(total, 1)),
                )
                self.report({"INFO"}, done)
                return {"FINISHED"}
        finally:
            manager.progress_end()
        return {"CANCELLED"}


CLASSES = (STRIDERULE_OT_export,)
