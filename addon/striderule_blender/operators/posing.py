"""A contact and a passing, dragged in the viewport and read as a walk."""

from dataclasses import replace

from striderule.adjust.pose_differences import worst_words
from striderule.adjust.read_poses import Read, read_poses
from striderule.adjust.variants import with_edited

from .. import live, scene
from ..ids import Operator
from ..reporting import reported
from .base import ShotOperator, show


class _PosingOperator(ShotOperator):
    @classmethod
    def poll(cls, context):
        if not super().poll(context):
            return False
        if live.settings_of(context.scene).legs != 2:
            cls.poll_message_set("Poses are read of puppets with two legs")
            return False
        return True

    def taken(self, context, found: Read, walk_only: bool):
        """Show the shot that was read, or its walk alone, and say how far its poses are from those that were set."""
        settings = live.settings_of(context.scene)
        shot = live.edited_shot(context.scene)
        if settings.variant:
            read = shot if walk_only else replace(shot, stage=found.shot.stage, edits=found.shot.edits)
            new = with_edited(read, settings.variant, replace(found.shot, variants=()), settings.variant_title)
        else:
            new = replace(found.shot, name=shot.name, variants=shot.variants)
        done = show(self, context, new)
        said = f"{len(found.values)} values read; {worst_words(found.differences)}"
        settings.poses_read = " ".join((said + ".", *found.notes))
        self.report({"INFO"}, said)
        return done


class STRIDERULE_OT_pose_contact(_PosingOperator):
    """Put handles on feet and hips of a contact and a passing, to be dragged and turned into those that you want"""

    bl_idname = Operator.POSE_CONTACT
    bl_label = "Pose Contact and Passing"

    def execute(self, context):
        with reported(self):
            live.settings_of(context.scene).posing = True
            shot = live.edited_shot(context.scene)
            done = show(self, context, shot) if shot else {"CANCELLED"}
            plan, _ = live.plan_of(context.scene)
            scene.pose_anew(context.scene, plan)
            live.settings_of(context.scene).poses_read = ""
            return done
        return {"CANCELLED"}


class _Reading(_PosingOperator):
    @classmethod
    def poll(cls, context):
        if not super().poll(context):
            return False
        if not live.settings_of(context.scene).posing:
            cls.poll_message_set("Pose a contact and a passing first")
            return False
        return True

    def read(self, context, first: bool) -> Read:
        plan, _ = live.plan_of(context.scene)
        shown = live.shown_of(live.shot_of(context.scene), live.settings_of(context.scene).variant)
        return read_poses(shown, scene.posed(context.scene, plan, first), frozenset())


class STRIDERULE_OT_read_poses(_Reading):
    """Give the walk the values that the posed contact and passing show"""

    bl_idname = Operator.READ_POSES
    bl_label = "Read Both Poses"

    def execute(self, context):
        with reported(self):
            return self.taken(context, self.read(context, first=False), walk_only=True)
        return {"CANCELLED"}


class STRIDERULE_OT_hook_up(_Reading):
    """Start the walk exactly on the feet and hips of the posed contact, as the shot before left them"""

    bl_idname = Operator.HOOK_UP
    bl_label = "Hook Up Pose 1"

    def execute(self, context):
        with reported(self):
            return self.taken(context, self.read(context, first=True), walk_only=False)
        return {"CANCELLED"}


class STRIDERULE_OT_stop_posing(_PosingOperator):
    """Take the handles of contact and passing away; the walk stays"""

    bl_idname = Operator.STOP_POSING
    bl_label = "Stop Posing"

    def execute(self, context):
        with reported(self):
            live.settings_of(context.scene).posing = False
            shot = live.edited_shot(context.scene)
            return show(self, context, shot) if shot else {"CANCELLED"}
        return {"CANCELLED"}


CLASSES = (
    STRIDERULE_OT_pose_contact,
    STRIDERULE_OT_read_poses,
    STRIDERULE_OT_hook_up,
    STRIDERULE_OT_stop_posing,
)
