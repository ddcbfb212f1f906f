"""poses.csv: one row per pose, the contract that outside scripts read. Columns are added, never changed.

UTF-8, header row, LF; mm and degrees with exactly 4 decimals; poses and frames count from 1.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..check.centre import support_of
from ..solve.plan import STATE_NAMES, Plan
from .files import write_text
from .timecode import timecodes
from .upper_columns import upper_columns
from .weight_columns import weight_columns

_POINTS = ("hip", "knee", "ankle", "heel", "ball", "toe")
_ANGLES = ("hip_swing", "hip_out", "knee", "ankle", "toe")
_TRUNK = (
    "ref_x_mm",
    "ref_y_mm",
    "ref_z_mm",
    "body_x_mm",
    "body_y_mm",
    "body_z_mm",
    "body_yaw_deg",
    "body_pitch_deg",
    "body_roll_deg",
)


def columns_of(legs: tuple[str, ...], moving_floor: bool = False) -> tuple[str, ...]:
    """The header for a puppet with these legs, in order. moving_floor: it walks on the spot. What only some puppets
    have (`hock_columns`, `upper_columns`, `weight_columns`) follows."""
    names = ["pose", "first_frame", "last_frame", "timecode", "step", "key", *_TRUNK]
    for leg in legs:
        names.append(f"{leg}_state")
        names += [f"{leg}_{point}_{axis}_mm" for point in _POINTS for axis in "xyz"]
        names += [f"{leg}_{angle}_deg" for angle in _ANGLES]
    if moving_floor:
        names += ["floor_x_mm", "floor_z_mm"]
    return tuple(names)


def poses_csv_text(plan: Plan) -> str:
    """The whole file as text."""
    legs = range(len(plan.legs))
    numbers = [plan.reference_mm, plan.body_mm, plan.body_deg]
    template = ["%d,%d,%d,%s,%d,%s", *["%.4f"] * 9]
    states: list[list[str]] = []
    for leg in legs:
        numbers += [getattr(plan, f"{point}_mm")[:, leg, :] for point in _POINTS]
        numbers += [getattr(plan, f"{angle}_deg")[:, leg, None] for angle in _ANGLES]
        template += ["%s", *["%.4f"] * (3 * len(_POINTS) + len(_ANGLES))]
        states.append([STATE_NAMES[state] for state in plan.state[:, leg].tolist()])
    on_the_spot = plan.shot.walk.on_the_spot
    if on_the_spot:
        numbers.append(plan.floor_shift_mm[:, [0, 2]])
        template += ["%.4f"] * 2
    further: list[str] = []
    for more, columns in (hock_columns(plan), upper_columns(plan), weight_columns(plan)):
        further += more
        numbers.append(columns)
    if len(plan.legs) > 2 and "support_margin_mm" not in further:
        margin = support_of(plan).margin_mm
        further.append("support_margin_mm")
        numbers.append(np.where(np.isfinite(margin), margin, np.nan)[:, None])
    template += ["%.4f"] * len(further)
    values = unsigned_zeros(np.concatenate(numbers, axis=1)).tolist()
    row_template = ",".join(template)
    per_leg = 3 * len(_POINTS) + len(_ANGLES)
    rows = [",".join((*columns_of(plan.legs, on_the_spot), *further))]
    fixed = zip(
        plan.first_frame.tolist(),
        plan.last_frame.tolist(),
        timecodes(plan.first_frame, plan.shot.rate),
        plan.step.tolist(),
        plan.keys,
        strict=True,
    )
    for index, (lead, row) in enumerate(zip(fixed, values, strict=True)):
        cells: list[object] = [index + 1, *lead, *row[:9]]
        for leg in legs:
            start = 9 + leg * per_leg
            cells += [states[leg][index], *row[start : start + per_leg]]
        cells += row[9 + len(legs) * per_leg :]
        # what a pose does not have is an empty cell
        rows.append((row_template % tuple(cells)).replace(",nan", ","))
    return "\n".join(rows) + "\n"


def hock_columns(plan: Plan) -> tuple[tuple[str, ...], npt.NDArray[np.float64]]:
    """Names (n,) and numbers (poses, n) of the legs of three bones: where the hock is, and its bend."""
    legs = [i for i, leg in enumerate(plan.shot.puppet.legs) if leg.cannon_mm is not None]
    names = [f"{plan.legs[i]}_hock_{one}" for i in legs for one in ("x_mm", "y_mm", "z_mm", "deg")]
    values = np.concatenate((plan.hock_mm, plan.hock_deg[..., None]), axis=2)[:, legs]
    return tuple(names), values.reshape(plan.poses, len(names))


def unsigned_zeros(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """A copy in which every number that four decimals would write as 0.0000 or -0.0000 is plain 0."""
    return np.where(np.abs(values) < 0.00005, 0.0, values)


def write_poses_csv(path: Path, plan: Plan) -> None:
    """Write poses.csv. Raises OutputError."""
    write_text(path, poses_csv_text(plan))
