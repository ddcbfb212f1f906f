"""`striderule fit`: a walk made possible for its puppet, written as values that a person could have typed."""

from __future__ import annotations

import argparse

from striderule.adjust.fit import Fit, fit
from striderule.check import findings_of
from striderule.export.findings_json import findings_lines, summary_line
from striderule.model.shotfile import parse_shot, typed_walk_keys
from striderule.model.toml_editing import Value
from striderule.model.toml_reading import read_text
from striderule.model.toml_writing import value_text
from striderule.solve import solve

from .cli_console import Console
from .shot_writing import in_walk, write_changed


def fit_shot(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where nothing fits (what comes nearest is written all the same), else 0. Raises StrideruleError."""
    text = read_text(chosen.shot, "shot")
    shot = parse_shot(text, chosen.shot, chosen.shot.parent)
    found = fit(shot, typed_walk_keys(text, chosen.shot), chosen.step)
    if chosen.out:
        edits: dict[str, Value | None] = in_walk({one.key: one.new for one in found.changed})
        if found.hips_up_mm:
            edits["edit.hips_up_mm"] = found.hips_up_mm
        write_changed(chosen.shot, chosen.out, text, found.shot, edits, "fitted", chosen.replace)
    for line in fit_lines(found):
        console.finding(line)
    findings = findings_of(solve(found.shot))
    for line in findings_lines(findings):
        console.finding(line)
    where = f"{chosen.out}: " if chosen.out else "nothing written (--out NEW.toml does): "
    said = "possible as it was" if found.fits and found.untouched else "fits now" if found.fits else "nothing fits it"
    console.result(f"{where}{shot.name} {said}; {summary_line(findings)}")
    return int(not found.fits)


def fit_lines(found: Fit) -> list[str]:
    """Every value old -> new, the hip curve in its extremes, and, where nothing fits, what forbids it."""
    lines = [f"{one.key:<20} {value_text(one.old)} -> {value_text(one.new)}" for one in found.changed]
    if found.hips_up_mm:
        low, high = min(found.hips_up_mm), max(found.hips_up_mm)
        moved = sum(1 for one in found.hips_up_mm if one)
        lines.append(f"{'edit.hips_up_mm':<20} {moved} of {len(found.hips_up_mm)} poses, {low:+.2f} to {high:+.2f} mm; "
                     "hip heights stay as asked, the curve is added to them")  # fmt: skip
    lines += [one.text for one in found.needs]
    if found.offered:
        old, new = value_text(found.offered.old), value_text(found.offered.new)
        lines.append(f"A step of {new} mm instead of {old} mm would fit: --step lets it be written.")
    return lines
