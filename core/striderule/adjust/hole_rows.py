"""Feet over holes as rows of a shot: `[[edit.footfall]]` with at_mm and hole_turn_deg, written and taken out again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..model.edits import FootfallEdit
from ..model.holes import holes_mm
from ..model.shot import Shot
from ..model.stage import HoleGrid
from ..solve.prints import from_above, ties_mm
from .hole_feet import Candidates, Feet, feet_of

Floats = npt.NDArray[np.float64]

_WRITTEN = 6
"""Decimals of a place in mm."""
_EXACT_MM = 2e-7


def without_ties(shot: Shot) -> Shot:
    """The shot without what `snap_to_holes` has written; what a person wished and pinned stays."""
    rows: list[FootfallEdit] = []
    for one in shot.edits.footfalls:
        if one.hole_turn_deg is None:
            rows.append(one)
            continue
        plain = replace(one, at_mm=None, hole_turn_deg=None)
        if plain != FootfallEdit(one.step, leg=one.leg):
            rows.append(plain)
    if tuple(rows) == shot.edits.footfalls:
        return shot
    return replace(shot, edits=replace(shot.edits, footfalls=tuple(rows)))


def tied_shot(bare: Shot, grid: HoleGrid, feet: Sequence[Feet], found: Sequence[Sequence[Candidates]]) -> Shot:
    """The shot with rows that put the feet where they were chosen, exactly also on floors where a foot's slope changes
    with its place."""
    places = [np.array([one.place_mm[0] for one in prints]) for prints in found]
    new = _with_rows(bare, feet, found, places)
    for _ in range(12):
        worst = 0.0
        for g, (now, prints) in enumerate(zip(feet_of(new), found, strict=True)):
            ties = ties_mm(now.legs)[now.leg]
            tie = now.place_mm + from_above(ties, now.heading_rad, now.pitch_rad, now.roll_rad)
            off = _holes_of(grid, prints) - tie
            off[now.pinned] = 0.0
            worst = max(worst, float(np.abs(off).max(initial=0.0)))
            places[g] = places[g] + off
        if worst <= _EXACT_MM + 0.5 * 10.0**-_WRITTEN:
            break
        new = _with_rows(bare, feet, found, places)
    return new


def _holes_of(grid: HoleGrid, prints: Sequence[Candidates]) -> Floats:
    return holes_mm(grid, np.array([one.hole[0] for one in prints]))


def _with_rows(bare: Shot, feet: Sequence[Feet], found: Sequence[Sequence[Candidates]], places: list[Floats]) -> Shot:
    rows: list[FootfallEdit] = []
    gone: set[int] = set()
    named = len(bare.puppet.legs) > 2
    for one, prints, at in zip(feet, found, places, strict=True):
        for k, (step, leg) in enumerate(zip(one.step.tolist(), one.names, strict=True)):
            if one.pinned[k]:
                continue
            own = one.edit[k]
            if own is not None:
                gone.add(id(own))
            x, y = (round(float(v), _WRITTEN) + 0.0 for v in at[k])
            base = own or FootfallEdit(step, leg=leg if named else None)
            rows.append(replace(base, at_mm=(x, y), hole_turn_deg=float(prints[k].turn_deg[0])))
    kept = [row for row in bare.edits.footfalls if id(row) not in gone]
    rows.sort(key=lambda row: (row.step, row.leg or ""))
    return replace(bare, edits=replace(bare.edits, footfalls=(*kept, *rows)))
