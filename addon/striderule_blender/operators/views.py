"""Looking through the shot's cameras."""

import bpy

from .. import scene, viewport
from ..ids import Operator


class STRIDERULE_OT_use_view(bpy.types.Operator):
    """Look through this view's camera, in its own picture size"""

    bl_idname = Operator.USE_VIEW
    bl_label = "Use View"
    bl_options = {"REGISTER", "UNDO"}

    name: bpy.props.StringProperty(name="View", description="Name the view to look through", default="side-on")

    def execute(self, context):
        camera = scene.camera_of(context.scene, self.name)
        if camera is None:
            self.report({"ERROR"}, f"No view is called {self.name}: load a shot first, or rebuild")
            return {"CANCELLED"}
        scene.look_through(context.scene, camera)
        viewport.look_through(context, camera)
        return {"FINISHED"}


CLASSES = (STRIDERULE_OT_use_view,)
