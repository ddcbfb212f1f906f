"""The range test's sheet as text to print and write on, and as CSV for other programs.

Text: heights to 0.5 mm, which is what a hand can set. CSV: one number a row, mm with exactly 4 decimals. Both UTF-8,
LF.
"""

from __future__ import annotations

import csv
import io

from ..check.bench import bench_of
from ..check.bench_words import BACK, HOW_TO, sheet_of, stop_words, title_of
from ..model.puppet import Puppet
from ..solve.band import knee_stops
from ..solve.plan import Stop

CSV_COLUMNS = ("leg", "also", "what", "foot_mm", "predicted_mm", "set_by", "measured_mm")


def bench_text(puppet: Puppet) -> str:
    """The sheet as aligned plain text, with what the measurements say below each leg that has any."""
    parts = sheet_of(puppet)
    out = [title_of(puppet), *HOW_TO]
    columns = list(zip(*(row for part in parts for row in part.table), strict=True))
    widths = [max(map(len, column)) for column in columns]
    for part in parts:
        out += ["", part.title]
        for what, length, measured in part.lengths:
            out.append(f"  {what:<32} {length:>7}  measured {measured:>6}")
        for row in part.table:
            cells = [
                cell.rjust(width) if k in (1, 2, 4, 5) else cell.ljust(width)
                for k, (cell, width) in enumerate(zip(row, widths, strict=True))
            ]
            out.append(("  " + "  ".join(cells)).rstrip())
        out += [f"  {line}" for line in part.said]
    return "\n".join([*out, "", *BACK]) + "\n"


def bench_csv(puppet: Puppet) -> str:
    """The sheet as CSV with the columns CSV_COLUMNS: what = lowest | highest | folded | straight; nothing predicted
    where no height fits; nothing measured yet = empty."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(CSV_COLUMNS)
    for sheet in bench_of(puppet):
        least, most = (Stop(stop) for stop in knee_stops(sheet.leg))
        leg, start = sheet.leg, (sheet.leg.name, " ".join(sheet.also))
        for what, length, read, stop in (
            ("folded", sheet.folded_mm, sheet.measured_folded_mm, most),
            ("straight", sheet.straight_mm, sheet.measured_straight_mm, least),
        ):
            writer.writerow((*start, what, "", _exact(length), stop_words(leg, stop), _exact(read)))
        for row in sheet.rows:
            for what, height, read, stop in (
                ("lowest", row.lowest_mm, row.measured_lowest_mm, row.lowest_stop),
                ("highest", row.highest_mm, row.measured_highest_mm, row.highest_stop),
            ):
                told = (_exact(height), stop_words(leg, stop)) if row.fits else ("", "")
                writer.writerow((*start, what, _exact(row.foot_mm), *told, _exact(read)))
    return stream.getvalue()


def _exact(value: float | None) -> str:
    return "" if value is None else f"{value + 0.0:.4f}"
