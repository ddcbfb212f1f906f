"""A range test in words: the sheet's cells, and what its measurements say of a leg."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.puppet import Leg, Puppet
from ..solve.plan import Stop
from .band import STOP_WORDS
from .bench import BenchLeg, BenchRow, bench_of
from .bench_fit import HAND_MM, BenchFit, Offset, bench_fit, foot_words

BLANK = "______"
HOW_TO = (
    "Body level, foot flat on the floor and straight ahead of or behind its hip pivot. Foot: from under the hip pivot",
    "to the ankle pivot. Lower the body until a joint stops, then raise it until one does; measure hip pivot to floor.",
)
BACK = (
    "Back into the puppet's file, one [[leg.NAME.measured]] a line: foot_mm (behind: -), lowest_mm, highest_mm; and",
    "folded_mm, straight_mm in one of their own. Then run this again: it says what is off.",
)
_LEFT_OVER = 3.0  # times the hand: a difference that no written value explains


def fit_lines(fit: BenchFit) -> list[str]:
    """One line for each value that is off, for explanations as good, for a measurement that nothing explains, and for
    what the measurements do not show."""
    lines = [_offset_line(one, one.value in fit.unseen) for one in fit.offsets]
    lines += ["or as likely: " + " and ".join(_short(one) for one in other) for other in fit.others]
    left = f"largest difference {'left' if fit.offsets else 'measured'} {fit.left_mm:+.1f} mm ({fit.left_at})"
    if abs(fit.left_mm) > _LEFT_OVER * HAND_MM:
        lines.append(f"{left}: measure it again")
    elif not fit.offsets:
        numbers = "1 measurement agrees" if fit.numbers == 1 else f"{fit.numbers} measurements agree"
        lines.append(f"{numbers} with what is written, as well as hands can tell; {left}")
    else:
        lines.append(left)
    if fit.unseen:
        lines.append("not shown by these measurements: " + ", ".join(one.words for one in fit.unseen))
    return lines


def _offset_line(offset: Offset, only_so_far: bool) -> str:
    """ "shank measures 1.8 mm longer than written: 58.4 (written 56.6, give or take 0.2)"."""
    by = offset.measured - offset.written
    unit = "mm" if offset.value.unit == "mm" else "degrees"
    more = ("longer", "shorter") if unit == "mm" else ("more", "less")
    if offset.value.key == "ankle_up_mm":
        more = ("higher", "lower")
    at_least = "at least " if only_so_far else ""
    sure = "" if only_so_far else f", give or take {2 * offset.give:.1f}"
    return (f"{offset.value.words} measures {at_least}{abs(by):.1f} {unit} {more[by < 0]} than written: "
            f"{offset.measured:.1f} (written {offset.written:g}{sure})")  # fmt: skip


def _short(offset: Offset) -> str:
    """ "thigh 58.2 (written 56.4)"."""
    return f"{offset.value.words} {offset.measured:.1f} (written {offset.written:g})"


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
        Stop.KNEE_LEAST: leg.own_knee_deg[0],
        Stop.KNEE_MOST: leg.own_knee_deg[1],
        Stop.HOCK_LEAST: leg.limits.hock_deg[0],
        Stop.HOCK_MOST: leg.limits.hock_deg[1],
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
