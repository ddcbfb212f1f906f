"""Blender properties out of the core's one description of every value, so that ranges and words cannot disagree."""

import math
from typing import Any

import bpy

from striderule.model.fields import Spec, specs_of

from . import live

_WORDS = {"fps": "Frames per Second", "steps": "Steps", "at_mm": "Pinned (mm)", "later_poses": "Poses Later"}
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


def changed(group: Any, context: Any) -> None:
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
        "update": _typed(key) if spec.optional else changed,
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


def group_of(title: str, model: type) -> type:
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
                update=changed,
            )
    return type(title, (bpy.types.PropertyGroup,), {"__annotations__": annotations, "__doc__": model.__doc__})
