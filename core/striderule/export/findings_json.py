"""findings.json, and the same findings as lines for a person."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..check.finding import SEVERITIES, Finding
from ..check.weight.findings import tells_of_load
from ..check.weight.load import CAUTION
from .files import tidy_number, write_json


def findings_content(shot_name: str, findings: Sequence[Finding]) -> dict[str, Any]:
    """What findings.json holds: how many of each severity, then every finding, worst first."""
    return {
        "kind": "findings",
        "format": 1,
        "shot": shot_name,
        "counts": {severity: sum(one.severity == severity for one in findings) for severity in SEVERITIES},
        "findings": [_finding(one) for one in findings],
        **({"caution": CAUTION} if tells_of_load(findings) else {}),
    }


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "code": one.code,
        "severity": one.severity,
        "text": one.text,
        "first": one.first,
        "last": one.last,
        "runs": [list(run) for run in one.runs],
        "leg": one.leg,
        "joint": one.joint,
        "number": tidy_number(one.number),
        "unit": one.unit,
        "cures": [
            {
                "key": cure.key,
                "value": tidy_number(cure.value) if isinstance(cure.value, float) else cure.value,
                "text": cure.text,
            }
            for cure in one.cures
        ],
    }


def write_findings_json(path: Path, shot_name: str, findings: Sequence[Finding]) -> None:
    """Write findings.json. Raises OutputError."""
    write_json(path, findings_content(shot_name, findings))


def findings_lines(findings: Sequence[Finding]) -> list[str]:
    """One line per finding, its cures below it, worst first; last the caution where one tells of a load."""
    lines: list[str] = []
    for one in findings:
        lines.append(f"{one.severity}: {one.text} [{one.code}]")
        lines += [f"    try: {cure.text}" for cure in one.cures]
    return [*lines, CAUTION] if tells_of_load(findings) else lines


def summary_line(findings: Sequence[Finding]) -> str:
    """ "no findings", or how many of each severity: "1 impossible, 2 notes"."""
    counts = {severity: sum(one.severity == severity for one in findings) for severity in SEVERITIES}
    words = [
        f"{count} {severity}{'s' if severity == 'note' and count > 1 else ''}"
        for severity, count in counts.items()
        if count
    ]
    return ", ".join(words) or "no findings"
