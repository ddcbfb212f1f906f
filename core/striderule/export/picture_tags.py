"""Whose picture a PNG is and what it shows, written into the PNG itself as one tEXt chunk after its header.

That is how a killed export resumes, how only what changed is drawn again, how several processes share one folder, and
how another shot's pictures are recognised before they are overwritten. Pixels are not touched; programs skip the
chunk. Source: PNG specification (W3C, third edition), 5.3 chunk layout and 11.3.3.3 tEXt.
"""

from __future__ import annotations

import hashlib
import re
import stat
import struct
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..draw.drawing import Area, Ink, Item, Label, Layer, Line

_KEYWORD = b"Striderule\0"
_HEADER = 33  # signature and IHDR
_CONTENT = re.compile(rb"picture=([0-9a-f]{32}) shot=([0-9a-f]{16}) rest=([0-9a-f]{8})")


@dataclass(frozen=True)
class Tag:
    """picture: identity of what is shown; shot: whose it is (`shot_tag`)."""

    picture: str
    shot: str


def shot_tag(shot_name: str) -> str:
    """16 hexadecimal digits that stand for a shot's name."""
    return hashlib.sha256(shot_name.encode("utf-8")).hexdigest()[:16]


def picture_identity(layers: Iterable[str], width: int, height: int, backdrop: object, encoder: str) -> str:
    """32 hexadecimal digits: equal for pictures that have the same pixels and the same bytes.

    layers: `layer_digest` of each layer shown, lowest first; encoder: names the version of everything that turns a
    drawing into bytes.
    """
    parts = [encoder, f"{width}x{height}", repr(backdrop), *layers]
    return hashlib.sha256("\n".join(parts).encode("utf-8")).hexdigest()[:32]


def layer_digest(layer: Layer) -> str:
    """32 hexadecimal digits of everything that a layer paints; its name and whether it is still do not count."""
    digest = hashlib.sha256()
    for item in layer.items:
        for part in _parts(item):
            digest.update(part)
    return digest.hexdigest()[:32]


@lru_cache(maxsize=512)
def _ink_words(ink: Ink) -> bytes:
    return repr(ink).encode()


def _parts(item: Item) -> Iterator[bytes]:
    yield type(item).__name__.encode()
    if isinstance(item, Line):
        yield b"closed" if item.closed else b"open"
        yield from _points(item.points)
        yield _ink_words(item.ink)
    elif isinstance(item, Area):
        for ring in item.rings:
            yield from _points(ring)
        yield repr((item.colour, item.alpha)).encode()
    elif isinstance(item, Label):
        yield repr((item.text, float(item.x), float(item.y), float(item.size))).encode()
        yield _ink_words(item.ink)
    else:
        yield struct.pack("<3d", item.x, item.y, item.radius)
        yield _ink_words(item.ink)


def _points(points: npt.NDArray[np.float64]) -> Iterator[bytes]:
    yield struct.pack("<q", len(points))
    yield np.ascontiguousarray(points, dtype="<f8").tobytes()


def tagged_png(png: bytes, tag: Tag) -> bytes:
    """The same PNG with `tag` in it. png: a whole PNG file."""
    rest = zlib.crc32(png[_HEADER:])
    body = b"tEXt" + _KEYWORD + f"picture={tag.picture} shot={tag.shot} rest={rest:08x}".encode()
    chunk = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    return png[:_HEADER] + chunk + png[_HEADER:]


def tag_of(path: Path) -> Tag | None:
    """The tag of a picture that is exactly as we wrote it; None for a missing, foreign, damaged or edited file."""
    try:
        if not path.is_file():  # reading a pipe would never end
            return None
        data = path.read_bytes()
    except OSError:
        return None
    found = _found(data[: _HEADER + 256])
    if found is None:
        return None
    tag, rest, end = found
    return tag if zlib.crc32(data[end:]) == rest else None


def owner_of(path: Path) -> str | None:
    """The shot tag in a picture's first bytes, whatever follows them; "" for a file that is not ours; None: no file."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # reading a pipe would never end
            return ""
        with path.open("rb") as file:
            head = file.read(_HEADER + 256)
    except FileNotFoundError:
        return None
    except OSError:
        return ""
    found = _found(head)
    return found[0].shot if found else ""


def _found(head: bytes) -> tuple[Tag, int, int] | None:
    """(tag, checksum of all that follows, where that begins) from the first bytes of a file."""
    if head[_HEADER + 4 : _HEADER + 8] != b"tEXt" or not head[_HEADER + 8 :].startswith(_KEYWORD):
        return None
    (length,) = struct.unpack(">I", head[_HEADER : _HEADER + 4])
    match = _CONTENT.fullmatch(head[_HEADER + 8 + len(_KEYWORD) : _HEADER + 8 + length])
    if match is None:
        return None
    picture, shot, rest = (part.decode() for part in match.groups())
    return Tag(picture, shot), int(rest, 16), _HEADER + 12 + length
