"""What operators on a shot have in common."""

from __future__ import annotations

import bpy

from .. import live, scene
from ..reporting import reported


def has_shot(cls: type, context: bpy.types.Context) -> bool:
    """Poll: the scene has a shot; says so in the tooltip where it has none."""
    if scene.set_collection(context.scene):
        return True
    cls.poll_message_set("Load a starter or a shot file first")
    return False


def show(
    operator: bpy.types.Operator, context: bpy.types.Context, shot: object, variant: str | None = None
) -> set[str]:
    """Show a shot, or one of its variants, and report what it comes to."""
    plan = live.show(context.scene, shot, variant)
    first = next(iter(live.settings_of(context.scene).findings), None)
    said = f"; {first.severity}: {first.text}" if first else ""
    operator.report({"INFO"}, f"{plan.shot.name}: {plan.poses} poses, {plan.frames} frames{said}")
    return {"FINISHED"}


class ShotOperator(bpy.types.Operator):
    """One that needs a shot, and one undo step for all that it does."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context):
        return has_shot(cls, context)


class ChangingOperator(ShotOperator):
    """One that shows the shot which `changed(context, shot)` makes of the one with the waiting edits."""

    def execute(self, context):
        with reported(self):
            live.flush(context.scene)
            shot = live.edited_shot(context.scene)
            return show(self, context, self.changed(context, shot)) if shot else {"CANCELLED"}
        return {"CANCELLED"}
