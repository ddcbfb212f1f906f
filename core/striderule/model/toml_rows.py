"""Rows of a list of tables ([[edit.footfall]]) written into a shot file's text: a person's own rows stay."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

from .fields import specs_of
from .toml_writing import COMMENT_COLUMN, value_text

_HEADER = re.compile(r"\s*\[")


@dataclass(frozen=True)
class Row:
    """One table of a list: a described dataclass, and what stands behind its header ("" = nothing). written: by us,
    not by a person: it is written anew every time."""

    model: object
    comment: str
    written: bool

    @property
    def values(self) -> dict[str, Any]:
        """Its values that are not open, in the order of a file."""
        every = {key: getattr(self.model, key) for key in specs_of(type(self.model))}
        return {key: value for key, value in every.items() if value is not None}


def with_rows(text: str, name: str, rows: Sequence[Row]) -> str:
    """The TOML text with these rows as its list of tables `name` ("edit.footfall"): those of a person that are in it
    stay where they stand, others go, the rest follows at the end. Whoever writes it reads it back: TOML knows other
    layouts than [[...]]. LF line ends."""
    lines = text.rstrip("\n").split("\n")
    left = list(rows)
    for first, end in reversed(_blocks(lines, name)):
        own = _values(lines[first:end], name)
        kept = next((row for row in left if not row.written and row.values == own), None)
        if kept is not None:
            left.remove(kept)
            continue
        while first > 0 and not lines[first - 1].strip():
            first -= 1
        del lines[first:end]
    for row in left:
        header = f"[[{name}]]"
        lines += ["", f"{header:<{COMMENT_COLUMN}}# {row.comment}" if row.comment else header]
        lines += [f"{key} = {value_text(value)}" for key, value in row.values.items()]
    return "\n".join(lines) + "\n"


def _blocks(lines: list[str], name: str) -> list[tuple[int, int]]:
    """First line of every row and the line behind its last value."""
    keys = r"\s*\.\s*".join(name.split("."))
    header = re.compile(rf"\s*\[\[\s*{keys}\s*\]\]")
    found: list[tuple[int, int]] = []
    for first, line in enumerate(lines):
        if header.match(line):
            end = next((i for i in range(first + 1, len(lines)) if _HEADER.match(lines[i])), len(lines))
            while end > first + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
                end -= 1
            found.append((first, end))
    return found


def _values(lines: list[str], name: str) -> dict[str, Any]:
    table: Any = tomllib.loads("\n".join(lines))
    for key in name.split("."):
        table = table[key]
    own = cast("dict[str, Any]", table[0])
    return {key: tuple(cast("list[Any]", value)) if isinstance(value, list) else value for key, value in own.items()}
