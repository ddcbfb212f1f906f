"""The exposure sheet: the table a shot is shot from. A block a pose, a line and a box to tick a frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..draw.drawing import Ink
from ..solve.plan import Plan
from .cautions import CODES, RIGS, STAND
from .heading import Heading
from .lettering import broken, cut_to
from .page import BLACK, DARK, FINE, FOOT_MM, MARGIN_MM, PALE, PLAIN, Mark, Page, Paper, Words, box, filled, line
from .row_words import do_lines, foot_words, move, number, safe_words, totals
from .rows import FootRow, PaperRow
from .side_picture import SidePictures

_SIZE, _SMALL = 7.5, 6.5
_LINE = 3.5
_PAD = 1.2
_REPEAT_MM = 4.4
_KEY_MM = 15.0
_HEAD_MM = 11.0
_STEP = Ink(BLACK, 0.5)

_WIDTHS = {
    "tick": 6.0, "frame": 20.0, "pose": 19.0, "picture": 18.0, "along": 13.0, "across": 13.0, "up": 13.0,
    "foot": 36.0, "knee": 9.5, "ankle": 9.5, "heel": 9.5, "toe": 9.5, "ahead": 12.0, "do": 48.0, "safe": 11.0,
}  # fmt: skip
_HEADS = {
    "tick": ("",), "frame": ("frame", "timecode"), "pose": ("pose", "key"), "picture": ("side",),
    "along": ("along", "(move)"), "across": ("across", "(move)"), "up": ("up", "(move)"),
    "foot": ("foot", "as it stands"), "knee": ("knee", "up"), "ankle": ("ankle", "up"), "heel": ("heel", "up"),
    "toe": ("toe", "up"), "ahead": ("toe tip", "ahead"), "do": ("do now, in this order",), "safe": ("safe", "to leave"),
    "focus": ("focus",), "notes": ("notes",),
}  # fmt: skip


@dataclass(frozen=True)
class _Columns:
    """Left edges and widths of the columns, by name."""

    left: dict[str, float]
    width: dict[str, float]
    right: float

    @staticmethod
    def of(page_width: float, focus: bool) -> _Columns:
        widths = _WIDTHS | ({"focus": 11.0} if focus else {})
        right = page_width - MARGIN_MM
        widths["notes"] = right - MARGIN_MM - sum(widths.values())
        left: dict[str, float] = {}
        x = MARGIN_MM
        for name, width in widths.items():
            left[name] = x
            x += width
        return _Columns(left, widths, right)


def exposure_pages(
    plan: Plan, rows: Sequence[PaperRow], pictures: SidePictures, heading: Heading, paper: Paper, minutes_a_pose: float
) -> list[Page]:
    """Lying pages; the first has the totals."""
    height, width = paper.size_mm
    columns = _Columns.of(width, rows[0].focus_mm is not None)
    bottom = height - MARGIN_MM - FOOT_MM
    marks, y = _first_head(plan, rows, heading, columns, minutes_a_pose)
    pages: list[Page] = []
    y = _heads(marks, columns, y)
    for before, row in zip((None, *rows), rows, strict=False):
        need = _row_mm(row, columns)
        # a pose whose frames would not fit even on an empty page goes on over the page's end
        if y + need + _REPEAT_MM * min(row.frames - 1, 6) > bottom:
            pages.append(paper.lying(marks))
            marks = list[Mark]()
            y = _heads(marks, columns, MARGIN_MM + 2.0)
        _pose(marks, row, pictures, columns, y, need, before)
        y += need
        for k in range(1, row.frames):
            if y + _REPEAT_MM > bottom:
                pages.append(paper.lying(marks))
                marks = list[Mark]()
                y = _heads(marks, columns, MARGIN_MM + 2.0)
            _repeat(marks, row, k, columns, y)
            y += _REPEAT_MM
        marks.append(line(MARGIN_MM, y, columns.right, y, FINE))
    pages.append(paper.lying(marks))
    return pages


def _first_head(
    plan: Plan, rows: Sequence[PaperRow], heading: Heading, columns: _Columns, minutes_a_pose: float
) -> tuple[list[Mark], float]:
    room = columns.right - MARGIN_MM
    y = MARGIN_MM + 5.0
    marks: list[Mark] = [Words(cut_to(heading.shot, 0.6 * room, 14, True), MARGIN_MM, y, 14, bold=True)]
    puppet = cut_to(f"puppet: {heading.puppet}", 0.38 * room, 9)
    marks.append(Words(puppet, columns.right, y, 9, side="right"))
    y += 5.0
    marks.append(Words(cut_to(totals(plan, rows, minutes_a_pose), room, 9), MARGIN_MM, y, 9))
    name = plan.shot.puppet.body.reference_name
    legend = (
        f"Reference point: {name}, mm from the datum (along, across: left +, up); below it the move since the last "
        "pose, the difference of the printed places. Heights: mm over the floor, of feet that do not lie flat. Toe tip "
        "ahead: of the standing foot's toe mark, behind -. Side: near leg grey, far leg white."
    )
    for text in (legend, f"{STAND} {RIGS} {CODES}"):
        for words in broken(text, room, _SMALL):
            y += 3.0
            marks.append(Words(words, MARGIN_MM, y, _SMALL))
    return marks, y + 2.0


def _heads(marks: list[Mark], columns: _Columns, y: float) -> float:
    """The columns' titles; where the rows begin."""
    marks.append(filled(MARGIN_MM, y, columns.right - MARGIN_MM, _HEAD_MM - 1.5, PALE))
    for name, left in columns.left.items():
        for k, text in enumerate(_HEADS[name]):
            marks.append(Words(text, left + 0.8, y + 3.8 + k * 3.3, _SMALL, bold=k == 0))
    y += _HEAD_MM - 1.5
    marks.append(line(MARGIN_MM, y, columns.right, y, PLAIN))
    return y


def _do(row: PaperRow, columns: _Columns) -> list[str]:
    room = columns.width["do"] - 2 * _PAD
    return [part for one in do_lines(row) for part in broken(f"- {one}", room, _SIZE)]


def _row_mm(row: PaperRow, columns: _Columns) -> float:
    lines = max(2, len(row.feet), len(_do(row, columns)))
    return max(lines * _LINE + 2 * _PAD, _KEY_MM if row.is_key else 0.0)


def _pose(
    marks: list[Mark], row: PaperRow, pictures: SidePictures, columns: _Columns, y: float, height: float,
    before: PaperRow | None,
) -> None:  # fmt: skip
    left = columns.left
    new_step = before is not None and before.step != row.step
    marks.append(line(MARGIN_MM, y, columns.right, y, _STEP if new_step else PLAIN))
    base = y + _PAD + 3.0
    _frame(marks, row, 0, columns, y)
    marks.append(Words(str(row.pose), left["pose"] + 0.8, base + 0.3, 11, bold=True))
    key = cut_to(row.key, columns.width["pose"] - 1.2, _SIZE, row.is_key)
    marks.append(Words(key, left["pose"] + 0.8, base + _LINE + 0.3, _SIZE, bold=row.is_key))
    if row.is_key:
        marks += _picture(row, pictures, left["picture"], y, columns.width["picture"], height)
    for k, name in enumerate(("along", "across", "up")):
        right = left[name] + columns.width[name] - 1.5
        marks.append(Words(number(row.place_mm[k]), right, base, 8.5, bold=True, side="right"))
        if row.move_mm:
            marks.append(Words(f"({move(row.move_mm[k])})", right, base + _LINE, _SIZE, side="right"))
    for k, foot in enumerate(row.feet):
        marks += _foot(foot, columns, base + k * _LINE)
    for k, text in enumerate(_do(row, columns)):
        marks.append(Words(text, left["do"] + _PAD, base + k * _LINE, _SIZE, bold="tie" in text.split()[:2]))
    marks.append(Words(safe_words(row), left["safe"] + 0.8, base, _SIZE, bold=row.safe))
    if row.focus_mm is not None:
        marks.append(Words(number(row.focus_mm), left["focus"] + 0.8, base, _SIZE))
    marks.append(line(left["notes"], y, left["notes"], y + height, FINE))


def _foot(foot: FootRow, columns: _Columns, base: float) -> list[Mark]:
    left, width = columns.left, columns.width
    marks: list[Mark] = [Words(cut_to(foot_words(foot), width["foot"] - 1.5, _SIZE), left["foot"] + 0.8, base, _SIZE)]
    if foot.free is None:
        return marks
    free = foot.free
    numbers = {"knee": free.knee_mm, "ankle": free.ankle_mm, "heel": free.heel_mm, "toe": free.toe_mm}
    for name, value in numbers.items():
        marks.append(Words(number(value), left[name] + width[name] - 1.5, base, _SIZE, side="right"))
    if free.ahead_mm is not None:
        marks.append(Words(move(free.ahead_mm), left["ahead"] + width["ahead"] - 1.5, base, _SIZE, side="right"))
    return marks


def _frame(marks: list[Mark], row: PaperRow, k: int, columns: _Columns, y: float) -> None:
    base = y + _PAD + 3.0
    marks.append(box(columns.left["tick"] + 0.8, y + 1.0, 3.6, 3.6, PLAIN))
    marks.append(Words(str(row.first_frame + k), columns.left["frame"] + 0.8, base + 0.3, 11, bold=True))
    marks.append(Words(row.timecodes[k], columns.left["frame"] + 0.8, base + _LINE + 0.3, _SMALL, colour=DARK))


def _repeat(marks: list[Mark], row: PaperRow, k: int, columns: _Columns, y: float) -> None:
    """A further frame of the same pose."""
    left, base = columns.left, y + 3.3
    marks.append(line(MARGIN_MM, y, columns.right, y, FINE))
    marks.append(box(left["tick"] + 0.8, y + 0.6, 3.2, 3.2, PLAIN))
    marks.append(Words(str(row.first_frame + k), left["frame"] + 0.8, base, 9, bold=True))
    marks.append(Words(row.timecodes[k], left["frame"] + 9.5, base, 5.0, colour=DARK))
    marks.append(Words(f"{row.pose}, same pose", left["pose"] + 3.5, base, _SIZE, colour=DARK))
    marks.append(line(left["notes"], y, left["notes"], y + _REPEAT_MM, FINE))


def _picture(row: PaperRow, pictures: SidePictures, x: float, y: float, width: float, height: float) -> list[Mark]:
    wide, tall = pictures.size_mm
    scale = min((width - 1.5) / wide, (height - 1.6) / tall)
    left, floor = x + 0.5 * (width - wide * scale), y + height - 0.9
    return pictures.marks(row.pose - 1, left, floor, scale, outline_mm=0.12)
