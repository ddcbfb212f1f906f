"""A shot file with changed values: the person's own text where its lines can hold them."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from striderule.adjust.values import Value, spec_of
from striderule.errors import FileError, ModelError, OutputError
from striderule.export.files import make_folder, write_text
from striderule.model.edits import Edits
from striderule.model.fields import specs_of
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, parse_shot
from striderule.model.stage import Stage
from striderule.model.step_change import per_step_specs
from striderule.model.toml_editing import Value as Written
from striderule.model.toml_editing import with_puppet_path, with_values
from striderule.model.toml_writing import edits_text


def in_walk(values: Mapping[str, Value | None]) -> dict[str, Written | None]:
    """Values by their whole keys, of values by their keys below [walk]."""
    return {f"walk.{key}": value for key, value in values.items()}


def reopened(names: tuple[str, ...], known: frozenset[str]) -> frozenset[str]:
    """The keys that --reopen names, which may be written although they are typed; `every` = all that are known. Raises
    ModelError for an unknown one."""
    if "every" in names:
        return known
    for name in names:
        if name not in known:
            raise ModelError(
                "--reopen", "values of [walk] out of " + ", ".join(sorted(known)) + ", or every", repr(name)
            )
    return frozenset(names)


def write_changed(
    source: Path, target: Path, text: str, new: Shot, edits: Mapping[str, Written | None], by: str, over: bool
) -> None:
    """Write the shot's own text with its new values; a layout that lines cannot be written into is written anew, with
    the puppet inside.

    edits: by whole key, None = its line goes. by: who wrote them, for the comments of new lines. Raises OutputError
    where another file is in the way and `over` is not set.
    """
    make_folder(target.parent)  # before its file is looked at: a puppet's path through it must lead somewhere
    edited = with_values(text, edits, {key: f"{_doc(key)} ({by})" for key in edits})
    puppet = tomllib.loads(text).get("puppet")
    if new.edits != Edits() and "edit" not in tomllib.loads(edited):
        edited += edits_text(new.edits)
    if isinstance(puppet, str) and source.parent.resolve() != target.parent.resolve():
        edited = with_puppet_path(edited, _path_from(target.parent, source.parent / puppet))
    if not _means(edited, target, new):
        edited = dump_shot(new)
    if target.is_dir() or (target.exists() and not over and target.read_bytes() != edited.encode("utf-8")):
        raise OutputError(f"{target}: is there already. Name another file, or replace what is there (--replace).")
    write_text(target, edited)


def _doc(key: str) -> str:
    table, _, own = key.partition(".")
    if table in ("stage", "edit"):
        return specs_of(Stage if table == "stage" else Edits)[own].doc
    return (per_step_specs()[own.partition(".")[2]] if table == "step" else spec_of(own)).doc


def _path_from(folder: Path, file: Path) -> str:
    """A file's path from a folder, with forward slashes; as it is where there is none (another drive)."""
    try:
        return Path(os.path.relpath(file.resolve(), folder.resolve())).as_posix()
    except ValueError:
        return file.as_posix()


def _means(text: str, target: Path, shot: Shot) -> bool:
    try:
        read = parse_shot(text, target, target.parent)
    except FileError:
        return False
    unnamed = "name" not in tomllib.loads(text)  # such a shot goes by the name of its file, the new one too
    return (replace(read, name=shot.name) if unnamed else read) == shot
