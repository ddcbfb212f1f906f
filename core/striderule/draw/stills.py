"""A still that a camera took: its pixels. A plain PNG is read here, everything else by OpenCV where that is there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..camera.match.exif import StillFacts, still_facts
from ..camera.match.opencv import picture_of
from ..errors import FileError, MissingExtraError, ModelError
from .png import decode

Bytes = npt.NDArray[np.uint8]

LARGEST_BYTES = 400_000_000


@dataclass(frozen=True, eq=False)
class Still:
    """pixels (height, width, 3) RGB, upright; facts: what its file says."""

    pixels: Bytes
    facts: StillFacts

    @property
    def size(self) -> tuple[int, int]:
        """Width, height."""
        return int(self.pixels.shape[1]), int(self.pixels.shape[0])

    @property
    def grey(self) -> Bytes:
        """(height, width), weighted as ITU-R BT.601 does."""
        return np.round(self.pixels @ np.array([0.299, 0.587, 0.114])).astype(np.uint8)


def still_bytes(path: Path) -> bytes:
    """The bytes of a still's file. Raises FileError."""
    try:
        if path.is_dir():
            raise FileError(path, 0, "", "a still (PNG, JPEG or TIFF)", "a folder", "Name the picture in it.")
        data = path.read_bytes() if path.stat().st_size <= LARGEST_BYTES else b""
    except OSError as error:
        reason = "a name that does not exist" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise FileError(path, 0, "", "a still (PNG, JPEG or TIFF)", reason, "Check folder and spelling.") from error
    if not data:
        raise FileError(path, 0, "", f"a still of at most {LARGEST_BYTES // 1_000_000} MB", "an empty or larger file")
    return data


def read_still(path: Path) -> Still:
    """A still. Raises FileError where it is no picture, MissingExtraError where OpenCV is needed to read it."""
    data = still_bytes(path)
    facts = still_facts(data)
    try:
        return Still(np.ascontiguousarray(decode(data)[..., :3]), facts)
    except ModelError as plain:
        try:
            pixels = picture_of(data)
        except MissingExtraError:
            if data[:4] != b"\x89PNG":
                raise
            raise FileError(path, 0, "", plain.expected, plain.given, plain.cure) from None
    if pixels is None:
        raise FileError(path, 0, "", "a still (PNG, JPEG or TIFF)", "something else, or a damaged file")
    return Still(pixels, facts)
