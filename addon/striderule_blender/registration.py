"""What the add-on registers: one ordered list, taken back in exact reverse."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Protocol, cast

import bpy

import striderule

from . import live, operators, panels, properties


class Part(Protocol):
    """A module that registers more than classes: handlers, properties on Blender's types, commands, menu entries."""

    def register(self) -> None: ...

    def unregister(self) -> None: ...


# The order matters: property groups before those that point at them, panels before their sub-panels, and the parts,
# which hang properties and handlers on Blender's own types, after all classes.
CLASSES: tuple[type, ...] = (*properties.CLASSES, *operators.CLASSES, *panels.CLASSES)
PARTS: tuple[ModuleType, ...] = (properties, live)


def register() -> None:
    """Register everything, or nothing: what was done is taken back where a later one fails.

    Raises RuntimeError where the core in memory is not the one that this add-on came with.
    """
    refuse_other_core()
    undo: list[Callable[[], None]] = []
    try:
        for cls in CLASSES:
            bpy.utils.register_class(cls)
            undo.append(lambda cls=cls: bpy.utils.unregister_class(cls))
        for part in PARTS:
            cast(Part, part).register()
            undo.append(cast(Part, part).unregister)
    except Exception:
        for step in reversed(undo):
            step()
        raise


def unregister() -> None:
    """Take back what register() did, in exact reverse."""
    for part in reversed(PARTS):
        cast(Part, part).unregister()
    for cls in reversed(CLASSES):
        bpy.utils.unregister_class(cls)


def refuse_other_core() -> None:
    """Raise RuntimeError where the core in memory is another one than the add-on's.

    Updating the extension in a running Blender changes the files and leaves the old core in memory.
    """
    wanted = expected_core_version()
    if striderule.__version__ != wanted:
        raise RuntimeError(
            f"Restart Blender to finish the update: this add-on needs Striderule's core {wanted}, "
            f"and {striderule.__version__} is still in memory"
        )


def expected_core_version() -> str:
    """The version of the core's wheel that the manifest lists; in a checkout, which lists none, the manifest's own."""
    manifest = tomllib.loads(Path(__file__).with_name("blender_manifest.toml").read_text(encoding="utf-8"))
    for wheel in manifest.get("wheels", ()):
        if match := re.match(r"\./wheels/striderule-([^-]+)-", wheel):
            return match[1]
    return manifest["version"]
