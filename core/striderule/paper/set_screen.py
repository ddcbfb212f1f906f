"""The set screen: the exposure sheet as one page for a tablet. It asks nothing of a network, and keeps its ticks in the
browser, apart for every version of a shot."""

from __future__ import annotations

import json
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

import numpy as np
import numpy.typing as npt

from .cautions import CODES, RIGS, STAND
from .heading import Heading
from .instructions import leg_words
from .row_words import do_lines, move, number, safe_words, state_words
from .rows import FootRow, PaperRow
from .side_picture import SidePictures

_PLACE = "/*DATA*/"


def set_screen(rows: Sequence[PaperRow], pictures: SidePictures, heading: Heading, minutes_a_pose: float) -> bytes:
    """The HTML file: everything is inside."""
    page = files("striderule.paper").joinpath("set_screen.html").read_text(encoding="utf-8")
    data = json.dumps(_content(rows, pictures, heading, minutes_a_pose), ensure_ascii=False, separators=(",", ":"))
    # inside a script element only these could end it or begin another
    safe = data.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    before, after = page.split(_PLACE)
    return (before + safe + after).encode("utf-8", "backslashreplace")


def _content(
    rows: Sequence[PaperRow], pictures: SidePictures, heading: Heading, minutes_a_pose: float
) -> dict[str, Any]:
    width, height = pictures.size_mm
    left, top = float(pictures.low[0]) - 4.0, -float(pictures.high[1]) - 4.0
    return {
        "file": heading.file,
        "identity": heading.identity,
        "origin": heading.origin,
        "shot": f"{heading.shot} - {heading.puppet}",
        "caution": f"{STAND} {RIGS} {CODES}",
        "minutes": minutes_a_pose,
        "box": [round(left, 1), round(top, 1), round(width + 8.0, 1), round(height + 8.0, 1)],
        "parts": [("near" if part.near else "far") if part.name else "trunk" for part in pictures.parts],
        "poses": [_pose(row, pictures) for row in rows],
    }


def _pose(row: PaperRow, pictures: SidePictures) -> dict[str, Any]:
    k = row.pose - 1
    return {
        "pose": row.pose,
        "frame": row.first_frame,
        "codes": list(row.timecodes),
        "key": row.key,
        "place": [number(value) for value in row.place_mm],
        "move": [move(value) for value in row.move_mm] if row.move_mm else None,
        "feet": [_foot(foot) for foot in row.feet],
        "do": do_lines(row),
        "safe": safe_words(row),
        "focus": None if row.focus_mm is None else number(row.focus_mm),
        "floor": round(-float(pictures.floor_mm[k]), 1),
        "shape": [[_ring(piece[k]) for piece in part.pieces] for part in pictures.parts],
    }


def _foot(foot: FootRow) -> list[str]:
    name = f"{leg_words(foot.leg)}: {state_words(foot)}"
    if foot.free is None:
        return [name, "", "", "", "", ""]
    free = foot.free
    heights = [number(value) for value in (free.knee_mm, free.ankle_mm, free.heel_mm, free.toe_mm)]
    return [name, *heights, "" if free.ahead_mm is None else move(free.ahead_mm)]


def _ring(corners: npt.NDArray[np.float64]) -> list[float]:
    """x and y in turn, y down, to a tenth of a mm; corners that fall together are told once."""
    tenths = np.rint(corners * (10.0, -10.0)).astype(np.int64)
    kept = tenths[(tenths != np.roll(tenths, 1, axis=0)).any(axis=1)]
    return [round(value / 10, 1) for value in (kept if len(kept) else tenths[:1]).ravel().tolist()]
