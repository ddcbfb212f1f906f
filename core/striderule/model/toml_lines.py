"""Where each key of a TOML text stands: the parser of the standard library gives values without lines."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from contextlib import suppress
from typing import NamedTuple

Keys = tuple[str | int, ...]
"""A place in a document: table and key names, and indices (from 0) into lists."""

_BLANK = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
# Order matters: three quotes before one. A closing triple may be preceded by up to two quotes that belong to the text.
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})' r"|'''.*?'''(?:'{0,2})" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'", re.DOTALL
)
_SCALAR = re.compile(r"[^,\]}\n#]+")


class Places(NamedTuple):
    """lines: line (from 1) of every table, key and list entry. last, last_line: the last statement's key and line."""

    lines: dict[Keys, int]
    last: Keys
    last_line: int


class _LostError(Exception):
    """The text is not TOML from here on."""


class _Scanner:
    """One pass over the text. Reads only what is needed to know which key a line belongs to."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.newlines = [found.start() for found in re.finditer("\n", text)]
        self.lines: dict[Keys, int] = {}
        self.lists: dict[Keys, int] = {}
        self.last: Keys = ()
        self.last_line = 0

    def run(self) -> None:
        table: Keys = ()
        while True:
            self.skip(_GAP)
            if self.at >= len(self.text):
                return
            line = self.line()
            if self.text.startswith("[[", self.at):
                self.at += 2
                table = self.list_entry(self.key(), line)
                self.expect("]]")
            elif self.text[self.at] == "[":
                self.at += 1
                table = self.within((), self.key(), line)
                self.lines[table] = line  # its own header is a better place than a sub-table that came first
                self.expect("]")
            else:
                self.last, self.last_line = self.within(table, self.key(), line), line
                self.expect("=")
                self.value(self.last)

    def line(self) -> int:
        return bisect_right(self.newlines, self.at - 1) + 1

    def skip(self, what: re.Pattern[str]) -> None:
        found = what.match(self.text, self.at)
        if found:
            self.at = found.end()

    def take(self, what: re.Pattern[str]) -> str:
        found = what.match(self.text, self.at)
        if not found:
            raise _LostError
        self.at = found.end()
        return found.group()

    def expect(self, mark: str) -> None:
        self.skip(_BLANK)
        if not self.text.startswith(mark, self.at):
            raise _LostError
        self.at += len(mark)

    def key(self) -> list[str]:
        parts: list[str] = []
        while True:
            self.skip(_BLANK)
            if self.text[self.at : self.at + 1] in ("'", '"'):
                try:
                    parts.append(tomllib.loads("key = " + self.take(_STRING))["key"])
                except tomllib.TOMLDecodeError as error:
                    raise _LostError from error
            else:
                parts.append(self.take(_BARE_KEY))
            self.skip(_BLANK)
            if self.text[self.at : self.at + 1] != ".":
                return parts
            self.at += 1

    def within(self, table: Keys, parts: list[str], line: int) -> Keys:
        """The place of dotted `parts` inside `table`; a list of tables means its newest entry."""
        place = table
        for part in parts:
            place = (*place, part)
            self.lines.setdefault(place, line)
            if place in self.lists:
                place = (*place, self.lists[place])
        return place

    def list_entry(self, parts: list[str], line: int) -> Keys:
        place = (*self.within((), parts[:-1], line), parts[-1])
        self.lines.setdefault(place, line)
        self.lists[place] = self.lists.get(place, -1) + 1
        entry = (*place, self.lists[place])
        self.lines[entry] = line
        return entry

    def value(self, place: Keys) -> None:
        self.skip(_BLANK)
        start = self.text[self.at : self.at + 1]
        if start in ('"', "'"):
            self.take(_STRING)
        elif start in ("[", "{"):
            self.at += 1
            index = 0
            while True:
                self.skip(_GAP)
                if self.text[self.at : self.at + 1] == ("]" if start == "[" else "}"):
                    self.at += 1
                    return
                if start == "[":
                    inner: Keys = (*place, index)
                    self.lines[inner] = self.line()
                else:
                    inner = self.within(place, self.key(), self.line())
                    self.expect("=")
                self.value(inner)
                index += 1
                self.skip(_GAP)
                if self.text[self.at : self.at + 1] == ",":
                    self.at += 1
        else:
            self.take(_SCALAR)


def places_in(text: str) -> Places:
    """Where everything in a TOML text stands.

    text: with "\\n" line ends. Where the text is not TOML (or nested too deep), what stands above is still found.
    """
    scanner = _Scanner(text)
    with suppress(_LostError, RecursionError):
        scanner.run()
    return Places(scanner.lines, scanner.last, scanner.last_line)
