"""`striderule holes`: a walk with its feet over the holes of the stage's grid, written as edits of its footfalls."""

from __future__ import annotations

import argparse

from striderule.adjust.hole_offers import Offer, at_even_speed, offers_for, with_step
from striderule.adjust.holes import MOST_UNEVEN, Snapped, Tied, snap_to_holes
from striderule.check import findings_of, is_impossible
from striderule.export.findings_json import findings_lines, summary_line
from striderule.model.shot import Shot
from striderule.model.shotfile import parse_shot, typed_walk_keys
from striderule.model.toml_editing import Value
from striderule.model.toml_reading import read_text
from striderule.model.toml_rows import Row, with_rows
from striderule.solve import solve

from .cli_console import Console
from .shot_writing import write_changed


def holes(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where no holes fit, where steps would limp and nothing was chosen (neither is written), or where the
    walk is impossible; else 0. Raises StrideruleError."""
    text = read_text(chosen.shot, "shot")
    asked = parse_shot(text, chosen.shot, chosen.shot.parent)
    typed = typed_walk_keys(text, chosen.shot)
    if asked.grid is None:
        console.result(f"nothing to do: {asked.name} has no [grid]. Magnets hold anywhere; for a stage with holes say "
                       "[grid] with pitch_mm, the distance from hole to hole.")  # fmt: skip
        return 0
    shot, changed = with_step(asked, chosen.step, chosen.poses_per_step, typed)
    found = snap_to_holes(shot)
    edits: dict[str, Value | None] = dict(changed)
    for line in tied_lines(found.tied):
        console.finding(line)
    if not found.fits or (found.limps and not (chosen.uneven or chosen.even_speed)):
        for line in trouble_lines(shot, found, offers_for(shot, found, typed)):
            console.finding(line)
        said = f"steps would limp, by {_percent(found.uneven)}" if found.fits else "no holes fit"
        console.result(f"nothing written: {shot.name}, {said}; choose one of the above")
        return 1
    new = found.shot
    if chosen.even_speed:
        new, by_step = at_even_speed(found, typed)
        rows = {one.which: dict(one.values) for one in new.step_changes}
        edits |= {f"step.{step}.{key}": value for step, _ in by_step for key, value in rows[str(step)].items()}
        console.finding(f"poses of steps: {_poses_words(by_step)}; the others {shot.walk.poses_per_step}")
    if chosen.out:
        write_changed(chosen.shot, chosen.out, with_rows(text, "edit.footfall", rows_of(new, found.tied)), new, edits,
                      "over holes", chosen.replace)  # fmt: skip
    findings = findings_of(solve(new))
    for line in findings_lines(findings):
        console.finding(line)
    where = f"{chosen.out}: " if chosen.out else "nothing written (--out NEW.toml does): "
    moved = sum(not one.pinned for one in found.tied)
    console.result(f"{where}{moved} footfalls of {new.name} over holes, {_lengths(found)}; {summary_line(findings)}")
    return int(is_impossible(findings))


def tied_lines(tied: tuple[Tied, ...]) -> list[str]:
    """A line a footfall: step, foot, hole, its ankle old -> new, how much longer the step is, how far it is turned."""
    width = max((len(one.leg) for one in tied), default=0)
    lines: list[str] = []
    for one in tied:
        start = f"step {one.step:<3} {one.leg:<{width}} "
        if one.pinned:
            lines.append(f"{start}pinned at {_place(one.new_mm)} mm" + (f", hole {one.hole}" if one.hole else ""))
            continue
        longer = f", step {round(one.longer_mm, 1) + 0.0:+.1f} mm" if one is not tied[0] else ""
        turned = f", turned {abs(one.turn_deg):g} degrees {'left' if one.turn_deg > 0 else 'right'}"
        lines.append(f"{start}hole {one.hole:<6} {_place(one.old_mm)} -> {_place(one.new_mm)} mm{longer}"
                     + (turned if one.turn_deg else ""))  # fmt: skip
    return lines


def trouble_lines(shot: Shot, found: Snapped, offers: tuple[Offer, ...]) -> list[str]:
    """Why nothing is written, and what can be chosen instead."""
    lines = list(found.why)
    if found.fits:
        lines.append(f"That is {_lengths(found)}: by {_percent(found.uneven)} of a step unlike each other, where "
                     f"more than {_percent(MOST_UNEVEN)} limps.")  # fmt: skip
    lines += [f"    try: {offer_words(one, shot)}" for one in offers]
    if found.fits:
        lines.append("    or:  --uneven writes them as they are")
    elif not offers:
        lines.append("    Nothing near it fits either: move the grid's origin or the start, take other holes, lower "
                     "the hips, or drill.")  # fmt: skip
    return lines


def offer_words(one: Offer, shot: Shot) -> str:
    """An offer as the options that take it, and what comes of it."""
    faster = "at the same speed" if abs(one.faster) < 0.0005 else (
        f"{_percent(abs(one.faster))} {'faster' if one.faster > 0 else 'slower'}"
    )  # fmt: skip
    impossible = "" if one.possible else "; its legs do not take it as it is (fit)"
    if one.step_mm is None:
        return (f"--even-speed    these steps, with poses of their own: {_poses_words(one.by_step)}; every step "
                f"within {_percent(abs(one.faster))} of the speed{impossible}")  # fmt: skip
    same = one.poses_per_step == shot.walk.poses_per_step
    poses = "" if same else f" --poses-per-step {one.poses_per_step}"
    return (f"--step {one.step_mm:g}{poses}    every step {one.step_mm:g} mm in {one.poses_per_step} poses, "
            f"{faster}{impossible}")  # fmt: skip


def rows_of(shot: Shot, tied: tuple[Tied, ...]) -> list[Row]:
    """The rows of a snapped shot, each with its foot and hole as a comment."""
    feet = {(one.step, one.leg): one for one in tied}
    only = {one.step: one for one in reversed(tied)}  # without a leg: of the hindmost pair, which lands first
    rows: list[Row] = []
    for edit in shot.edits.footfalls:
        one = only.get(edit.step) if edit.leg is None else feet.get((edit.step, edit.leg))
        ours = edit.hole_turn_deg is not None
        rows.append(Row(edit, f"{one.leg} foot, hole {one.hole}" if ours and one else "", ours))
    return rows


def _poses_words(by_step: tuple[tuple[int, int], ...]) -> str:
    """ "steps 3, 7 in 7 poses, step 4 in 5 poses"."""
    words: list[str] = []
    for poses in dict.fromkeys(poses for _, poses in by_step):
        steps = [str(step) for step, n in by_step if n == poses]
        shown = ", ".join(steps[:6]) + (f" and {len(steps) - 6} more" if len(steps) > 6 else "")
        words.append(f"step{'s' if len(steps) > 1 else ''} {shown} in {poses} poses")
    return "; ".join(words)


def _lengths(found: Snapped) -> str:
    low, high = (round(one, 1) + 0.0 for one in found.lengths_mm)
    if low == high == 0:
        return "steps as long as asked"
    return f"steps {low:+g} mm" if low == high else f"steps {low:+g} to {high:+g} mm"


def _place(place_mm: tuple[float, float]) -> str:
    along, left = (round(one, 1) + 0.0 for one in place_mm)
    return f"{along:.1f}, {left:.1f}"


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"
