"""Variants of a shot made, edited and taken away: Shot -> Shot, as a few lines that a person could have typed."""

from __future__ import annotations

from dataclasses import replace

from ..errors import ModelError
from ..model.shot import Shot
from ..model.variant import MAIN, Variant, walk_value

STEM = "walk"
"""What a variant without a name of its own is called: walk-2, walk-3, ... The first walk is the main one."""


def duplicated(shot: Shot, of: str = MAIN) -> tuple[Shot, str]:
    """The shot with one more variant, last, that is the same as its variant `of`; and the new one's name.

    Raises ModelError where there is no variant `of`.
    """
    taken = {one.name for one in shot.variants}
    name = next(name for k in range(2, len(taken) + 3) if (name := f"{STEM}-{k}") not in taken)
    made = Variant(name) if of == MAIN else replace(_named(shot, of), name=name, title="")
    return replace(shot, variants=(*shot.variants, made)), name


def without(shot: Shot, name: str) -> Shot:
    """The shot without that variant. Raises ModelError where there is none."""
    gone = _named(shot, name)
    return replace(shot, variants=tuple(one for one in shot.variants if one is not gone))


def with_edited(shot: Shot, name: str, edited: Shot, title: str | None = None) -> Shot:
    """The shot whose variant `name` gives the walk, fps and frames per pose of `edited`, under this title (None: as it
    was). Values that the variant gave and that are as they were stay in it, also where they are the main walk's.

    Raises ModelError where there is no such variant or it cannot hold them.
    """
    old = _named(shot, name)
    new = Variant.between(name, shot.walk, edited.walk)
    kept = {key: value for key, value in old.values if walk_value(edited.walk, key) == value}
    fps = edited.fps if edited.fps != shot.fps or old.fps == edited.fps else None
    held = edited.frames_per_pose
    own = held if held != shot.frames_per_pose or old.frames_per_pose == held else None
    made = Variant.of(name, {**kept, **dict(new.values)}, frozenset(new.opened), fps=fps, frames_per_pose=own,
                      title=old.title if title is None else title, step_changes=old.step_changes)  # fmt: skip
    return replace(shot, variants=tuple(made if one is old else one for one in shot.variants))


def _named(shot: Shot, name: str) -> Variant:
    for one in shot.variants:
        if one.name == name:
            return one
    known = ", ".join(one.name for one in shot.variants) or "none that there are"
    raise ModelError("variant", f"one of {known}", repr(name))
