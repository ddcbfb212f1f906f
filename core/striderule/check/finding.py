"""A finding: one thing the checks say. Findings inform; they are never raised."""

from __future__ import annotations

from dataclasses import dataclass

SEVERITIES = ("impossible", "risky", "note")
"""Worst first."""


@dataclass(frozen=True)
class Cure:
    """A change of the shot that would mend it: the key to change and its new value, and the words for a person."""

    key: str
    value: float | int | str
    text: str


@dataclass(frozen=True)
class Finding:
    """code: kebab-case, never reused. text: one sentence for a person.

    first, last: the worst run of poses, counted from 1 (0 = the whole shot); runs: all of them, as a walk repeats.
    number with unit: how much, the worst of all runs.
    """

    code: str
    severity: str
    text: str
    first: int = 0
    last: int = 0
    leg: str = ""
    joint: str = ""
    number: float = 0.0
    unit: str = ""
    cures: tuple[Cure, ...] = ()
    runs: tuple[tuple[int, int], ...] = ()
