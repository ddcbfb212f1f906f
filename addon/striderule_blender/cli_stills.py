"""What `match` and `calibrate` share: boards found in stills, a lens's focal length, and one picture size for all."""

from __future__ import annotations

import argparse
from pathlib import Path

from striderule.camera.match.board import Board, board_on
from striderule.camera.match.exif import StillFacts
from striderule.camera.match.known_points import KnownPoints
from striderule.camera.match.opencv import board_corners
from striderule.draw.stills import Still
from striderule.errors import FileError, OutputError


def chosen_board(chosen: argparse.Namespace, standing: bool = False) -> Board:
    """The board that --board and --printed name. Raises ModelError."""
    return board_on(chosen.board, standing, chosen.printed)


def board_in(still: Still, path: Path, board: Board, fewest: int) -> KnownPoints:
    """The board's corners in a still. Raises FileError where fewer than `fewest` are found."""
    found = board_corners(still.grey, board)
    if found is None or len(found) < fewest:
        given = "none that can be read" if found is None else f"{len(found)} of its corners"
        what = "the second, standing board" if board.standing else "the printed board"
        raise FileError(path, 0, "", f"{what} ({board.paper.name}) in the picture", given,
                        "Is it sharp, evenly lit, not covered, and not mirrored? From lower than 10 degrees come "
                        "nearer or higher, and take the still at full size.")  # fmt: skip
    return found


def sensor_of(chosen: argparse.Namespace, facts: StillFacts) -> tuple[float, float] | None:
    """The sensor as typed, else as the still's EXIF data say."""
    if chosen.sensor is None:
        return facts.sensor_mm
    if facts.size is None:
        return chosen.sensor
    across, up = chosen.sensor
    if (across < up) != (facts.size[0] < facts.size[1]):
        across, up = up, across
    # a still may be cut to another shape from the full width or the full height of the sensor
    scale = min(across / facts.size[0], up / facts.size[1])
    return facts.size[0] * scale, facts.size[1] * scale


def focal_px_of(chosen: argparse.Namespace, facts: StillFacts, size: tuple[int, int]) -> float | None:
    """Focal length in pixels: --focal-px, --lens-mm with a sensor, or what the still says; None where none does."""
    if chosen.focal_px is not None:
        return chosen.focal_px
    sensor = sensor_of(chosen, facts)
    lens = chosen.lens_mm if chosen.lens_mm is not None else facts.lens_mm
    return None if lens is None or sensor is None else lens * size[0] / sensor[0]


def refuse_taken(path: Path, text: str, replace: bool) -> None:
    """Raises OutputError where another file is in the way."""
    if path.is_dir() or (path.exists() and not replace and path.read_bytes() != text.encode("utf-8")):
        raise OutputError(f"{path}: is there already. Name another file, or replace what is there (--replace).")
