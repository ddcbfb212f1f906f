"""Owning data-blocks: what we make is marked, found again by its role, reused, and swept away when no longer wanted.

A mark names the set, the role and the data-block's own name. A duplicate that a user makes has another name and so is
the user's; renaming one of ours gives it to the user. Reusing (instead of deleting and making anew) keeps
constraints, parents and visibility that a user has put on our objects.
"""

from __future__ import annotations

from typing import Any

import bpy

from ..ids import PROPERTY

KINDS = ("objects", "meshes", "curves", "cameras", "materials", "actions", "texts", "collections", "worlds", "images")
"""Kinds of data-blocks that we ever make, in the order in which they are removed."""


def role_of(block: Any) -> tuple[str, str] | None:
    """(set, role) of a data-block that we own, None for anybody else's."""
    if block.library or block.override_library:
        return None
    mark = block.get(PROPERTY)
    parts = mark.split("|") if isinstance(mark, str) else ()
    return (parts[0], parts[1]) if len(parts) == 3 and parts[2] == block.name else None


def set_collection(scene: Any) -> Any | None:
    """The root collection of our set in `scene`, None where there is none."""
    for collection in scene.collection.children_recursive:
        owned = role_of(collection)
        if owned and owned[1] == "set":
            return collection
    return None


class OwnedSet:
    """Everything we own in one scene. get() finds or makes by role; sweep() removes what was not asked for since."""

    def __init__(self, scene: Any) -> None:
        self.scene = scene
        root = set_collection(scene)
        if root is None:
            root = bpy.data.collections.new("Striderule")
            scene.collection.children.link(root)
            root[PROPERTY] = f"{root.name}|set|{root.name}"
        self.root = root
        self.key = role_of(root)[0]  # type: ignore[index]
        self._found: dict[tuple[str, str], Any] = {}
        self._wanted: set[tuple[str, str]] = {("collections", "set")}
        for kind in KINDS:
            for block in getattr(bpy.data, kind):
                owned = role_of(block)
                if owned and owned[0] == self.key:
                    self._found[kind, owned[1]] = block

    def get(self, kind: str, role: str, *make: Any) -> Any:
        """The data-block of that kind and role; made by bpy.data.<kind>.new(name, *make) where there is none yet."""
        self._wanted.add((kind, role))
        block = self._found.get((kind, role))
        if block is None:
            block = getattr(bpy.data, kind).new(role if kind == "texts" else f"SR {role}", *make)
            block[PROPERTY] = f"{self.key}|{role}|{block.name}"
            self._found[kind, role] = block
        return block

    def find(self, kind: str, role: str) -> Any | None:
        """The data-block of that kind and role if it is there; sweep() spares only what get() was asked for."""
        return self._found.get((kind, role))

    def keep(self, kind: str) -> None:
        """Spare everything of that kind from the next sweep."""
        self._wanted |= {key for key in self._found if key[0] == kind}

    def group(self, role: str) -> Any:
        """The sub-collection of that role."""
        group = self.get("collections", role)
        if group.name not in self.root.children:
            self.root.children.link(group)
        return group

    def thing(self, role: str, group: str, data: Any) -> Any:
        """The object of that role, showing `data`, in the sub-collection `group`."""
        thing = self.get("objects", role, data)
        if thing.data is not data:
            thing.data = data
        collection = self.group(group)
        if thing.name not in collection.objects:
            collection.objects.link(thing)
        return thing

    def sweep(self) -> None:
        """Remove what was not asked for since this object was made."""
        self._remove([key for key in self._found if key not in self._wanted])

    def remove(self) -> None:
        """Remove the whole set; a collection that holds something of the user's stays, as the user's."""
        self._remove(list(self._found))

    def _remove(self, keys: list[tuple[str, str]]) -> None:
        """What the user has come to use as well (the mesh of a duplicate, say) is left to the user instead."""
        blocks: dict[str, list[tuple[str, Any]]] = {kind: [] for kind in KINDS}
        for kind, role in keys:
            blocks[kind].append((role, self._found.pop((kind, role))))
        # Inner collections first, so that the root is empty when its turn comes.
        blocks["collections"].sort(key=lambda pair: pair[0] == "set")
        for kind, pairs in blocks.items():
            if kind in ("objects", "texts"):
                bpy.data.batch_remove([block for _, block in pairs])
                continue
            for _, block in pairs:
                used = block.objects or block.children if kind == "collections" else block.users
                if used:
                    del block[PROPERTY]
                else:
                    getattr(bpy.data, kind).remove(block)
