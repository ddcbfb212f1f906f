"""PNG files of 8-bit RGB and RGBA pictures (W3C PNG specification, third edition), written fast where most rows are
blank.

Rows are not filtered, and are deflated in bands, each ended by a full flush: bands can be deflated in any order or side
by side, and blank ones come ready made. The same pixels give the same bytes: no date, no text, nothing of the machine.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from ..errors import ModelError, OutputError

Bytes = npt.NDArray[np.uint8]

ENCODER_VERSION = 1
"""Rises whenever the same pixels would give other bytes; part of a picture's identity."""

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_LEVEL = 1
_BAND = 16  # rows; blank runs are told apart at this grain
_ADLER = 65521
_LARGEST = 2**31 - 1
_DENSEST = 1100  # deflate packs at most 1032 bytes in one
_CHANNELS = {2: 3, 6: 4}  # PNG colour type: samples a pixel

Each = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]


def encode(pixels: Bytes, inked: npt.NDArray[np.bool_] | None = None, each: Each = map) -> bytes:
    """A PNG file of pixels (height, width, 3 or 4) of uint8; straight alpha, sRGB.

    inked (height,): rows that may hold anything but zeros, to save a search; a row marked False must be all zero.
    each: `map`, or a pool's `map`, which deflates bands side by side to the same bytes.
    Raises OutputError where the array is not such a picture.
    """
    if pixels.dtype != np.uint8 or pixels.ndim != 3 or pixels.shape[2] not in (3, 4) or 0 in pixels.shape:
        raise OutputError(
            f"A PNG needs pixels of shape (height, width, 3 or 4) as uint8, given {pixels.shape} {pixels.dtype}."
        )
    height, width, channels = pixels.shape
    if max(height, width) > _LARGEST:
        raise OutputError(f"A PNG holds at most {_LARGEST} pixels a side, given {width} x {height}.")
    if inked is not None and inked.shape != (height,):
        raise OutputError(f"A flag for each of {height} rows is needed, given {inked.shape}.")
    some: npt.NDArray[np.bool_] = np.any(pixels.reshape(height, -1), axis=1) if inked is None else inked
    row = 1 + width * channels
    jobs: list[Bytes | int] = []
    for top in range(0, height, _BAND):
        rows = min(_BAND, height - top)
        if some[top : top + rows].any():
            jobs.append(pixels[top : top + rows])
        elif jobs and isinstance(jobs[-1], int):
            jobs[-1] += rows
        else:
            jobs.append(rows)
    data, check = [b"\x78\x01"], 1
    for packed, length, own in each(_deflated, [(job, row) for job in jobs]):
        data.append(packed)
        check = _joined(check, own, length)
    data.append(b"\x03\x00" + struct.pack(">I", check))  # an empty last block, then the check sum of all rows
    colour = 2 if channels == 3 else 6
    header = struct.pack(">IIBBBBB", width, height, 8, colour, 0, 0, 0)
    return b"".join(
        (
            _SIGNATURE,
            _chunk(b"IHDR", header),
            _chunk(b"sRGB", b"\x00"),
            _chunk(b"IDAT", b"".join(data)),
            _chunk(b"IEND", b""),
        )
    )


def _deflated(task: tuple[Bytes | int, int]) -> tuple[bytes, int, int]:
    """A band, or a number of blank rows, as whole deflate blocks; the length before, and its Adler check sum."""
    job, row = task
    if isinstance(job, int):
        return _blank(job * row)
    lines = np.zeros((len(job), row), np.uint8)
    lines[:, 1:] = job.reshape(len(job), -1)
    raw = lines.data
    packer = zlib.compressobj(_LEVEL, zlib.DEFLATED, -15)
    return packer.compress(raw) + packer.flush(zlib.Z_FULL_FLUSH), lines.size, zlib.adler32(raw)


@lru_cache(maxsize=256)
def _blank(length: int) -> tuple[bytes, int, int]:
    packer = zlib.compressobj(_LEVEL, zlib.DEFLATED, -15)
    packed = bytearray()
    piece = bytes(min(length, 1 << 20))
    for done in range(0, length, len(piece)):
        packed += packer.compress(piece[: length - done])
    return bytes(packed + packer.flush(zlib.Z_FULL_FLUSH)), length, (length % _ADLER) << 16 | 1


def _joined(first: int, second: int, length: int) -> int:
    """Adler-32 (RFC 1950) of two stretches one after the other; length: bytes of the second."""
    low = (first & 0xFFFF) + (second & 0xFFFF) - 1
    high = (first >> 16) + (second >> 16) + length * ((first & 0xFFFF) - 1)
    return high % _ADLER << 16 | low % _ADLER


def _chunk(kind: bytes, data: bytes) -> bytes:
    return b"".join((struct.pack(">I", len(data)), kind, data, struct.pack(">I", zlib.crc32(data, zlib.crc32(kind)))))


def decode(data: bytes) -> Bytes:
    """The pixels (height, width, 3 or 4) of an 8-bit RGB or RGBA PNG that is not interlaced.

    Raises ModelError where the bytes are no such file, are cut off or fail a check sum.
    """
    if data[:8] != _SIGNATURE:
        raise ModelError("", "a PNG file", "something else")
    header, packed = b"", bytearray()
    at, ended = 8, False
    while not ended:
        if at + 12 > len(data):
            raise ModelError("", "a whole PNG file", f"one cut off after {len(data)} bytes")
        length, kind = struct.unpack_from(">I4s", data, at)
        body = data[at + 8 : at + 8 + length]
        if len(body) < length or at + 12 + length > len(data):
            raise ModelError("", "a whole PNG file", f"one cut off after {len(data)} bytes")
        if struct.unpack_from(">I", data, at + 8 + length)[0] != zlib.crc32(body, zlib.crc32(kind)):
            raise ModelError("", "a sound PNG file", f"a damaged {kind.decode('latin-1')} chunk")
        if kind == b"IHDR":
            header = body
        elif kind == b"IDAT":
            packed += body
        elif kind == b"IEND":
            ended = True
        at += 12 + length
    if len(header) != 13:
        raise ModelError("", "a PNG file with a header", "none")
    width, height, depth, colour, _, _, interlace = struct.unpack(">IIBBBBB", header)
    if depth != 8 or colour not in _CHANNELS or interlace or not width or not height:
        way = "interlaced" if interlace else "not interlaced"
        raise ModelError(
            "",
            "an 8-bit RGB or RGBA PNG, not interlaced",
            f"{depth} bits, colour type {colour}, {way}, {width} x {height}",
            "Save it as 8-bit RGB or RGBA.",
        )
    size = height * (1 + width * _CHANNELS[colour])
    if size > _DENSEST * len(packed):
        raise ModelError("", f"{size} bytes of pixels", f"{len(packed)} bytes that cannot hold them")
    unpacker = zlib.decompressobj()
    try:
        # One byte more than needed, so that a file that holds more is found out without unpacking it all.
        raw = unpacker.decompress(bytes(packed), size + 1)
    except zlib.error as error:
        raise ModelError("", "a sound PNG file", f"damaged pixels ({error})") from None
    if len(raw) != size:
        raise ModelError("", f"{size} bytes of pixels", f"{len(raw)}{' or more' if len(raw) > size else ''}")
    return _unfiltered(np.frombuffer(raw, np.uint8).reshape(height, -1), _CHANNELS[colour])


def _unfiltered(lines: Bytes, channels: int) -> Bytes:
    """Undo the five row filters. lines (height, 1 + row bytes), the first byte being the filter's number."""
    kinds = lines[:, 0]
    if kinds.max() > 4:
        raise ModelError("", "row filters 0 to 4", str(int(kinds.max())))
    out = lines[:, 1:].reshape(len(lines), -1, channels).copy()
    above = np.zeros_like(out[0])
    for kind, row in zip(kinds.tolist(), out, strict=True):
        if kind == 1:
            np.cumsum(row, axis=0, dtype=np.uint8, out=row)
        elif kind == 2:
            row += above
        elif kind > 2:
            _predicted(row, above, paeth=kind == 4)
        above = row
    return out


def _predicted(row: Bytes, above: Bytes, paeth: bool) -> None:
    """Filters Average and Paeth: each pixel needs the one before, so there is no way around a loop."""
    for channel in range(row.shape[1]):
        upper = above[:, channel].tolist()
        values = row[:, channel].tolist()
        left = corner = 0
        for k, up in enumerate(upper):
            if paeth:
                guess = left + up - corner
                by_left, by_up, by_corner = abs(guess - left), abs(guess - up), abs(guess - corner)
                best = left if by_left <= by_up and by_left <= by_corner else up if by_up <= by_corner else corner
            else:
                best = (left + up) // 2
            left = (values[k] + best) & 0xFF
            corner = up
            values[k] = left
        row[:, channel] = values
