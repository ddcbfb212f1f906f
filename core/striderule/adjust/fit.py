"""Make a walk possible for its puppet with as little change as does it, or say what forbids it.

Means, nearest first: heel rise (when and how far), the hip curve, lift, sway, width, and step length where it is
allowed. A value that a person typed is never written. Hip heights are wishes: typed ones stay as they are, and the
curve departs from them pose by pose (`Edits.hips_up_mm`), no further than the working band asks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..check import findings_of
from ..check.cures import troubles
from ..check.limits import HAND_DEG, HAND_MM, LEAST_GAP_MM, excesses
from ..errors import ModelError
from ..model.fields import specs_of
from ..model.shot import Shot
from ..model.walk import Walk
from ..solve import solve
from ..solve.plan import Plan
from .fit_needs import Need, needs_of
from .in_band import lack_of, with_curve
from .values import Change, Value, changes, value_of, with_values

Floats = npt.NDArray[np.float64]
Values = dict[str, Value]

SHORT_STEPS = 4
"""Steps that show all of a walk that repeats."""

HEELS = ((0, 5), (1, 0), (1, 5), (0, 10), (2, 0), (1, 10), (2, 10), (3, 0), (0, 20), (2, 20), (0, 30), (3, 30))
"""Heel rises tried: more poses of toe roll, more degrees, the smaller changes first."""
SHARES: dict[str, tuple[float, ...]] = {
    "lift_mm": (0.9, 0.8, 0.65, 0.5, 1.15, 1.3),
    "sway": (0.75, 0.5, 0.25, 0.0, 1.3),
    "width_mm": (0.9, 0.75, 0.6, 1.15, 1.3),
    "step_mm": (0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5),
}
"""Values tried, as shares of the asked one, nearest first each way; lift up to 1.3, for feet that hang too low."""


PROBES = 3
"""Of more candidates than this two are tried first, where a walk looks hopeless."""


@dataclass(frozen=True)
class Fit:
    """shot: the walk made possible, or the nearest to it. changed: values of [walk] old -> new. hips_up_mm: what the
    curve adds to the asked hip line per pose, empty = nothing; pose by pose the edits that were there are in it too.
    fits: nothing impossible is left. needs: which joints forbid it, and what the puppet would need. offered: a step
    length that would do, where it was not allowed; only asked, not in the shot."""

    shot: Shot
    changed: tuple[Change, ...]
    hips_up_mm: tuple[float, ...]
    fits: bool
    needs: tuple[Need, ...] = ()
    offered: Change | None = None

    @property
    def untouched(self) -> bool:
        return not self.changed and not self.hips_up_mm


@dataclass(frozen=True)
class Trouble:
    """How impossible a plan is. findings: impossible ones; amount: the sum of their numbers, worst pose of each."""

    findings: int
    amount: float

    def exceeds(self, other: Trouble) -> bool:
        """More findings, or more in all."""
        return self.findings > other.findings or self.amount > other.amount + 1e-9

    def less(self, other: Trouble) -> bool:
        """Better in one way and worse in none."""
        return not self.exceeds(other) and (self.findings, self.amount + 1e-6) < (other.findings, other.amount)


def trouble_of(plan: Plan) -> Trouble:
    """What the checks call impossible in a plan."""
    found = [one for one in findings_of(plan, with_cures=False) if one.severity == "impossible"]
    return Trouble(len(found), sum(abs(one.number) for one in found))


def fit(shot: Shot, typed: Set[str] = frozenset(), step: bool = False) -> Fit:
    """The shot made possible for its puppet, or as near as the means get; a possible one comes back as it is.

    typed: keys below [walk] that are not written, as `model.shotfile.typed_walk_keys` reads them. step: the step length
    may be changed (where it is not typed). Each change is the smallest of its kind that helps; none is kept that brings
    more impossible findings or more of them than were asked for. Raises ModelError as `solve` does.
    """
    asked = trouble_of(solve(shot))
    if not asked.findings:
        return Fit(shot, (), (), True)
    keys = frozenset(specs_of(Walk)) - typed
    search = _Search(shot, keys)
    best = search.best()
    stepped = search.with_step(best)
    if step:
        best = stepped
    values, fitted, trouble = _whole(shot, best.values, asked, best.curved)
    offered = None
    if trouble.findings and not stepped.trouble.findings and "step_mm" in stepped.values:
        offered = Change("step_mm", value_of(shot.settled_walk, "step_mm"), stepped.values["step_mm"])
    needs = needs_of(solve(fitted)) if trouble.findings else ()
    curve = fitted.edits.hips_up_mm if fitted.edits != shot.edits else ()
    return Fit(fitted, changes(shot, values), curve, not trouble.findings, needs, offered)


def _whole(shot: Shot, values: Values, asked: Trouble, curved: bool) -> tuple[Values, Shot, Trouble]:
    """What was found, on the whole shot; less of it where it is worse there than what was asked."""
    for some, curve in ((values, curved), (values, True), ({}, True)):
        new = _with(shot, some)
        if new is None:
            continue
        for bend in dict.fromkeys((curve, False)):
            made = with_curve(solve(new)) if bend else new
            trouble = trouble_of(solve(made))
            if trouble.less(asked):
                return some, made, trouble
    return {}, shot, asked


def _with(shot: Shot, values: Mapping[str, Value]) -> Shot | None:
    """The shot with these values; None where they do not go with its others."""
    if not values:
        return shot
    try:
        new = replace(shot, walk=with_values(shot.walk, values))
        for one in new.variants:
            new.with_variant(one.name)
    except ModelError:
        return None
    return new


def _surely_impossible(plan: Plan) -> bool:
    """True where reach, hip height or a joint make a plan impossible: a quick no, before soles are looked at."""
    hips, band = plan.hip_line_mm, plan.band
    outside = np.maximum(hips - band.highest_mm, band.lowest_mm - hips)
    return bool((outside > HAND_MM).any() or (plan.gap_mm > LEAST_GAP_MM).any()
                or max(float(one.amount_deg.max()) for one in excesses(plan)) > HAND_DEG)  # fmt: skip


@dataclass(frozen=True)
class _Found:
    values: Values
    curved: bool
    trouble: Trouble


class _Search:
    """Tries the means one after the other; a walk that repeats is tried on a few steps of it."""

    def __init__(self, shot: Shot, keys: Set[str]) -> None:
        short = shot.repeats and (shot.settled_walk.steps or 0) > SHORT_STEPS
        self._shot = replace(shot.with_steps(SHORT_STEPS), variants=()) if short else shot
        self._keys = keys
        self._walk = shot.settled_walk
        self._curved: dict[int, Plan] = {}  # by a plan that _plans keeps
        self._troubles: dict[int, Trouble] = {}  # by a plan that either keeps
        self._plans: dict[tuple[tuple[str, Value], ...], Plan | None] = {}

    def best(self) -> _Found:
        """The first that leaves nothing impossible; else the one that leaves least."""
        best = self._tried({}, False)
        assert best is not None
        heels = list(self._heels())
        if self._promises(best, heels):
            for values in heels:  # the heel alone, before the hips
                plan = self._plan(values)
                if plan is not None and not _surely_impossible(plan):
                    found = self._tried(values, False)
                    if found and not found.trouble.findings:
                        return found
        best = self._mended(best, [{}])
        best = self._mended(best, heels) if best.trouble.findings else best
        for key in SHARES:
            if key in self._keys and key != "step_mm" and best.trouble.findings:
                best = self._mended(best, self._ladder(key))
        return self._without_needless(best)

    def with_step(self, best: _Found) -> _Found:
        """The same with the step length, the last resort."""
        if not best.trouble.findings or "step_mm" not in self._keys:
            return best
        stepped = self._mended(best, self._ladder("step_mm"))
        return best if stepped is best else self._without_needless(stepped)

    def _mended(self, best: _Found, candidates: list[Values]) -> _Found:
        """The best so far with one of the candidates: the first that leaves nothing impossible, else what leaves least.
        A candidate that leaves poses without a band is only tried where all do."""
        if not self._promises(best, candidates):
            return best
        plans = [(values, plan) for values in candidates if (plan := self._plan({**best.values, **values}))]
        if not plans:
            return best
        lacks = [lack_of(plan) for _, plan in plans]
        hopeful = [one for one, lack in zip(plans, lacks, strict=True) if lack.max() <= 2.0 * HAND_MM]
        if not hopeful:
            hopeful = [plans[int(np.argmin([round(float(lack.sum()), 6) for lack in lacks]))]]
        start = best.values
        left: list[tuple[float, Values]] = []
        for values, plan in hopeful:
            bent = self._bent(plan)
            left.append((round(float(troubles(bent).sum()), 6), {**start, **values}))
            if not _surely_impossible(bent):
                found = self._tried({**start, **values}, True)
                if found and not found.trouble.findings:
                    return found
        found = self._tried(min(left, key=lambda one: one[0])[1], True)
        return found if found and found.trouble.less(best.trouble) else best

    def _promises(self, best: _Found, candidates: list[Values]) -> bool:
        """False where neither a small nor a great change of the candidates lessens what is wrong: of a hopeless walk
        the others need not be solved."""
        now = self._plan(best.values)
        if now is None or len(candidates) <= PROBES:
            return True
        lack, left = lack_of(now), np.inf
        without_band = lack.max() > 2.0 * HAND_MM
        if not without_band:
            left = float(troubles(self._bent(now)).sum())
            if left <= 0:  # soles or floor, which the checks alone see
                return True
        for values in (candidates[1], candidates[-2]):
            plan = self._plan({**best.values, **values})
            if plan is None:
                continue
            if without_band and lack_of(plan).sum() < lack.sum() - HAND_MM:
                return True
            if not without_band and float(troubles(self._bent(plan)).sum()) < 0.98 * left:
                return True
        return False

    def _bent(self, plan: Plan) -> Plan:
        """The plan with its hip curve."""
        key = id(plan)
        if key not in self._curved:
            made = with_curve(plan)
            self._curved[key] = plan if made is plan.shot else solve(made)
        return self._curved[key]

    def _plan(self, values: Values) -> Plan | None:
        key = tuple(sorted(values.items()))
        if key not in self._plans:
            shot = _with(self._shot, values)
            self._plans[key] = None if shot is None else solve(shot)
        return self._plans[key]

    def _without_needless(self, found: _Found) -> _Found:
        """Take back every change that is not needed after all, the last resort first."""
        for key in reversed(list(found.values)):
            less = self._tried({one: value for one, value in found.values.items() if one != key}, found.curved)
            if less and not less.trouble.exceeds(found.trouble):
                found = less
        return found

    def _tried(self, values: Values, curve: bool) -> _Found | None:
        plan = self._plan(values)
        if plan is None:
            return None
        if curve:
            bent, trouble = self._trouble(self._bent(plan)), self._trouble(plan)
            return _Found(values, True, bent) if bent.less(trouble) else _Found(values, False, trouble)
        return _Found(values, False, self._trouble(plan))

    def _trouble(self, plan: Plan) -> Trouble:
        if id(plan) not in self._troubles:
            self._troubles[id(plan)] = trouble_of(plan)
        return self._troubles[id(plan)]

    def _heels(self) -> Iterator[Values]:
        """Earlier and higher heel rises, the smaller changes first."""
        roll, rise = self._walk.toe_roll_poses or 0, self._walk.heel_off_deg or 0.0
        may_roll, may_rise = "toe_roll_poses" in self._keys, "heel_off_deg" in self._keys
        for more, up in HEELS:
            if (more and not may_roll) or (up and not may_rise):
                continue
            values: Values = {}
            if more:
                values["toe_roll_poses"] = roll + more
            if up:
                values["heel_off_deg"] = round(min(rise + up, 85.0), 1)
            if values and (not up or rise + up <= 85.0):
                yield values

    def _ladder(self, key: str) -> list[Values]:
        now = float(value_of(self._walk, key) or 0.0)
        values = [round(now * share, 2 if key == "sway" else 1) for share in SHARES[key]]
        return [{key: value} for value in values if value != now and (key != "sway" or value <= 1.0)]
