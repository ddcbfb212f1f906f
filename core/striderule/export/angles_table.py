"""angles.csv: one row an angle, what was judged of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np

from ..camera.judging import Angle
from .files import tidy_number

HEAD = ("view", "mm_per_px", "smallest_move_px", "smallest_into_pose", "largest_move_px", "largest_into_pose", "ratio",
        "standing_foot_hidden_share", "target_hidden_share", "poses_outside", "sharp_from_mm", "sharp_to_mm",
        "poses_unsharp", "findings")  # fmt: skip


def angles_csv(angles: Sequence[Angle]) -> str:
    """The table; empty where a value has no meaning (a camera that goes along, no focus, sharp to infinity)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    for one in angles:
        near, far = one.sharp_mm or (None, None)
        writer.writerow([
            one.view.name, _number(one.mm_per_px), *(_moved(one.smallest)), *(_moved(one.largest)), _number(one.ratio),
            _number(one.hidden), _number(one.target_hidden), int(one.outside.sum()), _number(near),
            _number(far if far is not None and np.isfinite(far) else None),
            "" if one.unsharp is None else int(one.unsharp.sum()), " ".join(finding.code for finding in one.findings),
        ])  # fmt: skip
    return out.getvalue()


def _moved(move: tuple[float, int] | None) -> tuple[str, str]:
    return ("", "") if move is None else (_number(move[0]), str(move[1]))


def _number(value: float | None) -> str:
    return "" if value is None else f"{tidy_number(value):g}"
