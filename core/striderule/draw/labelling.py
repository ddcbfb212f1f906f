"""Words in a picture: one block in the same corner of every picture, and notes beside what they explain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..model.view import View
from ..solve.plan import Plan
from .drawing import Item, Label, Line
from .font import ascent, descent, text_width
from .palette import Palette

Floats = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

TITLE_SIZE = 28.0
TEXT_SIZE = 24.0
"""Sizes of the block's first line and of the others, and of notes, in pixels of a picture 1080 high."""
NOTE_SIZE = 22.0

_EDGE = 30.0  # from the frame's edge to the block
_LEADING = 1.38


def key_words(keys: Sequence[str]) -> list[str]:
    """Names of all poses for people: keys as they are, in-betweens numbered within their run ("in-between 1 of 2")."""
    words = list(keys)
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and keys[end] == "in-between":
            end += 1
        for k in range(at, end):
            words[k] = f"in-between {k - at + 1} of {end - at}" if end - at > 1 else "in-between"
        at = max(end, at + 1)
    return words


def block_lines(plan: Plan) -> list[tuple[str, ...]]:
    """The block's words in every pose: frame and pose, key and step, mm along and up since pose 1 (since the last);
    where the puppet walks on the spot how far the floor has moved back as well. Places are rounded, moves are their
    differences, so that roundings never add up."""
    moved: Floats = (plan.reference_mm - plan.reference_mm[0]).round(1)
    step: Floats = np.diff(moved, axis=0, prepend=moved[:1])
    floor: Floats = (-plan.floor_shift_mm[:, 0]).round(1)
    floor_step: Floats = np.diff(floor, prepend=floor[:1])
    words = key_words(plan.keys)
    lines: list[tuple[str, ...]] = []
    for k in range(plan.poses):
        first, last = int(plan.first_frame[k]), int(plan.last_frame[k])
        frames = f"frame {first}" if first == last else f"frames {first}-{last}"
        lines.append(
            (
                f"{frames} · pose {k + 1}",
                f"{words[k]} · step {int(plan.step[k])}",
                f"along {_signed(moved[k, 0], False)} mm ({_signed(step[k, 0])})",
                f"up {_signed(moved[k, 2])} mm ({_signed(step[k, 2])})",
                *(
                    (f"floor back {_signed(floor[k], False)} mm ({_signed(floor_step[k])})",)
                    if plan.shot.walk.on_the_spot
                    else ()
                ),
            )
        )
    return lines


def _signed(value: float, plus: bool = True) -> str:
    """One decimal, a sign, never -0.0."""
    rounded = round(float(value), 1) + 0.0
    return f"{rounded:+.1f}" if plus and rounded else f"{rounded:.1f}"


class LabelBlock:
    """The block of words in the emptiest corner of a view."""

    def __init__(self, plan: Plan, view: View, palette: Palette, puppet_boxes: Floats) -> None:
        """puppet_boxes: (poses, 4) left, top, right, bottom of the puppet in pixels; NaN where it is not seen."""
        self._palette = palette
        self._lines = block_lines(plan)
        s = palette.scale
        widest = max(max(text_width(one, size) for one in column) for column, size in self._columns(s))
        shrink = min(1.0, 0.8 * view.width / widest)
        self._scale = s * shrink
        self.width = widest * shrink
        sizes = [size for _, size in self._columns(self._scale)]
        self._rises = np.cumsum([ascent(sizes[0]), *(size * _LEADING for size in sizes[1:])])
        self.height = float(self._rises[-1] + descent(sizes[-1]))
        self.box = self._corner(view, puppet_boxes, min(_EDGE * s, 0.1 * min(view.width, view.height)))

    def _columns(self, scale: float) -> list[tuple[tuple[str, ...], float]]:
        """(all texts of a line over the shot, its size)."""
        columns = list(zip(*self._lines, strict=True))
        return [(column, (TITLE_SIZE if k == 0 else TEXT_SIZE) * scale) for k, column in enumerate(columns)]

    def _corner(self, view: View, boxes: Floats, edge: float) -> Box:
        """Box of the corner that the puppet covers least over all poses; of equals the first, from the top left on."""
        right, bottom = view.width - 1 - edge - self.width, view.height - 1 - edge - self.height
        best: tuple[float, Box] | None = None
        for x, y in ((edge, edge), (right, edge), (edge, bottom), (right, bottom)):
            box = (x, y, x + self.width, y + self.height)
            wide = np.minimum(boxes[:, 2], box[2] + edge / 2) - np.maximum(boxes[:, 0], box[0] - edge / 2)
            high = np.minimum(boxes[:, 3], box[3] + edge / 2) - np.maximum(boxes[:, 1], box[1] - edge / 2)
            covered = float(np.nansum(np.maximum(wide, 0) * np.maximum(high, 0)))
            if best is None or covered < best[0]:
                best = covered, box
        assert best is not None
        return best[1]

    def items(self, pose: int) -> list[Item]:
        """The block's lines in a pose."""
        left, top, _, _ = self.box
        items: list[Item] = []
        for k, text in enumerate(self._lines[pose]):
            size = (TITLE_SIZE if k == 0 else TEXT_SIZE) * self._scale
            items.append(Label(text, left, top + float(self._rises[k]), size, self._palette.text(size)))
        return items


class NotePlacer:
    """Finds room for notes: beside their place, clear of what is taken, of each other and of the frame's edge.

    Tried are 8 directions at 4 distances; beyond the first distance a thin line leads from the note to its place.
    """

    def __init__(self, view: View, palette: Palette, taken: Sequence[Box]) -> None:
        self._view, self._palette = view, palette
        self._taken = list(taken)

    def note(self, text: str, at: Floats) -> list[Item]:
        """The note, or nothing where there is no room."""
        s = self._palette.scale
        size = NOTE_SIZE * s
        width, rise, fall = text_width(text, size), ascent(size), descent(size)
        pad = 5.0 * s
        for far, reach in enumerate((18.0, 45.0, 80.0, 130.0)):
            for turn in np.radians((0, 180, 45, 135, 315, 225, 90, 270)):
                way = np.array([np.cos(turn), np.sin(turn)])
                corner = at + way * reach * s
                x = corner[0] - (width if way[0] < -0.1 else width / 2 if abs(way[0]) <= 0.1 else 0.0)
                y = corner[1] + (rise if way[1] > 0.1 else -fall if way[1] < -0.1 else (rise - fall) / 2)
                box = (x - pad, y - rise - pad, x + width + pad, y + fall + pad)
                if not self._free(box):
                    continue
                self._taken.append(box)
                items: list[Item] = [Label(text, float(x), float(y), size, self._palette.text(size))]
                if far:
                    ink = replace(self._palette.floor_line, alpha=0.8)
                    items.insert(0, Line(np.stack([at + way * 6 * s, at + way * (reach - 6) * s]), ink))
                return items
        return []

    def _free(self, box: Box) -> bool:
        left, top, right, bottom = box
        if left < 0 or top < 0 or right > self._view.width - 1 or bottom > self._view.height - 1:
            return False
        return not any(left < b[2] and right > b[0] and top < b[3] and bottom > b[1] for b in self._taken)
