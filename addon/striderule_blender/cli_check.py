"""`striderule check`: plan and report, without Blender."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import numpy as np

from striderule.camera.framing import framing_findings
from striderule.camera.placing import view_named
from striderule.check import Finding, findings_of, in_order, is_impossible
from striderule.errors import OutputError
from striderule.export.files import write_json
from striderule.export.findings_json import findings_content, findings_lines, summary_line
from striderule.model.view import View
from striderule.solve import Plan, solve

from .cli_console import Console
from .cli_shot import chosen_shot


def check(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where the walk is impossible, else 0. Raises StrideruleError."""
    plan = solve(chosen_shot(chosen))
    refuse_other_file(chosen.json)
    findings = all_findings(plan, [view_named(plan, name) for name in plan.shot.overlay.views])
    for line in findings_lines(findings):
        console.finding(line)
    if chosen.json:
        write_report(chosen.json, plan, findings)
    console.result(f"{plan_line(plan)}: {summary_line(findings)}")
    return int(is_impossible(findings))


def all_findings(plan: Plan, views: list[View]) -> tuple[Finding, ...]:
    """What the checks say of the plan and of how these views frame it, worst first."""
    return in_order((*findings_of(plan), *framing_findings(plan, views)))


def plan_line(plan: Plan) -> str:
    """ "Heron: 37 poses, 37 frames, 3.1 s at 12 fps"."""
    shot = plan.shot
    seconds = float(plan.frames / shot.rate)
    counts = f"{plan.poses} poses, {plan.frames} frames, {seconds:.1f} s at {shot.fps} fps"
    return f"{shot.name}: {counts}{_floor_line(plan)}"


def _floor_line(plan: Plan) -> str:
    """ ", the floor moves back 13.3 mm a pose" where the puppet walks on the spot."""
    if not plan.shot.walk.on_the_spot or plan.poses < 2:
        return ""
    moves = np.linalg.norm(np.diff(plan.floor_shift_mm, axis=0), axis=1)
    least, most = float(moves.min()), float(moves.max())
    told = f"{most:.4g}" if most - least < 1e-6 else f"{least:.4g} to {most:.4g}"
    return f", the floor moves back {told} mm a pose"


def refuse_other_file(path: Path | None) -> None:
    """Raise OutputError where --json names a file that is no report: a slip of the hand would lose a shot file."""
    if path is None or not path.is_file():
        return
    try:
        with path.open("rb") as file:
            begins = file.read(64).lstrip()
    except OSError:
        return  # writing it will say why not
    if begins and not begins.startswith(b"{"):
        raise OutputError(f"{path}: is there already and is no report. Name another file for --json.")


def write_report(path: Path, plan: Plan, findings: tuple[Finding, ...], **more: Any) -> None:
    """The file of --json: counts, findings, and what else the command has to tell. Raises OutputError."""
    content = findings_content(plan.shot.name, findings)
    write_json(path, {**content, "kind": "report", "poses": plan.poses, "frames": plan.frames, **more})
