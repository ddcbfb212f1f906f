"""A shot file's text with values written into it: a person's own lines, order and comments stay.

Works on lines, for files laid out as people lay them out: [walk] and [walk.hips] as tables, a value a line. TOML knows
other layouts: whoever edits reads the result back and writes the shot anew (`dump_shot`) where it is not as meant.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from .toml_writing import COMMENT_COLUMN, value_text

_HEADER = re.compile(r"\s*\[")


Value = float | int | str | tuple[float, ...]


def with_values(text: str, values: Mapping[str, Value | None], comments: Mapping[str, str] | None = None) -> str:
    """The TOML text of a shot with these values in its tables, by whole key ("walk.step_mm", "walk.hips.contact_mm",
    "stage.start_mm").

    A value that is there is changed where it stands, or its line goes (None); others follow the table's last one, with
    their comment. LF line ends.
    """
    lines = text.rstrip("\n").split("\n")
    tables: dict[str, dict[str, Value | None]] = {}
    for key, value in values.items():
        table, _, own = key.rpartition(".")
        tables.setdefault(table.partition(".")[0], {})  # a table comes before those inside it
        tables.setdefault(table, {})[own] = value
    after: dict[str, int] = {}
    for table, own in tables.items():
        words = {key: comments[f"{table}.{key}"] for key in own if f"{table}.{key}" in comments} if comments else {}
        parent = table.rpartition(".")[0]
        after[table] = _write(lines, table, own, words, after.get(parent, len(lines)))
        if parent in after:  # its next new table follows this one
            after[parent] = after[table]
    return "\n".join(lines) + "\n"


def with_puppet_path(text: str, path: str) -> str:
    """The TOML text of a shot that names its puppet's file by another path."""
    return re.sub(
        r"""^(\s*puppet\s*=\s*)("[^"\n]*"|'[^'\n]*')""",
        lambda found: found.group(1) + json.dumps(path, ensure_ascii=False),
        text,
        count=1,
        flags=re.MULTILINE,
    )


def _write(
    lines: list[str], table: str, values: Mapping[str, Value | None], comments: Mapping[str, str], at: int
) -> int:
    """Write values into a table of `lines`; where there is none it is made behind line `at`. Returns the line behind
    the table's last value."""
    name = r"\s*\.\s*".join(table.split("."))
    header = next((i for i, line in enumerate(lines) if re.match(rf"\s*\[\s*{name}\s*\]", line)), None)
    if header is None:
        if all(value is None for value in values.values()):
            return at
        lines[at:at] = ["", f"[{table}]"]
        header = at + 1
    end = next((i for i in range(header + 1, len(lines)) if _HEADER.match(lines[i])), len(lines))
    new: list[str] = []
    gone: set[int] = set()
    for key, value in values.items():
        there = re.compile(rf"""(\s*{key}\s*=\s*)("[^"]*"|'[^']*'|\[[^\]#]*\]|[^\s#]+)(\s*)(#.*)?""")
        found = next(((i, m) for i in range(header + 1, end) if (m := there.fullmatch(lines[i]))), None)
        if value is None:
            gone |= {found[0]} if found else set()
        elif found is None:
            line = f"{key} = {value_text(value)}"
            new.append(f"{line:<{COMMENT_COLUMN}}# {comments[key]}" if comments.get(key) else line)
        else:
            start, old, gap, words = found[1].groups()
            written = start + value_text(value)
            room = max(len(start) + len(old) + len(gap), len(written) + 1)
            lines[found[0]] = f"{written:<{room}}{words}" if words else written
    last = max((i for i in range(header, end) if lines[i].strip() and not lines[i].lstrip().startswith("#")), default=0)
    lines[last + 1 : last + 1] = new
    for line in sorted(gone, reverse=True):
        del lines[line]
    return last + 1 + len(new) - len(gone)
