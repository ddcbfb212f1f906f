"""The range test's sheet as text to print and write on, and as CSV for other programs.

Text: heights to 0.5 mm, which is what a hand can set. CSV: one number a row, mm with exactly 4 decimals. Both UTF-8,
LF.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from ..check.band import STOP_WORDS
from ..check.bench import BenchLeg, BenchRow, bench_of
from ..check.bench_fit import bench_fit, foot_words
from ..check.bench_words import fit_lines
from ..model.puppet import Leg, Puppet
from ..solve.plan import Stop

BLANK = "______"
CSV_COLUMNS = ("leg", "also", "what", "foot_mm", "predicted_mm", "set_by", "measured_mm")

HOW_TO = (
    "Body level, foot flat on the floor and straight ahead of or behind its hip pivot. Foot: from under the hip pivot",
    "to the ankle pivot. Lower the body until a joint stops, then raise it until one does; measure hip pivot to floor.",
)
BACK = (
    "Back into the puppet's file, one [[leg.NAME.measured]] a line: foot_mm (behind: -), lowest_mm, highest_mm; and",
    "folded_mm, straight_mm in one of their own. Then run this again: it says what is off.",
)


@dataclass(frozen=True)
class SheetLeg:
    """One leg's part of a sheet as words. table: header, then rows of cells; a blank is a cell of BLANK."""

    title: str
    lengths: tuple[tuple[str, str, str], ...]  # what, predicted, measured or BLANK
    table: tuple[tuple[str, ...], ...]
    said: tuple[str, ...]


def to_half(value: float) -> str:
    """mm to the nearest 0.5, with one decimal."""
    return f"{round(2.0 * value) / 2.0 + 0.0:.1f}"


def stop_words(leg: Leg, stop: Stop) -> str:
    """The joint and its stop with its angle ("ankle's toe-up stop 25"), in degrees."""
    degrees = {
        Stop.KNEE_LEAST: leg.knee_range_deg[0],
        Stop.KNEE_MOST: leg.knee_range_deg[1],
        Stop.HIP_BACK: leg.limits.hip_swing_deg[0],
        Stop.HIP_FORWARD: leg.limits.hip_swing_deg[1],
        Stop.HIP_IN: leg.limits.hip_out_deg[0],
        Stop.HIP_OUT: leg.limits.hip_out_deg[1],
        Stop.ANKLE_DOWN: leg.limits.ankle_deg[0],
        Stop.ANKLE_UP: leg.limits.ankle_deg[1],
    }
    return f"{STOP_WORDS[stop][1]} {degrees[stop]:.3g}" if stop in degrees else STOP_WORDS[stop][1]


def title_of(puppet: Puppet) -> str:
    """The sheet's first line."""
    return f"Range test: {puppet.name}. Lengths in mm, stops in degrees."


def sheet_of(puppet: Puppet) -> tuple[SheetLeg, ...]:
    """The sheet's parts, one a leg that is told by itself."""
    return tuple(_part(one) for one in bench_of(puppet))


def _part(sheet: BenchLeg) -> SheetLeg:
    also = f"; the same holds for {', '.join(sheet.also)}" if sheet.also else ""
    fit = bench_fit(sheet.leg)
    lengths = (
        ("folded, hip pivot to ankle pivot", to_half(sheet.folded_mm), _read(sheet.measured_folded_mm)),
        ("straight as it goes", to_half(sheet.straight_mm), _read(sheet.measured_straight_mm)),
    )
    header = ("foot", "lowest", "measured", "set by", "highest", "measured", "set by")
    rows = tuple(_row(sheet.leg, row) for row in reversed(sheet.rows))
    return SheetLeg(f"Leg {sheet.leg.name}{also}", lengths, (header, *rows), tuple(fit_lines(fit)) if fit else ())


def _row(leg: Leg, row: BenchRow) -> tuple[str, ...]:
    low, high = _read(row.measured_lowest_mm), _read(row.measured_highest_mm)
    if not row.fits:
        return (foot_words(row.foot_mm), "none", low, "no hip height fits", "none", high, "")
    return (
        foot_words(row.foot_mm), to_half(row.lowest_mm), low, stop_words(leg, row.lowest_stop),
        to_half(row.highest_mm), high, stop_words(leg, row.highest_stop),
    )  # fmt: skip


def _read(measured: float | None) -> str:
    return BLANK if measured is None else f"{measured:g}"


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
        leg, start = sheet.leg, (sheet.leg.name, " ".join(sheet.also))
        for what, length, read, stop in (
            ("folded", sheet.folded_mm, sheet.measured_folded_mm, Stop.KNEE_MOST),
            ("straight", sheet.straight_mm, sheet.measured_straight_mm, Stop.KNEE_LEAST),
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
