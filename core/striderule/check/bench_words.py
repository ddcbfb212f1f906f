"""What a range test says of a leg, in lines for a person."""

from __future__ import annotations

from .bench_fit import HAND_MM, BenchFit, Offset

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
