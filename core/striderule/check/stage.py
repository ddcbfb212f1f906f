"""Feet where the stage has nothing for them: beside the holes, over its edge, on an obstacle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.holes import hole_name, holes_mm, off_holes
from ..model.shot import Shot
from ..model.stage import Obstacle, Stage
from ..solve.plan import Plan
from ..solve.prints import from_above, sole_corners_mm, ties_mm
from .feet import held
from .finding import Cure, Finding
from .limits import HAND_MM
from .runs import finding_of

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_ROUNDING_MM = 1e-6


def stage_findings(plan: Plan) -> tuple[Finding, ...]:
    """off-stage, on-obstacle and tie-off-hole, one finding a leg (and obstacle)."""
    shot = plan.shot
    edges = shot.stage.along_mm is not None or shot.stage.across_mm is not None
    if shot.grid is None and not shot.obstacles and not edges:
        return ()
    prints = prints_of(plan)
    found: list[Finding] = []
    touching, tied = _standing(plan), _standing(plan, held(plan))
    if edges:
        over = off_stage_mm(shot.stage, prints.corners_mm)
        found += _told(plan, "off-stage", touching, over, "is over the edge of the stage by {number} mm", prints)
    for one in shot.obstacles:
        into = on_obstacle_mm(one, prints.corners_mm)
        words = f"stands on the {one.name}, by {{number}} mm"
        found += _told(plan, "on-obstacle", touching, into, words, prints)
    if shot.grid is not None:
        hole, away = off_holes(shot.grid, prints.tie_mm)
        away = np.where(away > HAND_MM, away, 0.0)
        names = [hole_name(shot.grid, i, j) for i, j in hole.tolist()]
        words = "is tied {number} mm beside the nearest hole"
        found += _told(plan, "tie-off-hole", tied, away, words, prints, names)
    return tuple(found)


@dataclass(frozen=True, eq=False)
class Prints:
    """The footfalls (F,) of a plan from above, in its footing's order: soles' corners (F, 4, 2), tie-downs (F, 2)."""

    corners_mm: Floats
    tie_mm: Floats


def prints_of(plan: Plan) -> Prints:
    """The plan's footfalls on the floor as it lies at pose 1."""
    f, legs = plan.footing, plan.shot.puppet.legs
    turn = np.radians((f.heading_deg, f.pitch_deg, f.roll_deg))
    place = f.place_mm[:, :2]
    corners = place[:, None] + from_above(sole_corners_mm(legs)[f.leg], *turn)
    return Prints(corners, place + from_above(ties_mm(legs)[f.leg], *turn))


def off_stage_mm(stage: Stage, corners_mm: Floats) -> Floats:
    """(...,) how far soles (..., 4, 2) reach over the stage's edge; 0 = they do not."""
    over: Floats = np.zeros(corners_mm.shape[:-1])
    for axis, ends in enumerate((stage.along_mm, stage.across_mm)):
        if ends is not None:
            at = corners_mm[..., axis]
            over = np.maximum(over, np.maximum(ends[0] - at, at - ends[1]))
    return _above(np.asarray(over.max(axis=-1), dtype=np.float64))


def on_obstacle_mm(obstacle: Obstacle, corners_mm: Floats) -> Floats:
    """(...,) how deep soles (..., 4, 2), corners anticlockwise, are in an obstacle; 0 = beside it."""
    to = np.array(obstacle.at_mm) - corners_mm
    edge = np.roll(corners_mm, -1, axis=-2) - corners_mm
    length = np.maximum((edge * edge).sum(axis=-1), 1e-12)
    share = np.clip((to * edge).sum(axis=-1) / length, 0.0, 1.0)
    away = np.linalg.norm(to - share[..., None] * edge, axis=-1).min(axis=-1)
    inside: Flags = np.asarray(edge[..., 0] * to[..., 1] - edge[..., 1] * to[..., 0] >= 0)
    signed = away * (1.0 - 2.0 * inside.all(axis=-1).astype(np.float64))
    return _above(obstacle.radius_mm - signed)


def _above(amount: Floats) -> Floats:
    return np.asarray(np.where(amount > _ROUNDING_MM, amount, 0.0))


def _standing(plan: Plan, mask: Flags | None = None) -> Flags:
    """(F, P) True where a footfall's foot is on it (and mask (P, L) holds for its leg)."""
    f, pose = plan.footing, np.arange(plan.poses)
    on = (pose >= f.first[:, None]) & (pose <= f.last[:, None])
    return on if mask is None else on & mask.T[f.leg]


def _told(
    plan: Plan, code: str, on: Flags, amount: Floats, words: str, prints: Prints, names: list[str] | None = None
) -> list[Finding]:
    """One finding for each leg with footfalls whose amount (F,) is above 0 while `on` (F, P)."""
    found: list[Finding] = []
    cures: tuple[Cure, ...] | None = None
    for index, leg in enumerate(plan.legs):
        size = np.where(on, amount[:, None], 0.0) * (plan.footing.leg == index)[:, None]
        worst: Floats = np.asarray(size.max(axis=0), dtype=np.float64)
        if not (worst > 0).any():
            continue
        at = int(size[:, int(np.argmax(np.round(worst, 6)))].argmax())
        where = f" ({names[at]})" if names else ""
        if cures is None:
            cures = _cures(plan, code, prints)
        text = f"The {leg} foot {words}{where} in {{poses}} (worst: pose {{worst}})."
        found += finding_of(code, worst > 0, worst, "mm", text, leg=leg, cures=cures)
    return found


def _cures(plan: Plan, code: str, prints: Prints) -> tuple[Cure, ...]:
    """The nearest start that brings all footfalls where they may be, worked out on the prints: they move with it as a
    whole, unless some of them were put in their places by hand."""
    shot = plan.shot
    if any(one.at_mm is not None for one in shot.edits.footfalls):
        return _by_holes(code)
    for by in _shifts(shot, code, prints):
        if not _trouble(shot, code, prints, by):
            start = tuple(round(a + b, 2) for a, b in zip(shot.stage.start_mm, by.tolist(), strict=True))
            along, left = (round(float(one), 1) for one in by)
            said = [f"{abs(along):g} mm further {'along' if along > 0 else 'back'}"] if along else []
            said += [f"{abs(left):g} mm further to the {'left' if left > 0 else 'right'}"] if left else []
            return (Cure("stage.start_mm", f"[{start[0]:g}, {start[1]:g}]", f"start {' and '.join(said)}"),)
    return _by_holes(code)


def _by_holes(code: str) -> tuple[Cure, ...]:
    if code != "tie-off-hole":
        return ()
    return (Cure("edit.footfall", "holes", "`striderule holes` moves the feet over holes"),)


def _trouble(shot: Shot, code: str, prints: Prints, by: Floats) -> bool:
    """True where the prints, moved by so much, still have that trouble, or feet of them have nowhere to stand."""
    corners = prints.corners_mm + by
    bad = off_stage_mm(shot.stage, corners).any()
    bad = bad or any(on_obstacle_mm(one, corners).any() for one in shot.obstacles)
    if code == "tie-off-hole" and shot.grid is not None:
        bad = bad or (off_holes(shot.grid, prints.tie_mm + by)[1] > HAND_MM).any()
    return bool(bad)


def _shifts(shot: Shot, code: str, prints: Prints) -> list[Floats]:
    """Moves of the start that may help, the smallest first."""
    if code == "tie-off-hole" and shot.grid is not None:
        hole, _ = off_holes(shot.grid, prints.tie_mm)
        return _holes_onto(shot, prints, hole[0])
    corners = prints.corners_mm.reshape(-1, 2)
    if code == "off-stage":
        by = np.zeros(2)
        for axis, ends in enumerate((shot.stage.along_mm, shot.stage.across_mm)):
            if ends is not None:
                low, high = corners[:, axis].min(), corners[:, axis].max()
                by[axis] = max(ends[0] - low, 0.0) - max(high - ends[1], 0.0)
        return [np.ceil(np.abs(by) * 10) / 10 * np.sign(by)]
    step = 2.0
    ways = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
    return [np.array((step * k * x, step * k * y)) for k in range(1, 31) for x, y in ways]


def _holes_onto(shot: Shot, prints: Prints, hole: npt.NDArray[np.int64]) -> list[Floats]:
    """Moves that bring the first footfall over the holes about it."""
    assert shot.grid is not None
    side = np.arange(-1, 2)
    about = hole + np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    by = np.asarray(holes_mm(shot.grid, about) - prints.tie_mm[0], dtype=np.float64)
    order: list[int] = np.argsort(np.hypot(by[:, 0], by[:, 1]), kind="stable").tolist()
    return [np.asarray(by[k], dtype=np.float64) for k in order]
