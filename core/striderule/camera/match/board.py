"""The printed board: a chessboard with a marker in every white square, so that each of its inner corners has a number.

Its corners are known to 0.1 mm without a ruler. One lies flat on the floor with its datum corner on the stage's datum;
a second sheet, with other markers, may stand or lean anywhere in the still.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...errors import ModelError
from ...model.fields import Triple
from .markers import CELLS, MARKERS

Floats = npt.NDArray[np.float64]

COLUMNS, ROWS = 11, 7
MARKER_SHARE = 0.75
"""Side of a marker, as a share of its square's."""

STANDING_FROM = 50
"""Number of the standing sheet's first marker; the floor's begin at 0."""

CORNER_PX = 0.08
"""How far a corner is off that was found in a still, one standard deviation."""


@dataclass(frozen=True)
class Paper:
    """A sheet, its long side across: mm. square_mm: of the board that fits on it. rulers_mm: lengths of its control
    rulers, along the long side and the short one."""

    name: str
    width_mm: float
    height_mm: float
    square_mm: float
    rulers_mm: tuple[float, float]


PAPERS = {
    paper.name: paper
    for paper in (
        Paper("a4", 297.0, 210.0, 24.0, (200.0, 150.0)),
        Paper("a3", 420.0, 297.0, 35.0, (200.0, 200.0)),
        Paper("letter", 279.4, 215.9, 22.0, (200.0, 150.0)),
    )
}
"""ISO 216, and the North American letter of 8.5 x 11 inches."""


@dataclass(frozen=True)
class Board:
    """A board as it lies there: paper, markers, and how large it was really printed (1 = as it should)."""

    paper: Paper
    standing: bool = False
    scale: tuple[float, float] = (1.0, 1.0)

    @property
    def first_marker(self) -> int:
        return STANDING_FROM if self.standing else 0

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the squares together, as they should be printed."""
        return COLUMNS * self.paper.square_mm, ROWS * self.paper.square_mm

    @property
    def corners_mm(self) -> Floats:
        """(60, 2) inner corners from the datum corner (lower left): along the sheet's long side, and up. Corners count
        from the upper left, row by row."""
        column, row = np.meshgrid(np.arange(1.0, COLUMNS), np.arange(1.0, ROWS))
        squares: Floats = np.stack([column, ROWS - row], axis=-1).reshape(-1, 2)
        return squares * (self.paper.square_mm * self.scale[0], self.paper.square_mm * self.scale[1])

    @property
    def markers(self) -> list[tuple[int, int, int]]:
        """(column, row from the top, marker) of every square that holds one."""
        white = [(c, r) for r in range(ROWS) for c in range(COLUMNS) if (c + r) % 2 == 1]
        return [(c, r, self.first_marker + k) for k, (c, r) in enumerate(white)]


def board_on(paper: str, standing: bool = False, printed_mm: tuple[float, float] | None = None) -> Board:
    """The board on a paper of PAPERS. printed_mm: lengths that its control rulers have on the print. Raises
    ModelError: no such paper; rulers more than 5 % off."""
    if paper not in PAPERS:
        raise ModelError("board", "one of " + ", ".join(PAPERS), repr(paper))
    sheet = PAPERS[paper]
    if printed_mm is None:
        return Board(sheet, standing)
    scale = printed_mm[0] / sheet.rulers_mm[0], printed_mm[1] / sheet.rulers_mm[1]
    if not all(0.95 < one < 1.05 for one in scale):
        should = " x ".join(f"{one:g}" for one in sheet.rulers_mm)
        raise ModelError("printed", f"the control rulers' lengths, about {should} mm on {paper} paper",
                         " x ".join(f"{one:g}" for one in printed_mm),
                         "Measure each ruler from end to end; the longer side of the sheet comes first. Print without "
                         "fitting to the page.")  # fmt: skip
    return Board(sheet, standing, scale)


def on_the_floor(places_mm: Floats, at_mm: Triple = (0.0, 0.0, 0.0), turn_deg: float = 0.0) -> Floats:
    """Stage places (n, 3) of a sheet's places (n, 2 or 3): datum corner at `at_mm`, long side along X, turned to the
    left."""
    turn = math.radians(turn_deg)
    along, up = places_mm.T[:2]
    x, y = along * math.cos(turn) - up * math.sin(turn), along * math.sin(turn) + up * math.cos(turn)
    return np.stack([x + at_mm[0], y + at_mm[1], np.full(len(places_mm), at_mm[2])], axis=1)


def marker_cells(marker: int) -> npt.NDArray[np.bool_]:
    """(CELLS + 2, CELLS + 2) of a marker with its black border, from the upper left; True = white."""
    bits = [(MARKERS[marker] >> k) & 1 for k in reversed(range(CELLS * CELLS))]
    cells = np.zeros((CELLS + 2, CELLS + 2), bool)
    cells[1:-1, 1:-1] = np.array(bits, bool).reshape(CELLS, CELLS)
    return cells
