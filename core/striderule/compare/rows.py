"""The table of a comparison: values that differ, and what comes of them. One row a value, one cell a walk."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, cast

import numpy as np
import numpy.typing as npt

from ..check import SEVERITIES
from ..model.fields import specs_of
from ..model.shot import Shot
from ..model.step_change import per_step_specs
from ..solve.plan import Plan
from .walks import Compared

Floats = npt.NDArray[np.float64]
Cell = float | int | str | bool | tuple[float, ...] | None

_ALIKE = 1e-4
"""Numbers nearer than this are the same to a table of four decimals."""
_NOT_COMPARED = {"name", "puppet", "cameras", "overlay", "variants"}


@dataclass(frozen=True)
class Row:
    """key: dotted place in a shot file, or a name of its own; unit: "mm", "s", "" ...; cells: one a walk, None where
    the walk has no such value."""

    key: str
    unit: str
    cells: tuple[Cell, ...]


def different_values(walks: Sequence[Compared]) -> tuple[Row, ...]:
    """Every settled value of shot, walk and stage in which at least two of the walks differ, in file order; the puppet
    by its name."""
    settled = [dict(_values_of(one.plan.shot)) for one in walks]
    keys = dict.fromkeys(key for one in settled for key in one)
    rows: list[Row] = []
    for key in keys:
        unit = next(one[key][0] for one in settled if key in one)
        row = Row(key, unit, tuple(one[key][1] if key in one else None for one in settled))
        if any(not _alike(row.cells[0], cell) for cell in row.cells[1:]):
            rows.append(row)
    return tuple(rows)


def facts(walks: Sequence[Compared]) -> tuple[Row, ...]:
    """What the walks come to: time, way, hips, spacing, findings of each severity, and the room of the working band."""
    columns = [_facts_of(one) for one in walks]
    return tuple(
        Row(key, unit, tuple(column[k][2] for column in columns)) for k, (key, unit, _) in enumerate(columns[0])
    )


def _facts_of(one: Compared) -> list[tuple[str, str, Cell]]:
    plan, seconds = one.plan, one.seconds
    moves = moves_mm(plan)
    way = way_mm(plan)
    walked = float((plan.first_frame[-1] - plan.first_frame[0]) / plan.shot.rate)
    counts = [(severity, sum(found.severity == severity for found in one.findings)) for severity in SEVERITIES]
    return [
        ("poses", "", plan.poses),
        ("frames", "", plan.frames),
        ("seconds", "s", seconds),
        ("step_seconds", "s", walked / int(plan.step[-1] - plan.step[0] + 1)),
        ("distance", "mm", way),
        ("speed", "mm/s", way / walked if walked else 0.0),
        ("hips_lowest", "mm", float(plan.hip_line_mm.min())),
        ("hips_highest", "mm", float(plan.hip_line_mm.max())),
        ("largest_move", "mm", float(moves.max(initial=0.0))),
        *((f"findings_{severity}", "", count) for severity, count in counts),
        ("least_band_room", "mm", band_room_mm(plan)),
        ("hips_to_band_edge", "mm", band_edge_mm(plan)),
    ]


def moves_mm(plan: Plan) -> Floats:
    """(poses - 1,) how far the reference point moves from each pose to the next."""
    return np.linalg.norm(np.diff(plan.reference_mm, axis=0), axis=1)


def way_mm(plan: Plan) -> float:
    """How far the walk goes: from contact to contact over the floor, so that sway adds nothing."""
    at = sorted({0, plan.poses - 1, *(k for k, key in enumerate(plan.keys) if key == "contact")})
    return float(np.linalg.norm(np.diff(plan.body_mm[at, :2], axis=0), axis=1).sum())


def band_room_mm(plan: Plan) -> float:
    """The narrowest working band of all poses: highest less lowest hip line; below 0 where no height fits."""
    return float((plan.band.highest_mm - plan.band.lowest_mm).min())


def band_edge_mm(plan: Plan) -> float:
    """How near the hip line comes to the edge of its working band; below 0 where it is outside."""
    band, hips = plan.band, plan.hip_line_mm
    return float(np.minimum(band.highest_mm - hips, hips - band.lowest_mm).min())


def _values_of(shot: Shot) -> Iterator[tuple[str, tuple[str, Cell]]]:
    """(dotted key, (unit, value)) of everything settled in a shot but its cameras and pictures."""
    yield "puppet", ("", shot.puppet.name)
    for one in fields(shot):
        if one.name == "fps":
            yield "fps", ("", shot.fps)
        elif one.name == "step_changes":
            specs = per_step_specs()
            for change in shot.step_changes:
                for key, value in change.values:
                    yield f"step.{change.which}.{key}", (specs[key].unit, value)
        elif one.name not in _NOT_COMPARED:
            value = shot.settled_walk if one.name == "walk" else getattr(shot, one.name)
            unit = specs_of(Shot)[one.name].unit if one.name in specs_of(Shot) else ""
            yield from _flat(one.name, value, unit)


def _flat(key: str, value: Any, unit: str) -> Iterator[tuple[str, tuple[str, Cell]]]:
    """A value, or those of an object or of a tuple of objects, under dotted keys; objects without a name count from
    1."""
    if is_dataclass(value) and not isinstance(value, type):
        specs = specs_of(type(value))
        for one in fields(value):
            yield from _flat(f"{key}.{one.name}", getattr(value, one.name),
                             specs[one.name].unit if one.name in specs else "")  # fmt: skip
    elif isinstance(value, tuple) and any(is_dataclass(one) for one in cast("tuple[Any, ...]", value)):
        for k, one in enumerate(cast("tuple[Any, ...]", value), 1):
            yield from _flat(f"{key}.{getattr(one, 'name', k)}", one, "")
    else:
        yield key, (unit, cast(Cell, value))


def _alike(a: Cell, b: Cell) -> bool:
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(map(_alike, a, b))
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) < _ALIKE
    return a == b
