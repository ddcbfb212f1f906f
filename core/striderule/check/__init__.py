"""Plan -> Findings. `findings_of(plan)` is the one entry point: findings are collected, never raised."""

from __future__ import annotations

from collections.abc import Iterable

from ..solve.plan import Plan
from .arcs import arc_findings
from .band import band_findings
from .centre import centre_findings
from .codes import CODES, Code
from .cures import cured
from .feet import feet_findings
from .finding import SEVERITIES, Cure, Finding
from .limits import limit_findings, reach_findings
from .spacing import spacing_findings
from .stage import stage_findings
from .upper import upper_findings
from .weight.findings import weight_findings

__all__ = ["CODES", "SEVERITIES", "Code", "Cure", "Finding", "findings_of", "in_order", "is_impossible"]


def findings_of(plan: Plan, with_cures: bool = True) -> tuple[Finding, ...]:
    """Everything that the checks say of a plan, worst first.

    with_cures: variants of the shot are solved to see what would mend each finding; without, only closed forms.
    What a camera sees is checked by striderule.camera.framing.
    """
    found = (
        *reach_findings(plan),
        *band_findings(plan),
        *limit_findings(plan),
        *feet_findings(plan),
        *centre_findings(plan),
        *spacing_findings(plan),
        *upper_findings(plan),
        *arc_findings(plan),
        *weight_findings(plan),
        *stage_findings(plan),
    )
    return in_order(cured(plan, found) if with_cures else found)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Worst severity first, then in the order of CODES, then by pose."""
    rank = list(CODES)
    return tuple(sorted(findings, key=lambda one: (SEVERITIES.index(one.severity), rank.index(one.code), one.first)))


def is_impossible(findings: Iterable[Finding]) -> bool:
    """True where the walk cannot be set as it is planned."""
    return any(one.severity == "impossible" for one in findings)
