"""The tables of a shot file that say where its cameras are: [view.NAME], matched ones with what their still gave."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

from ..errors import FileError
from .fields import Spec, is_name, specs_of
from .matched import Lens, MatchedCamera
from .table_reading import built, checked_table, simple, values_of
from .toml_lines import Keys
from .toml_reading import Document, Table, phrase, read_text
from .view import CameraSetup

Made = TypeVar("Made", Lens, MatchedCamera)
Opened = Callable[[str, Path, str], Document]


def cameras_of(doc: Document, raw: Any, folder: Path | None, opened: Opened) -> tuple[CameraSetup, ...]:
    """The cameras below [view]. folder: where camera files are looked for; opened: makes a Document of a file's text.
    Raises FileError."""
    expected = "cameras, each under a header with its name ([view.NAME])"
    form = "Write [view.desk], and below it place_mm = [240, -1400, 220] and target_mm = [240, 0, 170]."
    if not isinstance(raw, dict):
        given = "a list of tables ([[view]])" if isinstance(raw, list) else phrase(raw)
        raise doc.refusal(("view",), expected, given, form)
    tables = cast(Table, raw)
    if not tables:
        raise doc.refusal(("view",), expected, "[view] with nothing in it", form)
    for key, table in tables.items():
        if key in specs_of(CameraSetup) and not isinstance(table, dict):
            raise doc.refusal(("view", key), expected, f"{key} without a camera's name", form)
    return tuple(_camera(doc, name, table, folder, opened) for name, table in tables.items())


def read_values(doc: Document, raw: Any, place: Keys, cls: type[Made]) -> Made:
    """A lens or a matched camera out of its table, or out of its file's top (place = ()). Raises FileError."""
    top = () if place else ("kind", "format")
    table = checked_table(doc, raw, place, (*top, *specs_of(cls)))
    values = values_of(doc, table, place, cls)
    return built(doc, place, "", lambda: cls(**values))


def _camera(doc: Document, name: str, raw: Any, folder: Path | None, opened: Opened) -> CameraSetup:
    place: Keys = ("view", name)
    if not is_name(name):
        raise doc.refusal(place, Spec("name", "").expectation(), phrase(name))
    matched = None
    if isinstance(raw, dict) and "camera" in raw:
        table = dict(cast(Table, raw))
        matched = _matched(doc, table.pop("camera"), (*place, "camera"), folder, opened)
        if "resolution" not in table:
            crop = table.get("crop_px")
            whole = isinstance(crop, list) and len(cast("list[Any]", crop)) == 4
            table["resolution"] = cast("list[Any]", crop)[2:] if whole else list(matched.still_px)
        raw = table
    also: dict[str, Any] = {"name": name, "matched": matched}
    return simple(doc, raw, place, f"view.{name}", CameraSetup, also=also, without=("name", "matched"))


def _matched(doc: Document, raw: Any, place: Keys, folder: Path | None, opened: Opened) -> MatchedCamera:
    if isinstance(raw, dict):
        return read_values(doc, raw, place, MatchedCamera)
    expected = 'the path of a camera file ("desk.camera.toml"), or its values in a table'
    if not isinstance(raw, str) or not raw.strip():
        raise doc.refusal(place, expected, phrase(raw))
    if "\\" in raw or raw.startswith("/") or raw[1:2] == ":":
        raise doc.refusal(place, "a path relative to the shot file, with forward slashes", phrase(raw))
    if folder is None:
        raise doc.refusal(place, "a table with the camera's values, because this text is not a file in a folder",
                          phrase(raw))  # fmt: skip
    path = folder / raw
    try:
        text = read_text(path, "camera")
    except FileError as error:
        if error.line:
            raise
        raise doc.refusal(place, error.expected, f"{phrase(raw)}: {error.given}", error.cure) from error
    found = opened(text, path, "camera")
    return read_values(found, found.data, (), MatchedCamera)
