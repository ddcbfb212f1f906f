"""Loading, saving and removing a shot."""

from pathlib import Path

import bpy
from bpy_extras.io_utils import ExportHelper, ImportHelper

from striderule.export.files import write_text
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot, parse_shot

from .. import live, scene, viewport
from ..ids import Operator
from ..reporting import reported
from .base import ShotOperator, has_shot, show


def _load(operator: bpy.types.Operator, context: bpy.types.Context, path: Path) -> set[str]:
    done = show(operator, context, load_shot(path), "")
    viewport.show_walk(context)
    return done


class STRIDERULE_OT_load_starter(bpy.types.Operator):
    """Load a starter shot with its puppet, to change it into your own"""

    bl_idname = Operator.LOAD_STARTER
    bl_label = "Load Starter"
    bl_options = {"REGISTER", "UNDO"}

    name: bpy.props.StringProperty(name="Starter", description="Name the starter shot to load", default="heron")

    @classmethod
    def description(cls, context, properties):
        return f"Load the starter shot {properties.name} with its puppet, to change it into your own"

    def execute(self, context):
        with reported(self):
            paths = starter_paths()
            if self.name not in paths:
                self.report({"ERROR"}, f"No starter is called {self.name}: there are {', '.join(paths)}")
                return {"CANCELLED"}
            return _load(self, context, paths[self.name])
        return {"CANCELLED"}


class STRIDERULE_OT_load_shot(bpy.types.Operator, ImportHelper):
    """Load a shot file and build its walk in this scene"""

    bl_idname = Operator.LOAD_SHOT
    bl_label = "Load Shot File"
    bl_options = {"REGISTER", "UNDO"}

    filename_ext = ".toml"
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})

    def execute(self, context):
        with reported(self):
            return _load(self, context, Path(bpy.path.abspath(self.filepath)))
        return {"CANCELLED"}


class STRIDERULE_OT_save_shot(bpy.types.Operator, ExportHelper):
    """Save the shot with its puppet as one shot file"""

    bl_idname = Operator.SAVE_SHOT
    bl_label = "Save Shot File"

    filename_ext = ".toml"
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})

    @classmethod
    def poll(cls, context):
        return has_shot(cls, context)

    def execute(self, context):
        with reported(self):
            live.flush(context.scene)
            write_text(Path(bpy.path.abspath(self.filepath)), scene.read_text(context.scene))
            self.report({"INFO"}, f"Saved {Path(self.filepath).name}")
            return {"FINISHED"}
        return {"CANCELLED"}


class STRIDERULE_OT_apply_text(ShotOperator):
    """Build the walk from the shot's text, after it was changed in the Text Editor"""

    bl_idname = Operator.APPLY_TEXT
    bl_label = "Apply Text"

    def execute(self, context):
        with reported(self):
            return show(self, context, parse_shot(scene.read_text(context.scene), scene.TEXT))
        return {"CANCELLED"}


class STRIDERULE_OT_rebuild(ShotOperator):
    """Build the set again from the shot, where something in it was moved or deleted"""

    bl_idname = Operator.REBUILD
    bl_label = "Rebuild"

    def execute(self, context):
        with reported(self):
            shot = live.edited_shot(context.scene)
            return show(self, context, shot) if shot else {"CANCELLED"}
        return {"CANCELLED"}


class STRIDERULE_OT_remove(ShotOperator):
    """Remove the walk from this scene; what is yours stays"""

    bl_idname = Operator.REMOVE
    bl_label = "Remove Walk"

    def execute(self, context):
        scene.remove(context.scene)
        live.forget(context.scene)
        return {"FINISHED"}


CLASSES = (
    STRIDERULE_OT_load_starter,
    STRIDERULE_OT_load_shot,
    STRIDERULE_OT_save_shot,
    STRIDERULE_OT_apply_text,
    STRIDERULE_OT_rebuild,
    STRIDERULE_OT_remove,
)
