"""The one place where OpenCV is used: to find a printed board in a still, and to read stills that are no plain PNG.

It is an optional library (the extra `board`) and is imported when it is needed.
"""

from __future__ import annotations

import importlib
from typing import Any

import numpy as np
import numpy.typing as npt

from ...errors import MissingExtraError
from .board import COLUMNS, CORNER_PX, MARKER_SHARE, ROWS, Board
from .known_points import KnownPoints

Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float64]
Corners = tuple[Floats, npt.NDArray[np.int64]]

OLDEST = (4, 14)
"""Older ones return the corners of such boards half a pixel off."""

_FIRST_STRETCHES = (1, 2, 4, 6)
"""How far the picture is stretched in height to find the board at all: at low angles its markers are too flat."""

_MOST_STRETCH = 8
_SOME = 6  # corners that a shape can be told from
_MOST_PIXELS = 150_000_000


def board_corners(grey: Bytes, board: Board) -> KnownPoints | None:
    """The corners of a board that a still (height, width) shows, on the board's own plane (z = 0, datum corner at the
    origin); None where no marker of it is found.

    Corners are found to .1 px where a square is about as high as it is wide in the picture, and up to 5 px beside their
    places where it is flat: so once the board is seen, the picture is stretched to that shape and searched again.
    Raises MissingExtraError.
    """
    cv2 = _opencv("Finding a printed board")
    detector = _detector(cv2, board)
    best: Corners | None = None
    for stretch in _FIRST_STRETCHES:
        best = _found(cv2, detector, grey, (1, stretch))
        if best is not None and len(best[1]) >= _SOME:
            break
    if best is None:
        return None
    shape = _shape(board.corners_mm[best[1]], best[0])
    if shape != (1, 1):
        again = _found(cv2, detector, grey, shape)
        if again is not None and len(again[1]) >= 0.8 * len(best[1]):
            best = again
    pixels, ids = best
    flat = np.concatenate([board.corners_mm[ids], np.zeros((len(ids), 1))], axis=1)
    names = tuple(f"corner {number + 1}" for number in ids.tolist())
    return KnownPoints(names, flat, pixels, np.full(len(ids), CORNER_PX), np.zeros(len(ids), bool))


def _detector(cv2: Any, board: Board) -> Any:
    made = cv2.aruco.CharucoBoard(
        (COLUMNS, ROWS),
        board.paper.square_mm,
        MARKER_SHARE * board.paper.square_mm,
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100),
        np.array([marker for _, _, marker in board.markers], np.int32),
    )
    settings = cv2.aruco.CharucoParameters()
    settings.tryRefineMarkers = True
    return cv2.aruco.CharucoDetector(made, settings)


def _found(cv2: Any, detector: Any, grey: Bytes, stretch: tuple[int, int]) -> Corners | None:
    """Pixels (n, 2) of the still and numbers (n,) of corners found in it, stretched so many times across and up."""
    height, width = grey.shape
    across, up = stretch
    if grey.size * across * up > _MOST_PIXELS:
        return None
    looked = grey
    if stretch != (1, 1):
        looked = cv2.resize(grey, (width * across, height * up), interpolation=cv2.INTER_CUBIC)
    corners, ids, _, _ = detector.detectBoard(looked)
    if ids is None or len(ids) == 0:
        return None
    pixels = (np.asarray(corners, float).reshape(-1, 2) + 0.5) / (across, up) - 0.5
    return pixels, np.asarray(ids, np.int64).reshape(-1)


def _shape(places: Floats, pixels: Floats) -> tuple[int, int]:
    """How far to stretch the picture across and up so that a square is about as wide as it is high."""
    if len(places) < _SOME:
        return 1, 1
    arms: Floats = places - places.mean(axis=0)
    seen: Floats = pixels - pixels.mean(axis=0)
    square: Floats = arms.T @ arms
    mixed: Floats = arms.T @ seen
    slopes = np.linalg.solve(square, mixed).astype(np.float64)
    across, up = np.linalg.norm(slopes, axis=0).tolist()
    ratio = float(across) / max(float(up), 1e-9)
    if ratio >= 1:
        return 1, min(max(round(ratio), 1), _MOST_STRETCH)
    return min(round(1 / ratio), _MOST_STRETCH), 1


def picture_of(data: bytes) -> Bytes | None:
    """The pixels (height, width, 3) RGB of a picture file's bytes, upright as its EXIF data say; None where they are no
    picture that OpenCV reads. Raises MissingExtraError."""
    cv2 = _opencv("Reading a still that is no 8-bit RGB PNG")
    found = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    return None if found is None else np.ascontiguousarray(found[:, :, ::-1])


def _opencv(needed_for: str) -> Any:
    try:
        found = importlib.import_module("cv2")
    except ImportError:
        raise MissingExtraError("board", needed_for) from None
    version = str(found.__version__)
    if tuple(int(part) for part in version.split(".")[:2] if part.isdigit()) < OLDEST:
        how = f"OpenCV {version} is too old: update opencv-python-headless to 4.14 or newer"
        raise MissingExtraError("board", needed_for, how)
    return found
