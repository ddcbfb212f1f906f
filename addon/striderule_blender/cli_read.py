"""`striderule read`: a walk's values from a contact, a passing pose and a measured pose 1."""

from __future__ import annotations

import argparse
import tomllib

from striderule.adjust.editing import edit_rows
from striderule.adjust.pose_differences import SHOWN, amount, worst_words
from striderule.adjust.read_poses import START, Read, read_poses
from striderule.adjust.values import all_keys, changes, value_of
from striderule.check import findings_of, is_impossible
from striderule.export.findings_json import findings_lines, summary_line
from striderule.model.posesfile import load_poses
from striderule.model.shot import Shot
from striderule.model.shotfile import parse_shot, typed_walk_keys
from striderule.model.toml_reading import read_text
from striderule.model.toml_writing import value_text
from striderule.solve import solve

from .cli_console import Console
from .shot_writing import in_walk, reopened, write_changed


def read(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where the walk that was read is impossible (it is written all the same), else 0. Raises
    StrideruleError."""
    text = read_text(chosen.shot, "shot")
    shot = parse_shot(text, chosen.shot, chosen.shot.parent)
    poses = load_poses(chosen.poses, shot.puppet)
    typed = typed_walk_keys(text, chosen.shot)
    if "start_mm" in tomllib.loads(text).get("stage", {}):
        typed |= {START}
    found = read_poses(shot, poses, typed - reopened(chosen.reopen or (), all_keys() | {START}))
    if chosen.out:
        edits = in_walk(found.values) | ({} if found.start_mm is None else {START: found.start_mm})
        write_changed(chosen.shot, chosen.out, text, found.shot, edits, "read", chosen.replace)
    for line in (*value_lines(shot, found), *found.notes, *difference_lines(found)):
        console.finding(line)
    findings = findings_of(solve(found.shot))
    for line in findings_lines(findings):
        console.finding(line)
    where = f"{chosen.out}: " if chosen.out else "nothing written (--out NEW.toml does): "
    values = len(found.values) + (found.start_mm is not None)
    edits = len(found.footfalls) + bool(found.nudge_mm)
    and_edits = f" and {edits} {'edit' if edits == 1 else 'edits'} written" if edits else ""
    console.result(
        f"{where}{values} values read{and_edits}; {worst_words(found.differences)}; {summary_line(findings)}"
    )
    return int(is_impossible(findings))


def value_lines(shot: Shot, found: Read) -> list[str]:
    """Every value old -> new, the typed ones that stay, and the edits that pose 1 took."""
    lines = [f"{one.key:<20} {value_text(one.old)} -> {value_text(one.new)}" for one in changes(shot, found.values)]
    if found.start_mm is not None:
        lines.append(f"{START:<20} {value_text(shot.stage.start_mm)} -> {value_text(found.start_mm)}")
    for one in found.kept:
        now = value_text(value_of(found.shot.settled_walk, one.key))
        lines.append(f"{one.key:<20} {now} stays as typed (the poses have {value_text(one.new)}; --reopen {one.key})")
    lines += [f"edit: {row.text}" for row in edit_rows(found.shot) if row not in edit_rows(shot)]
    return lines


def difference_lines(found: Read) -> list[str]:
    """Every quantity of every pose, as measured and as solved."""
    lines: list[str] = []
    for one in found.differences:
        off = f", {amount(one.off)} {one.unit} off" if abs(one.off) >= SHOWN else ""
        lines.append(f"{one.pose:<8} {one.what:<20} measured {amount(one.given)}, "
                     f"solved {amount(one.solved)} {one.unit}{off}")  # fmt: skip
    return lines
