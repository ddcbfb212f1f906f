"""What a scene remembers of ours. A view of the truth, which is the shot's text in the scene's set (`live`)."""

from typing import Any

import bpy

from striderule.check import SEVERITIES
from striderule.model.shot import Overlay, Shot
from striderule.model.walk import Hips, Walk

from . import live
from .described import changed, group_of
from .edit_properties import CLASSES as EDIT_CLASSES
from .edit_properties import STRIDERULE_PG_edits, STRIDERULE_PG_ground
from .ids import PROPERTY

ShotValues = group_of("STRIDERULE_PG_shot", Shot)
WalkValues = group_of("STRIDERULE_PG_walk", Walk)
HipsValues = group_of("STRIDERULE_PG_hips", Hips)
OverlayValues = group_of("STRIDERULE_PG_overlay", Overlay)


class STRIDERULE_PG_finding(bpy.types.PropertyGroup):
    """One thing that the checks say, as a row of the list."""

    severity: bpy.props.EnumProperty(items=[(one, one.title(), "") for one in SEVERITIES])
    text: bpy.props.StringProperty()
    cure: bpy.props.StringProperty()
    frame: bpy.props.IntProperty()


class STRIDERULE_PG_view(bpy.types.PropertyGroup):
    """One camera of the shot; its name is the group's own."""

    export: bpy.props.BoolProperty(
        name="Export This View", description="Write overlay pictures for this view", default=False, update=changed
    )


class STRIDERULE_PG_variant(bpy.types.PropertyGroup):
    """One variant of the shot; its name is the group's own."""

    title: bpy.props.StringProperty()


def _picked(group: Any, context: Any) -> None:
    live.go_to_finding(group.id_data)


class STRIDERULE_PG_scene(bpy.types.PropertyGroup):
    """Everything of ours that a scene remembers besides its set."""

    shot: bpy.props.PointerProperty(type=ShotValues)
    walk: bpy.props.PointerProperty(type=WalkValues)
    hips: bpy.props.PointerProperty(type=HipsValues)
    overlay: bpy.props.PointerProperty(type=OverlayValues)
    views: bpy.props.CollectionProperty(type=STRIDERULE_PG_view)
    variants: bpy.props.CollectionProperty(type=STRIDERULE_PG_variant)
    variant: bpy.props.StringProperty(description="Identify the variant on show; none is the main walk")
    variant_title: bpy.props.StringProperty(
        name="Title", description="Choose what people call this variant", update=changed
    )
    side_by_side: bpy.props.BoolProperty(
        name="Show Side by Side",
        description="Show the shot's other walks beside this one, on the same beat",
        update=changed,
    )
    edits: bpy.props.PointerProperty(type=STRIDERULE_PG_edits)
    ground: bpy.props.PointerProperty(type=STRIDERULE_PG_ground)
    findings: bpy.props.CollectionProperty(type=STRIDERULE_PG_finding)
    finding: bpy.props.IntProperty(name="Finding", description="Go to the pose of a finding", update=_picked)
    ghosts_before: bpy.props.IntProperty(
        name="Ghosts Before", description="Show this many poses before", default=1, min=0, max=12, update=changed
    )
    ghosts_after: bpy.props.IntProperty(
        name="Ghosts After", description="Show this many poses after", default=1, min=0, max=12, update=changed
    )
    refusal: bpy.props.StringProperty(description="Say why the walk on show is not the one of these numbers")
    posing: bpy.props.BoolProperty(description="Show handles of a contact and a passing to be dragged")
    poses_read: bpy.props.StringProperty(description="Say how far the walk's poses are from those that were set")
    band: bpy.props.BoolProperty(
        name="Show at the Hips",
        description="Show between which heights the hips may be in each pose, and where they are",
        update=changed,
    )
    legs: bpy.props.IntProperty(description="Count the legs of the puppet on show")
    leg_names: bpy.props.StringProperty(description="Identify the legs of the puppet on show")
    poses: bpy.props.IntProperty(description="Count the poses on show")
    frames: bpy.props.IntProperty(description="Count the frames of the walk on show")
    built: bpy.props.StringProperty(description="Identify the shot on show")
    filling: bpy.props.BoolProperty(options={"SKIP_SAVE", "HIDDEN"})
    folder: bpy.props.StringProperty(
        name="Folder", description="Choose where to write the pictures and tables", subtype="DIR_PATH"
    )
    export_camera: bpy.props.BoolProperty(
        name="Scene's Own Camera", description="Write overlay pictures for the camera that the scene looks through too"
    )
    export_previews: bpy.props.BoolProperty(
        name="Previews", description="Render a film of the walk for side-on and three-quarter front"
    )
    export_replace: bpy.props.BoolProperty(
        name="Replace Another Shot's", description="Overwrite pictures in the folder that belong to another shot"
    )


CLASSES = (
    *EDIT_CLASSES,
    ShotValues,
    WalkValues,
    HipsValues,
    OverlayValues,
    STRIDERULE_PG_finding,
    STRIDERULE_PG_view,
    STRIDERULE_PG_variant,
    STRIDERULE_PG_scene,
)


def register() -> None:
    """Hang our settings on every scene."""
    setattr(bpy.types.Scene, PROPERTY, bpy.props.PointerProperty(type=STRIDERULE_PG_scene))


def unregister() -> None:
    """Take them off again."""
    delattr(bpy.types.Scene, PROPERTY)
