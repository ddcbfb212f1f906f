"""Blender properties, made from the core's one description of every value, so that ranges and words cannot disagree.

They are a view of the truth, which is the shot's text in the scene's set (`live`).
"""

import math
from typing import Any

import bpy

from striderule.check import SEVERITIES
from striderule.model.fields import Spec, specs_of
from striderule.model.shot import Overlay, Shot
from striderule.model.walk import Hips, Walk

from . import live
from .ids import PROPERTY

_WORDS = {"fps": "Frames per Second", "steps": "Steps"}
_SMALL = {"per", "to", "of", "from", "and", "after"}


def label_of(key: str, spec: Spec) -> str:
    """The title of a value: its key in Title Case with the unit ("step_mm" is "Step (mm)")."""
    if key in _WORDS:
        return _WORDS[key]
    stem = key.removesuffix(f"_{spec.unit}") if spec.unit else key
    words = stem.split("_")
    title = " ".join(one if i and one in _SMALL else one.capitalize() for i, one in enumerate(words))
    unit = {"deg": "°"}.get(spec.unit, spec.unit)
    return f"{title} ({unit})" if unit else title


def _changed(group: Any, context: Any) -> None:
    live.schedule(group.id_data)


def _typed(key: str) -> Any:
    """An update callback: typing into an open value makes it a typed one."""

    def update(group: Any, context: Any) -> None:
        if not live.is_filling(group.id_data) and not getattr(group, f"use_{key}"):
            setattr(group, f"use_{key}", True)  # which schedules by itself
        else:
            live.schedule(group.id_data)

    return update


def _leg_names(group: Any, context: Any, typed: str) -> list[str]:
    shot = live.shot_of(group.id_data)
    return list(shot.puppet.leg_names) if shot else []


def _property(key: str, spec: Spec) -> Any:
    """The Blender property of a described value; None for what has no single widget."""
    options: dict[str, Any] = {
        "name": label_of(key, spec),
        "description": f"Set {spec.doc[0].lower()}{spec.doc[1:]}",
        "update": _typed(key) if spec.optional else _changed,
    }
    if spec.kind in ("number", "whole"):
        whole = spec.kind == "whole"
        if math.isfinite(spec.least):
            options["min"] = int(spec.least) if whole else spec.least
        if math.isfinite(spec.most):
            options["max"] = int(spec.most) if whole else spec.most
        if not whole:
            options |= {"precision": 2 if spec.unit == "" else 1, "step": 1 if spec.unit == "" else 100}
        if spec.size > 1:
            make = bpy.props.IntVectorProperty if whole else bpy.props.FloatVectorProperty
            return make(size=spec.size, **options)
        return (bpy.props.IntProperty if whole else bpy.props.FloatProperty)(**options)
    if spec.kind == "flag":
        return bpy.props.BoolProperty(**options)
    if spec.kind == "choice":
        items = [(word, word.replace("-", " ").title(), f"Choose {word}") for word in spec.choices]
        return bpy.props.EnumProperty(items=items, **options)
    if spec.kind == "name" and key == "first_foot":
        return bpy.props.StringProperty(search=_leg_names, **options)
    return bpy.props.StringProperty(**options) if spec.kind in ("text", "name") else None


def _group(title: str, model: type) -> type:
    """A property group with one property per described value, and a `use_` flag beside each that may be left open."""
    annotations: dict[str, Any] = {}
    for key, spec in specs_of(model).items():
        made = _property(key, spec)
        if made is None:
            continue
        annotations[key] = made
        if spec.optional:
            annotations[f"use_{key}"] = bpy.props.BoolProperty(
                name=f"Set {label_of(key, spec)}",
                description="Set this value by hand instead of the one that fits the puppet",
                update=_changed,
            )
    return type(title, (bpy.types.PropertyGroup,), {"__annotations__": annotations, "__doc__": model.__doc__})


ShotValues = _group("STRIDERULE_PG_shot", Shot)
WalkValues = _group("STRIDERULE_PG_walk", Walk)
HipsValues = _group("STRIDERULE_PG_hips", Hips)
OverlayValues = _group("STRIDERULE_PG_overlay", Overlay)


class STRIDERULE_PG_finding(bpy.types.PropertyGroup):
    """One thing that the checks say, as a row of the list."""

    severity: bpy.props.EnumProperty(items=[(one, one.title(), "") for one in SEVERITIES])
    text: bpy.props.StringProperty()
    cure: bpy.props.StringProperty()
    frame: bpy.props.IntProperty()


class STRIDERULE_PG_view(bpy.types.PropertyGroup):
    """One camera of the shot; its name is the group's own."""

    export: bpy.props.BoolProperty(
        name="Export This View", description="Write overlay pictures for this view", default=False, update=_changed
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
        name="Title", description="Choose what people call this variant", update=_changed
    )
    side_by_side: bpy.props.BoolProperty(
        name="Show Side by Side",
        description="Show the shot's other walks beside this one, on the same beat",
        update=_changed,
    )
    findings: bpy.props.CollectionProperty(type=STRIDERULE_PG_finding)
    finding: bpy.props.IntProperty(name="Finding", description="Go to the pose of a finding", update=_picked)
    ghosts_before: bpy.props.IntProperty(
        name="Ghosts Before", description="Show this many poses before", default=1, min=0, max=12, update=_changed
    )
    ghosts_after: bpy.props.IntProperty(
        name="Ghosts After", description="Show this many poses after", default=1, min=0, max=12, update=_changed
    )
    refusal: bpy.props.StringProperty(description="Say why the walk on show is not the one of these numbers")
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
