"""Room for words on a sheet: a place near what they name that nothing else has taken."""

from __future__ import annotations

from collections.abc import Iterable

from .lettering import width_mm
from .page import POINTS_PER_MM, Words

Box = tuple[float, float, float, float]


class Room:
    """Boxes (left, top, right, bottom) that are taken, in cells of a grid so that many of them cost little."""

    def __init__(self, cell_mm: float = 12.0) -> None:
        self._cell = cell_mm
        self._cells: dict[tuple[int, int], list[Box]] = {}

    def take(self, box: Box) -> None:
        """Let no words lie here."""
        for cell in self._of(box):
            self._cells.setdefault(cell, []).append(box)

    def free(self, box: Box) -> bool:
        return not any(
            box[0] < other[2] and box[2] > other[0] and box[1] < other[3] and box[3] > other[1]
            for cell in self._of(box)
            for other in self._cells.get(cell, ())
        )

    def words(self, text: str, places: Iterable[tuple[float, float]], size: float, bold: bool = False) -> Words | None:
        """The text centred at the first of the places (middle of its line) where it has room; None: nowhere."""
        half, tall = 0.5 * width_mm(text, size, bold), size / POINTS_PER_MM
        for x, y in places:
            box = (x - half - 0.3, y - 0.5 * tall, x + half + 0.3, y + 0.5 * tall)
            if self.free(box):
                self.take(box)
                return Words(text, x, y + 0.36 * tall, size, bold, "middle")
        return None

    def _of(self, box: Box) -> list[tuple[int, int]]:
        c = self._cell
        return [
            (i, j)
            for i in range(int(box[0] // c), int(box[2] // c) + 1)
            for j in range(int(box[1] // c), int(box[3] // c) + 1)
        ]
