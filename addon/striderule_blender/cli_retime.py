"""`striderule retime`: another pace for a shot, written as values that a person could have typed."""

from __future__ import annotations

import argparse

from striderule.adjust.retime import Choice, Retimed, retimed, retimed_to_seconds, seconds_of_beat
from striderule.check import findings_of, is_impossible
from striderule.export.findings_json import findings_lines, summary_line
from striderule.model.shot import Shot
from striderule.model.shotfile import parse_shot, typed_walk_keys
from striderule.model.toml_reading import read_text
from striderule.solve import solve

from .cli_console import Console
from .shot_writing import in_walk, write_changed


def retime(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where the walk is impossible at its new pace (it is written all the same), else 0. Raises
    StrideruleError."""
    text = read_text(chosen.shot, "shot")
    shot = parse_shot(text, chosen.shot, chosen.shot.parent)
    typed = typed_walk_keys(text, chosen.shot)
    if chosen.poses_per_step is not None:
        found = retimed(shot, chosen.poses_per_step, typed)
    else:
        step_s = chosen.seconds_per_step or seconds_of_beat(chosen.bpm, chosen.steps_per_beat)
        found = retimed_to_seconds(shot, step_s, typed)
    if chosen.out:
        edits = in_walk(found.values) | {one.key: one.new for one in found.in_steps}
        write_changed(chosen.shot, chosen.out, text, found.shot, edits, "retimed", chosen.replace)
    for line in value_lines(found):
        console.finding(line)
    if chosen.poses_per_step is None:
        for line in choice_lines(found, found.shot):
            console.finding(line)
    findings = findings_of(solve(found.shot))
    for line in findings_lines(findings):
        console.finding(line)
    where = f"{chosen.out}: " if chosen.out else "nothing written (--out NEW.toml does): "
    best = found.choices[0]
    console.result(f"{where}{shot.walk.poses_per_step} -> {best.poses} poses a step, {best.step_s:.3f} s at "
                   f"{shot.fps} fps {on(best.frames_per_pose)}; {summary_line(findings)}")  # fmt: skip
    return int(is_impossible(findings))


def on(frames_per_pose: int) -> str:
    """ "on ones", "on twos", "on 3 frames"."""
    return {1: "on ones", 2: "on twos"}.get(frames_per_pose, f"on {frames_per_pose} frames")


def value_lines(found: Retimed) -> list[str]:
    """Every value old -> new; what is open and goes along with the pace is named as open."""
    lines: list[str] = []
    for change in found.changed:
        exact = found.exact.get(change.key, float(change.new))
        rounded = f" (exactly {exact:.2f})" if abs(exact - float(change.new)) > 1e-9 else ""
        lines.append(f"{change.key:<20} {change.old} -> {change.new}{rounded}")
    lines += [f"{one.key:<20} {one.old} -> {one.new}" for one in found.in_steps]
    lines += [f"{one.key:<20} {one.old} -> {one.new}, open" for one in found.follows]
    if found.moved:
        lines.append(f"{found.moved} holds and edits of poses moved along to the poses that show the same moment")
    return lines


def choice_lines(found: Retimed, shot: Shot) -> list[str]:
    """How far off the nearest whole poses are, and what finer holding would give."""
    words = ("chosen", "next")
    lines = [f"{word + ':':<8}{_off(one, shot)}" for word, one in zip(words, found.choices, strict=False)]
    return lines + ([f"finer:  {_off(found.finer, shot)}"] if found.finer else [])


def _off(one: Choice, shot: Shot) -> str:
    held = f" {on(one.frames_per_pose)}" if one.frames_per_pose != shot.frames_per_pose else ""
    takes = f"{one.poses} poses a step{held} take {one.step_s:.3f} s"
    if abs(one.off_s) < 1e-9:
        return f"{takes}, exactly what was asked"
    longer = "longer" if one.off_s > 0 else "shorter"
    steps = shot.settled_walk.steps
    return (f"{takes}, {1000 * abs(one.off_s):.1f} ms ({100 * abs(one.off_share):.1f} %) {longer} than "
            f"{one.asked_s:.3f} s; over {steps} steps {1000 * steps * abs(one.off_s):.0f} ms")  # fmt: skip
