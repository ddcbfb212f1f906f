"""`striderule board`: the printed board, as a PDF at true scale."""

from __future__ import annotations

import argparse

from striderule.camera.match.board import board_on
from striderule.errors import ModelError, OutputError
from striderule.export.files import make_folder, write_bytes
from striderule.paper.board_pdf import board_pdf

from .cli_console import Console


def board(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0. Raises StrideruleError."""
    made = board_on(chosen.paper, chosen.standing)
    if chosen.out.suffix.lower() != ".pdf":
        raise ModelError("--out", "a file's name ending with .pdf", repr(chosen.out.name))
    data = board_pdf(made)
    if not chosen.replace and (chosen.out.is_dir() or (chosen.out.exists() and chosen.out.read_bytes() != data)):
        raise OutputError(f"{chosen.out}: is there already. Name another file, or replace what is there (--replace).")
    make_folder(chosen.out.parent)
    write_bytes(chosen.out, data)
    long_mm, short_mm = made.paper.rulers_mm
    console.finding(
        f"Print it at 100 %, then measure both rulers; if they are not {long_mm:g} and {short_mm:g} mm, say so with "
        "--printed LONGxSHORT to `match` and `calibrate`."
    )
    where = "stands anywhere in the picture" if made.standing else "lies on the floor"
    console.result(f"{chosen.out}: board on {made.paper.name.upper()}, squares of {made.paper.square_mm:g} mm; {where}")
    return 0
