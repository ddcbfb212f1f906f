"""The walks of a comparison: each solved and checked, under a short name of its own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..camera.framing import framing_findings
from ..camera.placing import view_named
from ..check import Finding, findings_of, in_order
from ..errors import ModelError
from ..model.shot import Shot
from ..model.variant import MAIN
from ..solve import Plan, solve


@dataclass(frozen=True, eq=False)
class Compared:
    """label: its short name in this comparison, no other walk's; title: what a person calls it."""

    label: str
    title: str
    plan: Plan
    findings: tuple[Finding, ...]

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return float(self.plan.frames / self.plan.shot.rate)


def shots_of(shot: Shot) -> tuple[tuple[str, str, Shot], ...]:
    """(label, title, shot) of a shot's main walk and then of its variants, in the file's order. Raises ModelError where
    a variant does not fit."""
    varied = ((one.name, one.label, shot.with_variant(one.name)) for one in shot.variants)
    return ((MAIN, shot.name, shot.with_variant(MAIN)), *varied)


def walks_of(shots: Iterable[tuple[str, str, Shot]]) -> tuple[Compared, ...]:
    """Solve and check (label, title, shot) for each. A label that was there before gets a number: walk, walk-2.

    Findings are those of `check`, without cures. Raises ModelError for fewer than two walks.
    """
    found: list[Compared] = []
    taken: set[str] = set()
    for label, title, shot in shots:
        own, number = label, 1
        while own in taken:
            number += 1
            own = f"{label}-{number}"
        taken.add(own)
        plan = solve(shot)
        views = [view_named(plan, name) for name in shot.overlay.views]
        findings = in_order((*findings_of(plan, with_cures=False), *framing_findings(plan, views)))
        found.append(Compared(own, title, plan, findings))
    if len(found) < 2:
        raise ModelError("compare", "at least two walks", str(len(found)))
    return tuple(found)
