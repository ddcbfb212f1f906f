"""Shot and puppet files: TOML that a person writes with a ruler in hand. Its keys are the field names of the model.

Every refusal is a FileError with file, line, dotted key, what was expected, what was given, and where possible a
cure.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

from .. import __version__
from ..errors import FileError
from .camera_reading import cameras_of
from .identity import puppet_identity, shot_identity
from .limb_reading import arms_of, legs_of, loose_of, shapes_of
from .planned_tables import PLANNED, planned
from .puppet import Body, Puppet
from .shot import Overlay, Shot
from .table_reading import built, checked_table, fps_of, simple, values_of
from .toml_lines import Keys
from .toml_reading import Document, Table, parse, phrase, read_text
from .toml_writing import FORMAT, dump_puppet, dump_shot
from .upper import part_names
from .variant_reading import refuse_bad_variants, variants_of
from .walk import Hips, Walk

__all__ = [
    "FORMAT",
    "MIGRATIONS",
    "Migration",
    "dump_puppet",
    "dump_shot",
    "load_puppet",
    "load_shot",
    "migrated",
    "opened",
    "parse_puppet",
    "parse_shot",
    "puppet_identity",
    "shot_identity",
    "typed_walk_keys",
]

Migration = Callable[[str, Table], Table]
"""(kind, document of format k) -> document of format k + 1. The "format" key is looked after by `migrated`."""

MIGRATIONS: dict[int, Migration] = {}
"""Format k -> the step to k + 1, for every k from 1 to FORMAT - 1."""

Made = TypeVar("Made")


def load_shot(path: Path | str) -> Shot:
    """A shot file, its puppet file included. Raises FileError."""
    path = Path(path)
    return parse_shot(read_text(path, "shot"), path, path.parent)


def load_puppet(path: Path | str) -> Puppet:
    """A puppet file. Raises FileError."""
    path = Path(path)
    return parse_puppet(read_text(path, "puppet"), path)


def parse_puppet(text: str, file: Path | str) -> Puppet:
    """A puppet out of its TOML text. file: its name for messages. Raises FileError."""
    doc = opened(text, file, "puppet")
    return _puppet(doc, doc.data, ())


def parse_shot(text: str, file: Path | str, folder: Path | None = None) -> Shot:
    """A shot out of its TOML text. file: its name for messages, and the shot's where the text gives none.

    folder: where its puppet and camera files are looked for; None = only inline tables are possible. Raises FileError.
    """
    doc = opened(text, file, "shot")
    tables = ("puppet", "walk", *PLANNED, "view", "overlay", "variant")
    data = checked_table(doc, doc.data, (), ("kind", "format", "name", "fps", "frames_per_pose", *tables))
    # A shot without a name goes by its file's.
    values: dict[str, Any] = {} if "name" in data else {"name": _stem(file)}
    values |= values_of(doc, data, (), Shot, without=("fps", *values))
    if "fps" in data:
        values["fps"] = fps_of(doc, data["fps"])
    values["puppet"] = _puppet_of_shot(doc, data.get("puppet"), folder)
    values["walk"] = _walk(doc, data.get("walk", {}))
    values |= planned(doc, data)
    values["cameras"] = cameras_of(doc, data["view"], folder, opened) if "view" in data else ()
    values["overlay"] = simple(doc, data.get("overlay", {}), ("overlay",), "overlay", Overlay)
    values["variants"] = variants_of(doc, data.get("variant", {}))
    shot = built(doc, (), "", lambda: Shot(**values))
    refuse_bad_variants(doc, shot)
    return shot


def typed_walk_keys(text: str, file: Path | str) -> frozenset[str]:
    """Keys below [walk] that a shot's TOML text holds ("step_mm", "hips.contact_mm"), also those at their defaults:
    what a person typed. The text must be one that `parse_shot` reads. Raises FileError."""
    walk = opened(text, file, "shot").data.get("walk", {})
    own = {key for key in walk if key != "hips"}
    return frozenset(own | {f"hips.{key}" for key in walk.get("hips", {})})


def migrated(
    kind: str, data: Table, given: int, steps: dict[int, Migration] | None = None, newest: int | None = None
) -> Table:
    """A document of an older format as one of the newest: one step after the other, in memory.

    given: the format that it has. steps, newest: the table and its end; None = MIGRATIONS and FORMAT.
    Raises KeyError where a step is missing.
    """
    newest = FORMAT if newest is None else newest
    for step in range(given, newest):
        data = (MIGRATIONS if steps is None else steps)[step](kind, data)
    return {**data, "format": newest}


def opened(text: str, file: Path | str, kind: str) -> Document:
    """The document of a file of this kind, brought to the newest format. Raises FileError."""
    doc = parse(text, file)
    given = doc.data.get("kind")
    if given != kind:
        cure = f'Begin the file with kind = "{kind}".'
        if kind == "shot" and given == "puppet":
            cure = 'A puppet is named in a shot file: puppet = "FILE".'
        elif kind == "puppet" and given == "shot":
            cure = "Name the puppet's own file."
        raise doc.refusal(("kind",), f'"{kind}"', phrase(given), cure)
    number = doc.data.get("format")
    if not isinstance(number, int) or isinstance(number, bool):
        raise doc.refusal(
            ("format",), f"a whole number from 1 to {FORMAT}", phrase(number), f"Write format = {FORMAT}."
        )
    if number < 1:
        raise doc.refusal(("format",), f"a whole number from 1 to {FORMAT}", phrase(number), "Formats count from 1.")
    if number > FORMAT:
        raise doc.refusal(
            ("format",),
            f"a format up to {FORMAT}, which Striderule {__version__} reads",
            phrase(number),
            f"Format {phrase(number)} needs a newer Striderule than {__version__}: update it.",
        )
    if number < FORMAT:
        doc.data = migrated(kind, doc.data, number)
    return doc


def _walk(doc: Document, raw: Any) -> Walk:
    hips = checked_table(doc, raw, ("walk",)).get("hips", {})
    return simple(
        doc, raw, ("walk",), "walk", Walk, also={"hips": simple(doc, hips, ("walk", "hips"), "walk.hips", Hips)}
    )


def _stem(file: Path | str) -> str:
    """A file's name without its ending, as a text that a shot may have for a name."""
    stem = "".join(letter for letter in Path(file).stem if letter.isprintable())
    return stem[:200] or "Shot"


def _puppet_of_shot(doc: Document, raw: Any, folder: Path | None) -> Puppet:
    place: Keys = ("puppet",)
    expected = 'the path of a puppet file ("puppets/NAME.toml") or a [puppet] table'
    if isinstance(raw, dict):
        return _puppet(doc, cast(Table, raw), place)
    if not isinstance(raw, str) or not raw.strip():
        raise doc.refusal(place, expected, phrase(raw))
    if "\\" in raw or raw.startswith("/") or raw[1:2] == ":":
        raise doc.refusal(place, "a path relative to the shot file, with forward slashes", phrase(raw))
    if folder is None:
        raise doc.refusal(place, "a [puppet] table, because this text is not a file in a folder", phrase(raw))
    path = folder / raw
    try:
        itself = path.is_file() and path.samefile(doc.file)
    except (OSError, ValueError):
        itself = False  # there is no such file: the reader says so below
    if itself:
        raise doc.refusal(place, expected, f"{phrase(raw)}, which is the shot file itself")
    try:
        text = read_text(path, "puppet")
    except FileError as error:
        if error.line:
            raise
        raise doc.refusal(place, error.expected, f"{phrase(raw)}: {error.given}", error.cure) from error
    return parse_puppet(text, path)


def _puppet(doc: Document, raw: Table, place: Keys) -> Puppet:
    known = ("name", "body", "leg", "arm", "loose", "shape")
    table = checked_table(doc, raw, place, known if place else ("kind", "format", *known))
    values = values_of(doc, table, place, Puppet)
    values["body"] = simple(doc, table.get("body", {}), (*place, "body"), "body", Body)
    values["legs"] = legs_of(doc, table.get("leg", {}), (*place, "leg"))
    values["arms"] = arms = arms_of(doc, table.get("arm", {}), (*place, "arm"))
    values["loose"] = loose = loose_of(doc, table.get("loose", {}), (*place, "loose"))
    values["shapes"] = shapes_of(doc, table.get("shape", []), (*place, "shape"), part_names(arms, loose))
    return built(doc, place, "puppet", lambda: Puppet(**values))
