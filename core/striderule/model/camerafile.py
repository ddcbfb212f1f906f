"""Lens files and camera files: TOML with the field names of `model.matched`. Every refusal is a FileError."""

from __future__ import annotations

from pathlib import Path

from .camera_reading import read_values
from .matched import Lens, MatchedCamera
from .shotfile import opened
from .toml_reading import read_text
from .toml_writing import dump_table


def load_lens(path: Path | str) -> Lens:
    """A lens file. Raises FileError."""
    return parse_lens(read_text(Path(path), "lens"), path)


def load_camera(path: Path | str) -> MatchedCamera:
    """A camera file. Raises FileError."""
    return parse_camera(read_text(Path(path), "camera"), path)


def parse_lens(text: str, file: Path | str) -> Lens:
    """A lens out of its TOML text. file: its name for messages. Raises FileError."""
    doc = opened(text, file, "lens")
    return read_values(doc, doc.data, (), Lens)


def parse_camera(text: str, file: Path | str) -> MatchedCamera:
    """A camera out of its TOML text. file: its name for messages. Raises FileError."""
    doc = opened(text, file, "camera")
    return read_values(doc, doc.data, (), MatchedCamera)


def dump_lens(lens: Lens) -> str:
    """A lens as one TOML text. `parse_lens` of it gives an equal Lens."""
    return dump_table("lens", lens)


def dump_camera(camera: MatchedCamera) -> str:
    """A camera as one TOML text. `parse_camera` of it gives an equal MatchedCamera."""
    return dump_table("camera", camera)
