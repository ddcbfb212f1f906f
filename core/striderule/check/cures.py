"""What would mend a finding: variants of the shot are solved again, and only those that really help are offered.

Nearest first: heel rise, then hips, then step length (or, for soles, step width; for a load, a rig, then hips).
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from ..model.shot import Shot
from ..model.walk import Hips, Walk
from ..solve import solve
from ..solve.plan import FootState, Plan
from .band import NARROW_MM
from .feet import GAP_MM, sole_gaps
from .finding import Cure, Finding
from .limits import ROUNDING_DEG, excesses
from .spacing import POP_DEG
from .weight.findings import overload, rig_cures
from .weight.load import weigh

Floats = npt.NDArray[np.float64]
Measure = Callable[[Plan], float]

FAMILIES = {
    "foot-out-of-reach": ("heel", "hips", "step"),
    "band-empty": ("heel", "hips", "step"),
    "hips-too-high": ("heel", "hips", "step"),
    "hips-too-low": ("hips", "step"),
    "joint-past-stop": ("heel", "hips", "step"),
    "joint-at-stop": ("heel", "hips", "step"),
    "band-narrow": ("heel", "step"),
    "knee-pop": ("hips",),
    "soles-overlap": ("width",),
    "soles-close": ("width",),
    "joint-overloaded": ("rig", "hips"),
}
"""Which changes may mend which finding, in the order in which they are offered."""

_STEPS_TRIED = 4  # a plain walk repeats: this many steps show all of it
_WORTH = 0.75  # a change that leaves more of the trouble than this is not offered
_HEEL_MORE = (5, 10, 15, 20, 30)
_SHARES = (0.005, 0.01, 0.02, 0.03, 0.05, 0.08, 0.12)
_STEP_SHARES = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)


def cured(plan: Plan, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The same findings with the cures that work for each."""
    if not any(one.code in FAMILIES and not one.cures for one in findings):
        return findings
    workshop = _Workshop(plan)
    return tuple(
        replace(one, cures=workshop.cures_of(one)) if one.code in FAMILIES and not one.cures else one
        for one in findings
    )


@dataclass(frozen=True)
class _Change:
    """A changed walk, and what it is called."""

    walk: Walk
    cure: Cure


class _Workshop:
    """Variants of one shot, each solved at most once."""

    def __init__(self, plan: Plan) -> None:
        shot = plan.shot
        # a walk that differs from step to step, place to place, is tried whole
        steps = len(shot.laid_out.kind)
        short = shot.with_steps(_STEPS_TRIED) if shot.repeats and steps > _STEPS_TRIED else shot
        self._shot: Shot = short
        self._whole = plan
        self._base = plan if short is shot else solve(short)
        self._walk = short.settled_walk
        self._troubles = troubles(self._base)
        self._worse: dict[Walk, bool] = {}
        self._solved: dict[Walk, Plan | None] = {}

    def cures_of(self, finding: Finding) -> tuple[Cure, ...]:
        """Cures of one finding; none where no change helps, or where the trouble lies beyond the steps tried."""
        measure = measure_of(finding)
        before = measure(self._base)
        if before <= 0:
            return ()
        pose = self._pose(finding.first - 1)
        found: list[Cure] = []
        for family in FAMILIES[finding.code]:
            if family == "rig":
                weight = weigh(self._whole)
                found += rig_cures(weight, finding) if weight else ()
            elif family == "heel":
                found += self._heel(measure, before, pose)
            elif family == "hips":
                found += self._hips(measure, before)
            elif family == "step":
                found += self._step(measure, before)
            else:
                found += self._width(measure, before)
        return tuple(found)

    def _pose(self, pose: int) -> int:
        """The pose of the short shot that shows the same as `pose` of the whole one, strides earlier."""
        stride = self._shot.walk.poses_per_step * len(self._shot.puppet.legs)
        beyond = max(0, pose - self._base.poses + 1)
        return max(0, pose - stride * -(-beyond // stride))

    def _variant(self, walk: Walk) -> Plan | None:
        if walk not in self._solved:
            try:
                self._solved[walk] = solve(replace(self._shot, walk=walk))
            except ModelError:
                self._solved[walk] = None
        return self._solved[walk]

    def _left(self, change: _Change, measure: Measure) -> float:
        """What is left of the trouble; infinite where the change is refused or brings new trouble."""
        plan = self._variant(change.walk)
        if plan is None:
            return np.inf
        if change.walk not in self._worse:
            self._worse[change.walk] = bool((troubles(plan) > self._troubles + 0.1).any())
        if self._worse[change.walk]:
            return np.inf
        return measure(plan)

    def _first_that_helps(self, changes: list[_Change], measure: Measure, before: float) -> tuple[int, _Change] | None:
        """The smallest change that mends it; else the one that leaves least, where that is worth it. Where neither the
        smallest nor greater ones lessen it the others are not solved."""
        left: list[float] = []
        for change in dict.fromkeys((*changes[:1], *changes[len(changes) // 2 :: 3])):
            if self._left(change, measure) < 0.98 * before:
                break
        else:
            return None
        for index, change in enumerate(changes):
            left.append(self._left(change, measure))
            if left[-1] <= 0:
                return index, change
        best = int(np.argmin(left)) if left else 0
        return (best, changes[best]) if left and left[best] <= _WORTH * before else None

    def _worded(self, change: _Change, measure: Measure) -> Cure:
        if self._left(change, measure) <= 0:
            return change.cure
        return replace(change.cure, text=change.cure.text + " (helps, but not enough)")

    def _heel(self, measure: Measure, before: float, pose: int) -> list[Cure]:
        now = self._walk.heel_off_deg or 0.0
        changes = [
            _Change(replace(self._shot.walk, heel_off_deg=now + more), Cure("walk.heel_off_deg", now + more, ""))
            for more in _HEEL_MORE
            if now + more <= 85
        ]
        helped = self._first_that_helps(changes, measure, before)
        if helped is None:
            return []
        change = helped[1]
        plan = self._variant(change.walk)
        assert plan is not None
        room = float((_room(plan) - _room(self._base))[pose])
        text = f"heel {float(change.cure.value) - now:g} degrees higher at lift-off" + (
            f": {room:.0f} mm more room" if room >= 0.5 else ""
        )
        return [self._worded(_Change(change.walk, replace(change.cure, text=text)), measure)]

    def _hips(self, measure: Measure, before: float) -> list[Cure]:
        assert self._walk.hips.contact_mm is not None
        height = self._walk.hips.contact_mm
        both: list[tuple[float, Cure]] = []
        for sign in (-1, 1):
            ladder = _allowed(self._shifted, [sign * share * height for share in _SHARES])
            helped = self._first_that_helps(ladder, measure, before)
            if helped is None:
                continue
            change = self._refined(helped, ladder, measure, self._shifted, 0.0)
            both.append((abs(float(change.cure.value)), self._worded(change, measure)))
        return [min(both, key=lambda one: one[0])[1]] if both else []

    def _shifted(self, by_mm: float) -> _Change:
        by = round(by_mm, 1)
        hips = self._walk.hips
        values = [getattr(hips, key) + by for key in ("contact_mm", "down_mm", "passing_mm", "up_mm")]
        text = f"hips {abs(by):.1f} mm {'lower' if by < 0 else 'higher'}"
        return _Change(replace(self._shot.walk, hips=Hips(*values)), Cure("walk.hips", by, text))

    def _step(self, measure: Measure, before: float) -> list[Cure]:
        length = self._walk.step_mm or 0.0
        ladder = _allowed(self._stepped, [length * (1 - share) for share in _STEP_SHARES])
        helped = self._first_that_helps(ladder, measure, before)
        if helped is None:
            return []
        return [self._worded(self._refined(helped, ladder, measure, self._stepped, length), measure)]

    def _stepped(self, step_mm: float) -> _Change:
        value = round(step_mm, 1)
        text = f"step {(self._walk.step_mm or 0.0) - value:.1f} mm shorter ({value:g} mm)"
        return _Change(replace(self._shot.walk, step_mm=value), Cure("walk.step_mm", value, text))

    def _refined(self, helped: tuple[int, _Change], ladder: list[_Change], measure: Measure,
                 change_to: Callable[[float], _Change], start: float) -> _Change:  # fmt: skip
        """Halve the way back to the rung before, three times, as long as the trouble stays mended."""
        index, change = helped
        if self._left(change, measure) > 0:
            return change
        good = float(change.cure.value)
        bad = float(ladder[index - 1].cure.value) if index else start
        for _ in range(3):
            middle = change_to((good + bad) / 2)
            if middle.cure.value in (good, bad):
                break
            if self._left(middle, measure) <= 0:
                change, good = middle, float(middle.cure.value)
            else:
                bad = float(middle.cure.value)
        return change

    def _width(self, measure: Measure, before: float) -> list[Cure]:
        width = self._walk.width_mm or 0.0
        for change in _allowed(self._widened, [width + float(by) for by in (np.ceil(before * 10) / 10, *range(1, 41))]):
            if self._left(change, measure) <= 0:
                return [change.cure]
        return []

    def _widened(self, width_mm: float) -> _Change:
        value = round(width_mm, 1)
        text = f"step width {value - (self._walk.width_mm or 0.0):.1f} mm wider ({value:g} mm)"
        return _Change(replace(self._shot.walk, width_mm=value), Cure("walk.width_mm", value, text))


def _allowed(change_to: Callable[[float], _Change], values: list[float]) -> list[_Change]:
    """The changes to these values, without those that leave a value's range."""
    changes: list[_Change] = []
    for value in values:
        with suppress(ModelError):
            changes.append(change_to(value))
    return changes


def _room(plan: Plan) -> Floats:
    """(poses,) width of the working band in mm; where a foot is out of reach, less."""
    return plan.band.highest_mm - plan.band.lowest_mm - plan.gap_mm.max(axis=1)


def troubles(plan: Plan) -> Floats:
    """What makes a plan impossible: each stop's worst excess in degrees, then each leg's worst gap in mm."""
    return np.concatenate(([float(one.amount_deg.max()) for one in excesses(plan)], plan.gap_mm.max(axis=0)))


def measure_of(finding: Finding) -> Measure:
    """A function that says how much of a finding's trouble a plan has, 0 = none; units are those of the finding."""
    measures: dict[str, Measure] = {
        "hips-too-high": lambda plan: _most(plan.hip_line_mm - plan.band.highest_mm),
        "hips-too-low": lambda plan: _most(plan.band.lowest_mm - plan.hip_line_mm),
        "band-empty": lambda plan: _most(plan.band.lowest_mm - plan.band.highest_mm),
        "band-narrow": lambda plan: _most(NARROW_MM - _room(plan)),
        "soles-overlap": lambda plan: max(_most(GAP_MM - gap) for _, _, gap in sole_gaps(plan)),
        "soles-close": lambda plan: max(_most(GAP_MM - gap) for _, _, gap in sole_gaps(plan)),
        "foot-out-of-reach": lambda plan: _most(plan.gap_mm[:, plan.legs.index(finding.leg)]),
        "joint-overloaded": lambda plan: overload(plan, finding.leg, finding.joint),
        "knee-pop": lambda plan: _pop(plan, plan.legs.index(finding.leg)),
    }
    return measures.get(finding.code, lambda plan: _joint(plan, finding))


def _most(values: Floats) -> float:
    most = float(values.max())
    return most if most > 1e-6 else 0.0


def _pop(plan: Plan, leg: int) -> float:
    standing = plan.state[:, leg] != FootState.AIR
    return _most(np.where(standing, POP_DEG - plan.knee_deg[:, leg], 0.0))


def _joint(plan: Plan, finding: Finding) -> float:
    index = plan.legs.index(finding.leg)
    amounts = [_most(one.amount_deg) for one in excesses(plan) if (one.leg, one.joint) == (index, finding.joint)]
    most = max(amounts, default=0.0)
    return most if most > ROUNDING_DEG else 0.0
