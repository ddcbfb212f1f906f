"""What else a walk over holes could be where its own steps would limp: one equal step length that fits the grid, other
poses a step that keep its speed, or more poses for its longer steps. Offered, never taken without being asked."""

from __future__ import annotations

from collections.abc import Set
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from ..check import findings_of, is_impossible
from ..errors import ModelError
from ..model.defaults import half_up
from ..model.groups import groups_of
from ..model.shot import Shot
from ..model.step_change import StepChange
from ..solve import solve
from .hole_feet import feet_of
from .hole_rows import without_ties
from .holes import Snapped, snap_to_holes
from .retime import SCALED, retimed
from .values import Value, typed_values, with_values

NEAREST, FURTHEST = 0.6, 1.35
"""Equal step lengths are looked for from and to this share of the walk's."""
_TRIED = 4
_SHORT_STEPS = 8
_LEAST_STEP_MM = 2.0


@dataclass(frozen=True)
class Offer:
    """A walk that could be taken instead. step_mm: its step, None = uneven steps, as snapped. poses_per_step: of every
    step. by_step: steps with poses of their own. uneven: as `Snapped.uneven`. faster: its speed against the asked one,
    a share; of uneven steps that of the one which is furthest off. possible: nothing in it is impossible."""

    step_mm: float | None
    poses_per_step: int
    by_step: tuple[tuple[int, int], ...]
    uneven: float
    faster: float
    possible: bool


def offers_for(shot: Shot, snapped: Snapped, typed: Set[str] | None = None) -> tuple[Offer, ...]:
    """Every walk that could be taken instead of one that limps or does not fit, each snapped, solved and checked: the
    nearest shorter and longer equal step, with the walk's poses and with those that come nearest to its speed; and,
    where it fits, the uneven steps at an even speed.

    typed: keys below [walk] that a file holds, as `retimed` reads them.
    """
    walk = shot.settled_walk
    asked, poses = walk.step_mm or 0.0, walk.poses_per_step
    if shot.grid is None or asked <= 0:
        return ()
    found: list[Offer] = []
    was_possible = _possible(without_ties(shot))
    for tried in _equal_steps(shot):
        step = tried.shot.settled_walk.step_mm or asked
        for n in dict.fromkeys((poses, max(half_up(poses * step / asked), 2))):
            with suppress(ModelError):
                paced = with_step(tried.shot, None, n, typed)[0]  # feet stand where they stood, at other poses
                possible = _possible(paced)
                if possible or not was_possible:
                    found.append(Offer(step, n, (), tried.uneven, step / n / (asked / poses) - 1.0, possible))
    if snapped.fits and snapped.limps:
        with suppress(ModelError):
            even, by_step = at_even_speed(snapped, typed)
            possible = bool(by_step) and _possible(even)
            if by_step and (possible or not was_possible):
                furthest = _furthest_speed(snapped, by_step)
                found.append(Offer(None, poses, by_step, snapped.uneven, furthest, possible))
    return tuple(found)


def with_step(
    shot: Shot, step_mm: float | None, poses_per_step: int | None, typed: Set[str] | None = None
) -> tuple[Shot, dict[str, Value | None]]:
    """The shot with another step length and other poses a step (None: as they are), and what that writes, by whole key;
    a distance that would contradict the step length goes. Raises ModelError."""
    values: dict[str, Value | None] = {}
    new = shot
    if poses_per_step is not None and poses_per_step != shot.walk.poses_per_step:
        found = retimed(shot, poses_per_step, typed)
        new = found.shot
        values |= {f"walk.{key}": value for key, value in found.values.items()}
        values |= {one.key: one.new for one in found.in_steps}
    if step_mm is not None:
        opened = {"distance_mm"} if new.walk.distance_mm is not None and new.walk.steps is not None else set[str]()
        new = replace(new, walk=with_values(new.walk, {"step_mm": step_mm}, opened))
        values |= {"walk.step_mm": step_mm, **{f"walk.{key}": None for key in sorted(opened)}}
    return new, values


def at_even_speed(snapped: Snapped, typed: Set[str] | None = None) -> tuple[Shot, tuple[tuple[int, int], ...]]:
    """The snapped shot with so many poses for every step as keep the walk's speed, and which steps got other ones.
    Values that count poses are scaled in those steps. Raises ModelError."""
    shot = snapped.shot
    kept = typed_values(shot.walk) if typed is None else typed
    poses = _poses_of_steps(snapped)
    bare = replace(shot, step_changes=())
    scaled = {
        n: {key: value for key, value in retimed(bare, n, kept).values.items() if key in (*SCALED, "poses_per_step")}
        for n in sorted(set(poses.values()))
    }
    rows = {one.which: dict(one.values) for one in shot.step_changes}
    for step, n in poses.items():
        rows[str(step)] = {**rows.get(str(step), {}), **scaled[n]}
    changes = tuple(StepChange(which, tuple(values.items())) for which, values in rows.items())
    return replace(shot, step_changes=changes), tuple(poses.items())


def _steps(snapped: Snapped) -> dict[int, tuple[float, int, float]]:
    """Of every step of the walk that has a length: that length, its poses, and how much longer it is now."""
    shot = snapped.shot
    laid = shot.laid_out
    first = {shot.puppet.legs[k].name for k in groups_of(shot.puppet, laid.walk)[0].legs}
    longer = {one.step: one.longer_mm for one in snapped.tied if one.leg in first}
    found: dict[int, tuple[float, int, float]] = {}
    kinds: list[int] = laid.kind.tolist()
    for k, kind in enumerate(kinds):
        length, poses = laid.kinds[kind].step_mm or 0.0, laid.kinds[kind].poses_per_step
        if length > _LEAST_STEP_MM and k + 1 in longer:
            found[k + 1] = (length, poses, longer[k + 1])
    return found


def _poses_of_steps(snapped: Snapped) -> dict[int, int]:
    every = {
        step: (poses, max(half_up(poses * (length + longer) / length), 2))
        for step, (length, poses, longer) in _steps(snapped).items()
    }
    return {step: new for step, (old, new) in every.items() if new != old}


def _furthest_speed(snapped: Snapped, by_step: tuple[tuple[int, int], ...]) -> float:
    own = dict(by_step)
    speeds = [
        (length + longer) / own.get(step, poses) / (length / poses) - 1.0
        for step, (length, poses, longer) in _steps(snapped).items()
    ]
    return max(speeds, key=abs, default=0.0)


def _possible(shot: Shot) -> bool:
    return not is_impossible(findings_of(solve(shot), with_cures=False))


def _equal_steps(shot: Shot) -> list[Snapped]:
    """The walk with the nearest shorter and the nearest longer step with which all of it fits the grid without a limp,
    snapped."""
    asked = shot.settled_walk.step_mm or 0.0
    found: list[Snapped] = []
    for steps in _likely_steps(shot):
        for step in steps[:_TRIED]:
            if abs(step - asked) < 0.05:
                continue
            with suppress(ModelError):
                tried = with_step(shot, step, None)[0]
                bare = without_ties(tried)
                if bare.repeats and len(bare.laid_out.kind) > _SHORT_STEPS:
                    short = snap_to_holes(bare.with_steps(_SHORT_STEPS))
                    if short.limps or not short.fits:
                        continue
                snapped = snap_to_holes(tried)
                if snapped.fits and not snapped.limps:
                    found.append(snapped)
                    break
    return found


def _likely_steps(shot: Shot) -> tuple[list[float], list[float]]:
    """Half of the ways from hole to hole that lie near a heading of the walk: strides of the same foot. Shorter ones
    than the walk's step, then longer ones, the nearest first."""
    grid, asked = shot.grid, shot.settled_walk.step_mm or 0.0
    assert grid is not None
    most = int(np.ceil(2.0 * FURTHEST * asked / grid.pitch_mm))
    if most > 400:
        return [], []
    side = np.arange(-most, most + 1)
    i, j = (one.ravel().astype(float) for one in np.meshgrid(side, side))
    length, way = np.hypot(i, j) * grid.pitch_mm, np.arctan2(j, i) + np.radians(grid.angle_deg)
    headings = np.unique(np.round(np.concatenate([one.travel_rad for one in feet_of(without_ties(shot))]), 2))
    off = np.abs(np.angle(np.exp(1j * (way[:, None] - headings[None])))).min(axis=1)
    fits = (off < 0.03) & (length >= 2.0 * NEAREST * asked) & (length <= 2.0 * FURTHEST * asked)
    steps = np.unique(np.round(0.5 * length[fits], 2))
    return steps[steps < asked][::-1].tolist(), steps[steps > asked].tolist()
