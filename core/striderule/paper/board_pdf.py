"""The board as a PDF to print at true scale, with a control ruler in both directions and its datum corner marked."""

from __future__ import annotations

import datetime
from typing import Any

from ..camera.match.board import COLUMNS, MARKER_SHARE, ROWS, Board, marker_cells
from .libraries import pdf_document

EDGE_MM = 6.0
"""What most printers leave white along every edge of a sheet."""

_RULER_MM = 7.0  # from the board's edge to a ruler's line
_SMALL_PT, _LINE_MM = 7.0, 3.2
_FIXED_DATE = datetime.datetime(2020, 2, 2, tzinfo=datetime.UTC)


def board_pdf(board: Board) -> bytes:
    """One page of the board's paper, its long side across. The same board gives the same bytes."""
    sheet = board.paper
    page = _page(sheet.width_mm, sheet.height_mm)
    left, top = corner_mm(board)
    page.set_fill_color(0)
    square = sheet.square_mm
    for row in range(ROWS):
        for column in range(COLUMNS):
            if (column + row) % 2 == 0:
                page.rect(left + column * square, top + row * square, square, square, "F")
    side = MARKER_SHARE * square
    for column, row, marker in board.markers:
        inset = (square - side) / 2
        _marker(page, left + column * square + inset, top + row * square + inset, side, marker)
    _rulers(page, board, left, top)
    _words(page, board, left, top)
    return bytes(page.output())


def corner_mm(board: Board) -> tuple[float, float]:
    """The board's upper left corner on its sheet, from the sheet's: in the middle of what the rulers leave."""
    sheet = board.paper
    width, height = board.size_mm
    room = _RULER_MM + 8.0
    left = max((sheet.width_mm - width) / 2, EDGE_MM + room)
    below = max((sheet.height_mm - height) / 2, EDGE_MM + room)
    return left, sheet.height_mm - below - height


def _page(width_mm: float, height_mm: float) -> Any:
    """An empty page."""
    document: Any = pdf_document()
    document.set_creation_date(_FIXED_DATE)
    document.set_producer("Striderule")
    document.set_title("Striderule board")
    document.set_auto_page_break(False)
    document.add_page(orientation="P", format=(width_mm, height_mm))
    document.set_line_width(0.2)
    return document


def _marker(page: Any, x: float, y: float, side: float, marker: int) -> None:
    """A black square, and its white cells over it, those beside each other in one piece so that no seam shows."""
    page.set_fill_color(0)
    page.rect(x, y, side, side, "F")
    page.set_fill_color(255)
    cells = marker_cells(marker)
    cell = side / len(cells)
    for row, line in enumerate(cells.tolist()):
        column = 0
        while column < len(line):
            run = 0
            while column + run < len(line) and line[column + run]:
                run += 1
            if run:
                below = row + 1 < len(line) and any(cells[row + 1, column : column + run])
                lap = 0.02 * cell if below else 0.0
                page.rect(x + column * cell, y + row * cell, run * cell, cell + lap, "F")
            column += max(run, 1)
    page.set_fill_color(0)


def _rulers(page: Any, board: Board, left: float, top: float) -> None:
    """Control rulers: one under the board along its long side, one beside it, both from the datum corner."""
    width_mm, height_mm = board.paper.rulers_mm
    bottom = top + board.size_mm[1]
    line = bottom + _RULER_MM
    page.set_font("Helvetica", size=_SMALL_PT)
    page.line(left, line, left + width_mm, line)
    for mm in range(0, round(width_mm) + 1, 10):
        tall = 4.0 if mm % 50 == 0 else 2.0
        page.line(left + mm, line, left + mm, line + tall)
        if mm % 50 == 0:
            page.text(left + mm - page.get_string_width(str(mm)) / 2, line + tall + 2.6, str(mm))
    side = left - _RULER_MM
    page.line(side, bottom, side, bottom - height_mm)
    for mm in range(0, round(height_mm) + 1, 10):
        tall = 4.0 if mm % 50 == 0 else 2.0
        page.line(side, bottom - mm, side - tall, bottom - mm)
        if mm % 50 == 0:
            page.text(side - tall - 0.8 - page.get_string_width(str(mm)), bottom - mm + 0.9, str(mm))


def _words(page: Any, board: Board, left: float, top: float) -> None:
    bottom = top + board.size_mm[1]
    long_mm, short_mm = board.paper.rulers_mm
    arms = 5.0
    page.set_line_width(0.3)
    page.line(left - arms, bottom, left - 0.8, bottom)
    page.line(left, bottom + 0.8, left, bottom + arms)
    page.set_line_width(0.2)
    name = f"Striderule board, {board.paper.name.upper()}, {'second sheet (stands)' if board.standing else 'floor'}"
    rulers = f"{long_mm:g} and {short_mm:g} mm as drawn"
    told = [f"{name}. Print at 100 %, not fitted to the page."]
    told.append(f"Measure both rulers from end to end: {rulers}. Keep the sheet flat.")
    if board.standing:
        told.append("Stand it upright anywhere in the picture; its place need not be measured.")
    else:
        told.append("Lower left corner of the squares on the datum, the long side along the walk.")
    page.set_font("Helvetica", size=_SMALL_PT)
    y = top - 2.4 - _LINE_MM * (len(told) - 1)
    for k, one in enumerate(told):
        page.text(left, y + _LINE_MM * k, one)
