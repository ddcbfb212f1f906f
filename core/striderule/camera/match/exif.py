"""What a still's file says of itself: its size, and in EXIF data the lens's focal length and the camera's sensor.

Sources: CIPA DC-008-2023 (Exif 3.0), TIFF 6.0, ITU-T T.81 (JPEG), W3C PNG third edition (eXIf). Focal length for 35 mm
film is taken by the picture's diagonal, as CIPA DCG-001 does.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

_DIAGONAL_MM = math.hypot(36.0, 24.0)
_UNITS_MM = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 9: 4, 10: 8}
_MOST_ENTRIES = 2000

_WIDTH, _HEIGHT, _TURNED, _EXIF = 0x0100, 0x0101, 0x0112, 0x8769
_FOCAL, _FOCAL_35, _PLANE_X, _PLANE_UNIT, _PLANE_WIDTH = 0x920A, 0xA405, 0xA20E, 0xA210, 0xA002


@dataclass(frozen=True)
class StillFacts:
    """size: width, height in pixels of the upright picture; None where the file is no JPEG, PNG or TIFF. lens_mm: focal
    length; sensor_mm: width, height of what the picture shows on the sensor; None where the file does not say."""

    size: tuple[int, int] | None
    lens_mm: float | None = None
    sensor_mm: tuple[float, float] | None = None

    @property
    def focal_px(self) -> float | None:
        """Focal length in pixels of the still, where lens and sensor are known."""
        if self.size is None or self.lens_mm is None or self.sensor_mm is None:
            return None
        return self.lens_mm * self.size[0] / self.sensor_mm[0]


def still_facts(data: bytes) -> StillFacts:
    """What a picture file's bytes say; a damaged file says less, it is never refused here."""
    try:
        if data[:2] == b"\xff\xd8":
            size, tags = _jpeg(data)
        elif data[:8] == b"\x89PNG\r\n\x1a\n":
            size, tags = _png(data)
        elif data[:4] in (b"II*\0", b"MM\0*"):
            tags = _tags(data)
            size = _whole(tags, _WIDTH), _whole(tags, _HEIGHT)
        else:
            return StillFacts(None)
    except (struct.error, ValueError, IndexError):
        return StillFacts(None)
    if not size or not size[0] or not size[1]:
        return StillFacts(None)
    width, height = size
    if _whole(tags, _TURNED) >= 5:  # stored on its side
        width, height = height, width
    lens = _positive(tags.get(_FOCAL))
    return StillFacts((width, height), lens, _sensor(tags, lens, size, (width, height)))


def _sensor(
    tags: dict[int, Any], lens: float | None, stored: tuple[int, int], upright: tuple[int, int]
) -> tuple[float, float] | None:
    across = None
    density, unit = _positive(tags.get(_PLANE_X)), _UNITS_MM.get(_whole(tags, _PLANE_UNIT) or 2)
    if density and unit:
        across = max(_whole(tags, _PLANE_WIDTH), stored[0]) / density * unit
    full = _positive(tags.get(_FOCAL_35))
    if not (across and 1.0 < across < 200.0) and full and lens:
        across = _DIAGONAL_MM * lens / full * stored[0] / math.hypot(*stored)
    if not (across and 1.0 < across < 200.0):
        return None
    if upright != stored:
        across *= stored[1] / stored[0]
    return across, across * upright[1] / upright[0]


def _positive(value: Any) -> float | None:
    return float(value) if isinstance(value, (int, float)) and math.isfinite(value) and value > 0 else None


def _whole(tags: dict[int, Any], tag: int) -> int:
    value = tags.get(tag)
    return int(value) if isinstance(value, (int, float)) and math.isfinite(value) else 0


def _jpeg(data: bytes) -> tuple[tuple[int, int] | None, dict[int, Any]]:
    """Segments up to the picture's own data: frame header (size) and APP1 (EXIF)."""
    size: tuple[int, int] | None = None
    tags: dict[int, Any] = {}
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            break
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker in (0xD8, 0x01) or 0xD0 <= marker <= 0xD7:
            at += 2
            continue
        if marker in (0xD9, 0xDA):
            break
        length = int(struct.unpack_from(">H", data, at + 2)[0])
        if marker == 0xE1 and data[at + 4 : at + 10] == b"Exif\0\0" and not tags:
            tags = _tags(data[at + 10 : at + 2 + length])
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            high, wide = struct.unpack_from(">HH", data, at + 5)
            size = int(wide), int(high)
        at += 2 + length
    return size, tags


def _png(data: bytes) -> tuple[tuple[int, int], dict[int, Any]]:
    wide, high = struct.unpack_from(">II", data, 16)
    tags: dict[int, Any] = {}
    at = 8
    while at + 12 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        if kind == b"eXIf":
            tags = _tags(data[at + 8 : at + 8 + length])
            break
        if kind == b"IEND":
            break
        at += 12 + int(length)
    return (int(wide), int(high)), tags


def _tags(block: bytes) -> dict[int, Any]:
    """First value of every number tag of the first directory and of its EXIF directory; broken ones are passed over."""
    order = {b"II": "<", b"MM": ">"}.get(block[:2])
    if order is None or len(block) < 8:
        return {}
    found: dict[int, Any] = {}
    for tag, value in _directory(block, order, int(struct.unpack_from(order + "I", block, 4)[0])):
        found.setdefault(tag, value)
    inner = found.get(_EXIF)
    if isinstance(inner, int):
        for tag, value in _directory(block, order, inner):
            found.setdefault(tag, value)
    return found


def _directory(block: bytes, order: str, start: int) -> Iterator[tuple[int, Any]]:
    if start + 2 > len(block):
        return
    count = min(int(struct.unpack_from(order + "H", block, start)[0]), _MOST_ENTRIES)
    for k in range(count):
        at = start + 2 + 12 * k
        if at + 12 > len(block):
            return
        tag, kind, many = struct.unpack_from(order + "HHI", block, at)
        size = _SIZES.get(int(kind), 0) * int(many)
        place = at + 8 if size <= 4 else int(struct.unpack_from(order + "I", block, at + 8)[0])
        if not size or place + size > len(block):
            continue
        value = _value(block, order, int(kind), place)
        if value is not None:
            yield int(tag), value


def _value(block: bytes, order: str, kind: int, at: int) -> int | float | None:
    letter = {1: "B", 3: "H", 4: "I", 9: "i"}.get(kind)
    if letter:
        return int(struct.unpack_from(order + letter, block, at)[0])
    if kind in (5, 10):
        above, below = struct.unpack_from(order + ("II" if kind == 5 else "ii"), block, at)
        return above / below if below else None
    return None
