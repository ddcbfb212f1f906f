"""Where the walk goes and what it stands on, taken from the user's own curves and meshes."""

from dataclasses import replace

from striderule.adjust.drawn_path import without_path
from striderule.adjust.sampled_floor import with_sampled_floor
from striderule.model.floor import Floor

from .. import following, live, scene
from ..ids import Operator
from .base import ChangingOperator


class _OfThing(ChangingOperator):
    """One that takes the object that was chosen in a field of the panel."""

    field = ""

    @classmethod
    def poll(cls, context):
        if not super().poll(context):
            return False
        if getattr(live.settings_of(context.scene).ground, cls.field) is None:
            cls.poll_message_set(f"Choose a {cls.field} object first")
            return False
        return True


class STRIDERULE_OT_walk_along_curve(_OfThing):
    """Lay the walk along the chosen curve, from its first point to its last; the curve stays as it is"""

    bl_idname = Operator.WALK_ALONG_CURVE
    bl_label = "Walk along Curve"
    field = "curve"

    def changed(self, context, shot):
        return following.along_curve(context.scene, shot)


class STRIDERULE_OT_walk_straight(ChangingOperator):
    """Go straight on again, in as many steps as now"""

    bl_idname = Operator.WALK_STRAIGHT
    bl_label = "Walk Straight"

    def changed(self, context, shot):
        live.settings_of(context.scene).ground.curve = None
        return without_path(shot, shot.settled_walk.steps)


class STRIDERULE_OT_stand_on_mesh(_OfThing):
    """Sample the chosen mesh once under the track and walk on it; the mesh stays as it is"""

    bl_idname = Operator.STAND_ON_MESH
    bl_label = "Walk on Mesh"
    field = "mesh"

    def changed(self, context, shot):
        mesh = live.settings_of(context.scene).ground.mesh
        return with_sampled_floor(shot, scene.mesh_height_mm(context.scene, mesh), mesh.name)


class STRIDERULE_OT_stand_on_flat(ChangingOperator):
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
