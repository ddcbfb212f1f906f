"""What a scene remembers of a shot's edits, and of what is dragged and drawn in the viewport to make them."""

from typing import Any

import bpy

from striderule.adjust.editing import KINDS
from striderule.model.edits import BodyEdit, FootfallEdit, Hold

from . import live
from .described import changed, group_of

FootfallValues = group_of("STRIDERULE_PG_footfall", FootfallEdit)
BodyValues = group_of("STRIDERULE_PG_body_edit", BodyEdit)
HoldValues = group_of("STRIDERULE_PG_hold", Hold)


class STRIDERULE_PG_edit(bpy.types.PropertyGroup):
    """One edit as a row of the list."""

    kind: bpy.props.EnumProperty(items=[(one, one.title(), "") for one in KINDS])
    index: bpy.props.IntProperty()
    text: bpy.props.StringProperty()
    frame: bpy.props.IntProperty()


def _picked(group: Any, context: Any) -> None:
    live.go_to_edit(group.id_data)


class STRIDERULE_PG_edits(bpy.types.PropertyGroup):
    """The shot's edits, and how new ones are made."""

    footfalls: bpy.props.CollectionProperty(type=FootfallValues)
    body: bpy.props.CollectionProperty(type=BodyValues)
    holds: bpy.props.CollectionProperty(type=HoldValues)
    rows: bpy.props.CollectionProperty(type=STRIDERULE_PG_edit)
    row: bpy.props.IntProperty(name="Edit", description="Go to the pose of an edit", update=_picked)
    handles: bpy.props.BoolProperty(
        name="Drag Footfalls",
        description="Show a handle on every footprint: move it with G or turn it with R Z, and the walk follows",
        update=changed,
    )
    pin: bpy.props.EnumProperty(
        name="Dragged Feet",
        items=[
            ("GO_ALONG", "Go Along", "Keep a dragged footfall so far from where the walk puts it"),
            ("PIN", "Stay Put", "Keep a dragged footfall where it is on the stage, whatever else changes"),
        ],
    )
    nudge_mm: bpy.props.FloatProperty(
        name="Body Up (mm)", description="Raise the body so far; negative lowers it", default=1.0, min=-1000, max=1000,
        precision=1, step=10,
    )  # fmt: skip
    nudge_poses: bpy.props.FloatProperty(
        name="Fading over Poses", description="Let the nudge fade over so many poses on either side", default=3.0,
        min=0, max=1000, precision=1, step=100,
    )  # fmt: skip
    hold_frames: bpy.props.IntProperty(
        name="Hold (frames)", description="Hold the pose for so many frames in all", default=4, min=1, max=10_000
    )


def _is_curve(group: Any, thing: Any) -> bool:
    return thing.type == "CURVE"


def _is_mesh(group: Any, thing: Any) -> bool:
    return thing.type == "MESH"


class STRIDERULE_PG_ground(bpy.types.PropertyGroup):
    """Things of the user's that the walk follows. Nothing of theirs is ever changed."""

    curve: bpy.props.PointerProperty(
        type=bpy.types.Object, name="Curve", description="Choose a curve object for the walk to follow", poll=_is_curve
    )
    follow: bpy.props.BoolProperty(
        name="Follow Its Changes", description="Lay the walk along the curve anew whenever the curve changes",
        default=True, update=changed,
    )  # fmt: skip
    fit_steps: bpy.props.BoolProperty(
        name="Fit Steps", description="Take as many steps as the curve has room for, fitted to its length", default=True
    )
    read: bpy.props.StringProperty(description="Identify the line that the walk follows")
    path: bpy.props.StringProperty(description="Say where the walk on show goes")
    floor: bpy.props.StringProperty(description="Say what the walk on show stands on")
    mesh: bpy.props.PointerProperty(
        type=bpy.types.Object, name="Mesh", description="Choose a mesh object for the walk to stand on", poll=_is_mesh
    )


CLASSES = (
    FootfallValues,
    BodyValues,
    HoldValues,
    STRIDERULE_PG_edit,
    STRIDERULE_PG_edits,
    STRIDERULE_PG_ground,
)
