"""Where the walk goes and what it stands on, taken from the user's own curves and meshes."""

from dataclasses import replace

import bpy

from striderule.adjust.drawn_path import without_path
from striderule.adjust.sampled_floor import with_sampled_floor
from striderule.model.floor import Floor

from .. import following, live, scene
from ..ids import Operator
from ..reporting import reported
from .shots import has_shot, show


class _GroundOperator(bpy.types.Operator):
    """What these have in common: they take the waiting edits along, and one undo step holds all."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context):
        return has_shot(cls, context)

    def execute(self, context):
        with reported(self):
            live.flush(context.scene)
            shot = live.edited_shot(context.scene)
            return show(self, context, self.changed(context, shot)) if shot else {"CANCELLED"}
        return {"CANCELLED"}


class STRIDERULE_OT_walk_along_curve(_GroundOperator):
    """Lay the walk along the chosen curve, from its first point to its last; the curve stays as it is"""

    bl_idname = Operator.WALK_ALONG_CURVE
    bl_label = "Walk along Curve"

    @classmethod
    def poll(cls, context):
        if not has_shot(cls, context):
            return False
        if live.settings_of(context.scene).ground.curve is None:
            cls.poll_message_set("Choose a curve object first")
            return False
        return True

    def changed(self, context, shot):
        return following.along_curve(context.scene, shot)


class STRIDERULE_OT_walk_straight(_GroundOperator):
    """Go straight on again, in as many steps as now"""

    bl_idname = Operator.WALK_STRAIGHT
    bl_label = "Walk Straight"

    def changed(self, context, shot):
        live.settings_of(context.scene).ground.curve = None
        return without_path(shot, shot.settled_walk.steps)


class STRIDERULE_OT_stand_on_mesh(_GroundOperator):
    """Sample the chosen mesh once under the track and walk on it; the mesh stays as it is"""

    bl_idname = Operator.STAND_ON_MESH
    bl_label = "Walk on Mesh"

    @classmethod
    def poll(cls, context):
        if not has_shot(cls, context):
            return False
        if live.settings_of(context.scene).ground.mesh is None:
            cls.poll_message_set("Choose a mesh object first")
            return False
        return True

    def changed(self, context, shot):
        mesh = live.settings_of(context.scene).ground.mesh
        return with_sampled_floor(shot, scene.mesh_height_mm(context.scene, mesh), mesh.name)


class STRIDERULE_OT_stand_on_flat(_GroundOperator):
    """Walk on a flat floor again"""

    bl_idname = Operator.STAND_ON_FLAT
    bl_label = "Flat Floor"

    def changed(self, context, shot):
        return replace(shot, floor=Floor())


CLASSES = (
    STRIDERULE_OT_walk_along_curve,
    STRIDERULE_OT_walk_straight,
    STRIDERULE_OT_stand_on_mesh,
    STRIDERULE_OT_stand_on_flat,
)
