"""PNG files: what is written is read back, byte for byte the same every time; what is damaged is refused."""

from __future__ import annotations

import struct
import zlib
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from striderule.draw import png
from striderule.errors import ModelError, OutputError


def noise(height: int, width: int, channels: int, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 256, (height, width, channels), np.uint8)


def chunks(data: bytes) -> dict[bytes, bytes]:
    out: dict[bytes, bytes] = {}
    at = 8
    while at < len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        out[kind] = out.get(kind, b"") + data[at + 8 : at + 8 + length]
        at += 12 + length
    return out


def file_of(lines: bytes, width: int, height: int, header: bytes | None = None) -> bytes:
    """A PNG file made by hand from filtered lines of RGB."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0) if header is None else header
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(lines)) + chunk(b"IEND", b"")


@pytest.mark.parametrize("channels", [3, 4])
@pytest.mark.parametrize(("height", "width"), [(1, 1), (15, 3), (16, 40), (17, 40), (70, 33)])
def test_what_is_written_is_read_back(height, width, channels):
    pixels = noise(height, width, channels)
    pixels[height // 3 : 2 * height // 3] = 0
    assert np.array_equal(png.decode(png.encode(pixels)), pixels)


def test_a_blank_picture_is_read_back_and_takes_next_to_nothing():
    pixels = np.zeros((1080, 1920, 4), np.uint8)
    data = png.encode(pixels)
    assert len(data) < 40_000
    assert np.array_equal(png.decode(data), pixels)


def test_the_rows_inflate_with_a_plain_inflater_whose_check_sum_agrees():
    """zlib.decompress fails where the Adler-32 at the end is not that of all rows (RFC 1950)."""
    pixels = noise(100, 50, 4)
    pixels[20:90] = 0
    lines = zlib.decompress(chunks(png.encode(pixels))[b"IDAT"])
    rows = np.frombuffer(lines, np.uint8).reshape(100, -1)
    assert not rows[:, 0].any()
    assert np.array_equal(rows[:, 1:].reshape(pixels.shape), pixels)


def test_the_file_holds_a_header_the_colour_space_the_pixels_and_no_more():
    assert list(chunks(png.encode(noise(5, 5, 4)))) == [b"IHDR", b"sRGB", b"IDAT", b"IEND"]


def test_flags_of_inked_rows_and_a_pool_of_threads_change_no_byte():
    pixels = noise(200, 64, 4)
    pixels[:50] = 0
    pixels[70:160] = 0
    data = png.encode(pixels)
    assert png.encode(pixels.copy()) == data
    assert png.encode(pixels, pixels.any(axis=(1, 2))) == data
    with ThreadPoolExecutor(2) as pool:
        assert png.encode(pixels, each=pool.map) == data


def test_rows_flagged_inked_though_blank_are_written_right():
    pixels = noise(64, 20, 4)
    pixels[10:60] = 0
    assert np.array_equal(png.decode(png.encode(pixels, np.ones(64, bool))), pixels)


def test_a_part_of_a_larger_array_is_written_like_a_copy_of_it():
    whole = noise(60, 60, 4)
    assert png.encode(whole[5:50, 7:40]) == png.encode(whole[5:50, 7:40].copy())


@pytest.mark.parametrize(
    "pixels",
    [
        np.zeros((4, 4), np.uint8),
        np.zeros((4, 4, 2), np.uint8),
        np.zeros((0, 4, 4), np.uint8),
        np.zeros((4, 4, 4), np.float32),
    ],
)
def test_arrays_that_are_no_pictures_are_refused(pixels):
    with pytest.raises(OutputError, match="uint8"):
        png.encode(pixels)


def test_flags_for_another_number_of_rows_are_refused():
    with pytest.raises(OutputError, match="rows"):
        png.encode(np.zeros((4, 4, 4), np.uint8), np.ones(5, bool))


def paeth(left: int, up: int, corner: int) -> int:
    """The predictor as the PNG specification words it, section 9.4."""
    p = left + up - corner
    distances = [(abs(p - left), 0, left), (abs(p - up), 1, up), (abs(p - corner), 2, corner)]
    return min(distances)[2]


@pytest.mark.parametrize("kind", range(5))
def test_each_of_the_five_row_filters_is_undone(kind):
    """Filtered here as the PNG specification (section 9.2) defines, pixel by pixel."""
    pixels = noise(6, 9, 3, seed=kind).astype(int)
    lines = bytearray()
    for y in range(6):
        lines.append(kind)
        for x in range(9):
            for c in range(3):
                left = pixels[y, x - 1, c] if x else 0
                up = pixels[y - 1, x, c] if y else 0
                corner = pixels[y - 1, x - 1, c] if x and y else 0
                guess = (0, left, up, (left + up) // 2, paeth(left, up, corner))[kind]
                lines.append((pixels[y, x, c] - guess) % 256)
    assert np.array_equal(png.decode(file_of(bytes(lines), 9, 6)), pixels)


def test_a_file_cut_off_anywhere_is_refused():
    data = png.encode(noise(9, 9, 4))
    for end in range(len(data)):
        with pytest.raises(ModelError):
            png.decode(data[:end])


def test_a_file_with_one_byte_changed_is_refused_wherever_it_is():
    data = png.encode(noise(4, 4, 4))
    for at in range(len(data)):
        hurt = bytearray(data)
        hurt[at] ^= 0x10
        with pytest.raises(ModelError):
            png.decode(bytes(hurt))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ((4, 2, 16, 2, 0, 0, 0), "16 bits"),
        ((4, 2, 8, 3, 0, 0, 0), "colour type 3"),
        ((4, 2, 8, 2, 0, 0, 1), "interlaced"),
        ((0, 2, 8, 2, 0, 0, 0), "0 x 2"),
    ],
)
def test_kinds_of_png_that_are_not_read_are_named(fields, words):
    with pytest.raises(ModelError, match=words):
        png.decode(file_of(bytes(26), 4, 2, struct.pack(">IIBBBBB", *fields)))


def test_too_few_and_too_many_pixels_and_unknown_filters_are_refused():
    for lines, words in (
        (bytes(25), "25"),
        (bytes(27), "or more"),
        (bytes(1 << 22), "or more"),
        (b"\x07" + bytes(25), "filters"),
    ):
        with pytest.raises(ModelError, match=words):
            png.decode(file_of(lines, 4, 2))


def test_a_header_that_promises_a_huge_picture_costs_no_memory():
    with pytest.raises(ModelError):
        png.decode(file_of(bytes(26), 4, 2, struct.pack(">IIBBBBB", 2**31 - 1, 2**31 - 1, 8, 2, 0, 0, 0)))
