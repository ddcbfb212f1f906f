"""Variants of the shot: duplicate, switch, remove."""

import bpy

from striderule.adjust.variants import duplicated, without
from striderule.model.variant import MAIN

from .. import live
from ..ids import Operator
from ..reporting import reported
from .base import ShotOperator, show


class STRIDERULE_OT_duplicate_variant(ShotOperator):
    """Duplicate the walk on show as a variant of this shot, to be changed beside it"""

    bl_idname = Operator.DUPLICATE_VARIANT
    bl_label = "Duplicate Walk as Variant"

    def execute(self, context):
        with reported(self):
            shot = live.edited_shot(context.scene)
            if shot:
                shot, name = duplicated(shot, live.settings_of(context.scene).variant or MAIN)
                return show(self, context, shot, name)
        return {"CANCELLED"}


class STRIDERULE_OT_show_variant(ShotOperator):
    """Show and edit this walk of the shot"""

    bl_idname = Operator.SHOW_VARIANT
    bl_label = "Show Variant"

    name: bpy.props.StringProperty(name="Variant", description="Name the variant to show; none is the main walk")

    def execute(self, context):
        with reported(self):
            shot = live.edited_shot(context.scene)
            return show(self, context, shot, self.name) if shot else {"CANCELLED"}
        return {"CANCELLED"}


class STRIDERULE_OT_remove_variant(ShotOperator):
    """Remove this variant from the shot; the main walk stays"""

    bl_idname = Operator.REMOVE_VARIANT
    bl_label = "Remove Variant"

    name: bpy.props.StringProperty(name="Variant", description="Name the variant to remove")

    def execute(self, context):
        with reported(self):
            shot = live.edited_shot(context.scene)
            return show(self, context, without(shot, self.name)) if shot else {"CANCELLED"}
        return {"CANCELLED"}


CLASSES = (STRIDERULE_OT_duplicate_variant, STRIDERULE_OT_show_variant, STRIDERULE_OT_remove_variant)
