"""The exposure sheet as a table for a spreadsheet: a row a frame; what a pose is set by stands in its first frame.

UTF-8 with a byte order mark, without which spreadsheets guess another encoding; comma, CRLF (RFC 4180).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from .heading import Heading
from .instructions import leg_words
from .row_words import do_lines, move, number, safe_words, state_words
from .rows import PaperRow

_FREE = ("knee", "ankle", "heel", "toe")


def exposure_csv(rows: Sequence[PaperRow], heading: Heading) -> bytes:
    """The whole file."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    legs = [foot.leg for foot in rows[0].feet]
    writer.writerow(_columns(legs, rows))
    origin = [_harmless(heading.file), heading.identity, heading.day.isoformat()]
    for row in rows:
        for k, code in enumerate(row.timecodes):
            cells = _cells(row, rows) if k == 0 else _repeat(row, rows)
            writer.writerow([row.first_frame + k, row.pose, code, row.key if k == 0 else "same pose", *cells, "", "",
                             *origin])  # fmt: skip
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def _columns(legs: list[str], rows: Sequence[PaperRow]) -> list[str]:
    names = ["frame", "pose", "timecode", "key"]
    names += [f"reference {way} mm" for way in ("along", "across", "up")]
    names += [f"move {way} mm" for way in ("along", "across", "up")]
    names += ["floor move along mm", "floor move up mm"] if _moving(rows) else []
    for leg in map(leg_words, legs):
        names.append(f"{leg} foot")
        names += [f"{leg} {part} over floor mm" for part in _FREE]
        names += [f"{leg} toe ahead of toe mark mm", f"{leg} toe mark of"]
    names += ["do now", "safe to leave"]
    names += ["focus mm"] if rows[0].focus_mm is not None else []
    return [*names, "notes", "shot (tick)", "shot file", "identity", "date"]


def _moving(rows: Sequence[PaperRow]) -> bool:
    return any(row.floor_move_mm is not None for row in rows)


def _cells(row: PaperRow, rows: Sequence[PaperRow]) -> list[str]:
    cells = [number(value) for value in row.place_mm]
    cells += [move(value) for value in row.move_mm] if row.move_mm else [""] * 3
    if _moving(rows):
        cells += [move(value) for value in row.floor_move_mm] if row.floor_move_mm else [""] * 2
    for foot in row.feet:
        free = foot.free
        cells.append(state_words(foot))
        if free is None:
            cells += [""] * 6
            continue
        cells += [number(value) for value in (free.knee_mm, free.ankle_mm, free.heel_mm, free.toe_mm)]
        cells += ["" if free.ahead_mm is None else move(free.ahead_mm), leg_words(free.beside)]
    cells += ["; ".join(do_lines(row)), safe_words(row)]
    return [*cells, number(row.focus_mm)] if row.focus_mm is not None else cells


def _repeat(row: PaperRow, rows: Sequence[PaperRow]) -> list[str]:
    return [""] * len(_cells(row, rows))


def _harmless(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in "=+-@\t\r" and text else text
