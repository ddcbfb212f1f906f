"""From a file on disk to a TOML document that can say on which line a value stands. Every refusal is a FileError."""

from __future__ import annotations

import json
import os
import re
import tomllib
from pathlib import Path
from typing import Any, cast

from ..errors import FileError
from .toml_lines import Keys, places_in

LARGEST_BYTES = 1_000_000
LONGEST_LINE = 20_000
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")

Table = dict[str, Any]


class Document:
    """A parsed TOML file. data: plain values; file: its name for messages."""

    def __init__(self, file: Path | str, text: str, data: Table) -> None:
        self.file, self.text, self.data = file, text, data
        self._lines: dict[Keys, int] | None = None

    def line_of(self, place: Keys) -> int:
        """Line (from 1) of a key, or of the nearest table around it; 1 where nothing around it stands in the file."""
        if self._lines is None:
            self._lines = places_in(self.text).lines
        for length in range(len(place), 0, -1):
            line = self._lines.get(place[:length])
            if line:
                return line
        return 1

    def refusal(self, place: Keys, expected: str, given: str, cure: str = "", *, key: Keys | None = None) -> FileError:
        """A FileError at `place`. key: what to name where it is not `place` itself."""
        named = dotted(place if key is None else key)
        return FileError(self.file, self.line_of(place), named, expected, given, cure)


def dotted(place: Keys) -> str:
    """A place as people read it: list entries count from 1, long keys are cut."""
    return ".".join(str(part + 1) if isinstance(part, int) else part[:60] for part in place[:8])


def phrase(value: Any) -> str:
    """A value of a file in a few words, as the file writes it; short whatever the value is."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**18 else "a number of more than 18 digits"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, str):
        return json.dumps(value if len(value) <= 60 else value[:57] + "...", ensure_ascii=False)
    if isinstance(value, list):
        items = cast("list[Any]", value)
        shown = ", ".join("a list" if isinstance(one, list) else phrase(one) for one in items[:4])
        return f"[{shown}{', ...' if len(items) > 4 else ''}]"
    return "a table" if isinstance(value, dict) else "a date or time"


def read_text(path: Path, what: str) -> str:
    """The text of a file, UTF-8, with "\\n" line ends and without a byte order mark.

    what: "shot" or "puppet", for the words of a refusal. Raises FileError: no such file, a folder or device instead of
    a file, no permission, over LARGEST_BYTES, empty, not UTF-8 (names byte and line).
    """
    expected = f"a {what} file"
    try:
        if path.is_dir():
            raise FileError(path, 0, "", expected, "a folder", f"Name the {what} file in it.")
        if not os.path.lexists(path):
            raise FileError(path, 0, "", expected, "a name that does not exist", "Check folder and spelling.")
        if not path.is_file():
            raise FileError(path, 0, "", expected, "something that is not an ordinary file")
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a name with a zero byte in it
        reason = getattr(error, "strerror", None) or str(error)
        raise FileError(path, 0, "", expected, f"one that cannot be read ({reason})") from error
    return decoded(raw, path, what)


def decoded(raw: bytes, file: Path | str, what: str) -> str:
    """The text of a file's bytes. Raises FileError as `read_text`."""
    expected = f"a {what} file"
    if len(raw) > LARGEST_BYTES:
        raise FileError(file, 0, "", f"{expected} of at most {LARGEST_BYTES} bytes", "a larger one")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise FileError(
            file,
            line,
            "",
            "UTF-8 text",
            f"the byte 0x{raw[error.start]:02x} at offset {error.start}",
            "Save the file with the encoding UTF-8.",
        ) from error
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    if not text.strip():
        raise FileError(file, 0, "", expected, "an empty file", f'Begin it with kind = "{what}" and format = 1.')
    return text


def parse(text: str, file: Path | str) -> Document:
    """A TOML text as a Document. Raises FileError with the line for whatever is not TOML."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    if len(text) > LARGEST_BYTES:
        raise FileError(file, 0, "", f"a text of at most {LARGEST_BYTES} characters", "a longer one")
    for number, line in enumerate(text.split("\n"), 1):
        # A key of thousands of dotted parts would keep the parser busy for minutes.
        if len(line) > LONGEST_LINE:
            raise FileError(file, number, "", f"lines of at most {LONGEST_LINE} characters", "a longer one")
    try:
        return Document(file, text, tomllib.loads(text))
    except RecursionError as error:
        raise FileError(file, 0, "", "lists inside lists at most a few deep", "a deeper nesting") from error
    except ValueError as error:  # TOMLDecodeError, and Python's own limit on the digits of a number
        raise _not_toml(text, file, str(error)) from error


def _not_toml(text: str, file: Path | str, message: str) -> FileError:
    cure = 'Texts stand in quotes ("soft"), decimals have a point (80.5), lists square brackets.'
    found = _PLACE.search(message)
    if not found:
        many = re.search(r"[0-9_]{4000,}", text)
        line = text.count("\n", 0, many.start()) + 1 if many else 0
        return FileError(file, line, "", "TOML", "a number of thousands of digits")
    reason = message[: found.start()]
    if found.group(1) is None:
        line = text.rstrip().count("\n") + 1
        return FileError(file, line, "", "TOML", f"a text that ends too early ({reason})", cure)
    line, column = int(found.group(1)), f" at column {found.group(2)}"
    if "overwrite" in reason:
        # The parser stops behind the second value, which may be lines below its key.
        above = places_in("\n".join(text.split("\n")[:line]))
        key = dotted(above.last)
        return FileError(file, above.last_line, key, "each key once", "this key twice", "Take one of the two out.")
    return FileError(file, line, "", "TOML", f"{reason}{column}", cure)
