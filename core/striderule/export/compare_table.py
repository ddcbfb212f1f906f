"""A comparison as an aligned table for a person and as CSV for other programs.

Text: at most three decimals. CSV: one value a row, one column a walk; mm, degrees and seconds with exactly 4 decimals,
nothing where a walk has no such value. Both UTF-8, LF.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from ..compare.rows import Cell, Row, different_values, facts
from ..compare.walks import Compared
from .files import tidy_number

CSV_START = ("what", "unit")
"""The first columns; after them one for each walk, under its label."""


def compare_text(walks: Sequence[Compared]) -> str:
    """What differs, then what it comes to; a column a walk, its title above."""
    named = [f"{one.label}: {one.title}" for one in walks if one.title not in ("", one.label)]
    head = ("", *(one.label for one in walks))
    different = [_cells(row) for row in different_values(walks)] or [("nothing", *("" for _ in walks))]
    told = [_cells(row) for row in facts(walks)]
    table = [head, *different, *told]
    widths = [max(len(row[k]) for row in table) for k in range(len(head))]
    lines = [_line(row, widths) for row in table]
    count = len(different)
    return "\n".join([*named, *([""] if named else []), lines[0], "what differs", *lines[1 : count + 1],
                      "what it comes to", *lines[count + 1 :]]) + "\n"  # fmt: skip


def compare_csv(walks: Sequence[Compared]) -> str:
    """The same rows as CSV."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(csv_head(walks))
    for row in (*different_values(walks), *facts(walks)):
        writer.writerow((row.key, row.unit, *(_exact(cell) for cell in row.cells)))
    return stream.getvalue()


def csv_head(walks: Sequence[Compared]) -> tuple[str, ...]:
    """The header, which says whose comparison it is."""
    return (*CSV_START, *(one.label for one in walks))


def _line(cells: tuple[str, ...], widths: list[int]) -> str:
    first, *rest = (cell.rjust(width) if k else cell.ljust(width)
                    for k, (cell, width) in enumerate(zip(cells, widths, strict=True)))  # fmt: skip
    return ("  " + "   ".join((first, *rest))).rstrip()


def _cells(row: Row) -> tuple[str, ...]:
    told = not row.unit or row.key.endswith((f"_{row.unit}", "seconds"))
    name = row.key if "." in row.key else row.key.replace("_", " ")
    return (name if told else f"{name} ({row.unit})", *map(_words, row.cells))


def _words(cell: Cell) -> str:
    if isinstance(cell, tuple):
        return ", ".join(map(_words, cell))
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{tidy_number(cell, 3):.10g}"
    return "-" if cell is None else str(cell)


def _exact(cell: Cell) -> str:
    if isinstance(cell, tuple):
        return " ".join(map(_exact, cell))
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return f"{tidy_number(cell):.4f}"
    return "" if cell is None else str(cell)
