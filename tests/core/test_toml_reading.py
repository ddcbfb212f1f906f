"""From a file on disk to a document: what is no file, no text, no TOML."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from striderule.errors import FileError
from striderule.model.shotfile import (
    load_shot,
    parse_shot,
)
from striderule.model.toml_reading import LARGEST_BYTES, decoded, phrase

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")


def change(text: str, old: str, new: str) -> str:
    """`text` with one piece replaced, which must be in it once."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


def as_is(text: str) -> bytes:
    return text.encode()


def from_windows(text: str) -> bytes:
    return b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()


def refused(path: Path) -> FileError:
    with pytest.raises(FileError) as caught:
        load_shot(path)
    return caught.value


def test_a_folder_instead_of_a_file_is_refused(tmp_path: Path) -> None:
    assert "expected a shot file, given a folder" in str(refused(tmp_path))


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    error = refused(tmp_path / "none.toml")
    assert "does not exist" in str(error)
    assert error.line == 0


@pytest.mark.parametrize("name", ["a\0b.toml", "x" * 300 + ".toml"])
def test_a_name_that_no_file_can_have_is_refused(tmp_path: Path, name: str) -> None:
    assert "expected a shot file" in str(refused(tmp_path / name))


def test_a_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    assert "not an ordinary file" in str(refused(tmp_path / "pipe.toml"))


def test_a_link_to_itself_is_refused(tmp_path: Path) -> None:
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    assert "expected a shot file" in str(refused(tmp_path / "loop.toml"))


@pytest.mark.parametrize("raw", [b"", b"\n  \n", b"\xef\xbb\xbf", b"\xef\xbb\xbf\r\n"])
def test_an_empty_file_is_refused_with_its_first_lines_as_the_cure(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "empty.toml"
    path.write_bytes(raw)
    assert 'an empty file. Begin it with kind = "shot" and format = 1.' in str(refused(path))


def test_a_file_over_a_million_bytes_is_refused_and_one_below_is_read(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    filler = ("# " + "x" * 97 + "\n") * 9990
    path.write_text(SHOT + filler)
    assert load_shot(path).name == "Test"
    path.write_text(SHOT + filler * 2)
    assert f"at most {LARGEST_BYTES} bytes" in str(refused(path))


def test_bytes_that_are_not_utf_8_are_named_with_offset_and_line(tmp_path: Path) -> None:
    raw = change(SHOT, "step_mm = 80", "step_mm = 80 # gro\N{LATIN SMALL LETTER SHARP S}").encode("latin-1")
    path = tmp_path / "latin.toml"
    path.write_bytes(raw)
    error = refused(path)
    assert error.line == 10
    assert f"the byte 0xdf at offset {raw.index(0xDF)}" in str(error)
    path.write_bytes(SHOT.encode("utf-16"))
    error = refused(path)
    assert error.line == 1
    assert "at offset 0. Save the file with the encoding UTF-8." in str(error)


def test_a_text_that_ends_inside_a_value_names_its_last_line() -> None:
    with pytest.raises(FileError) as caught:
        parse_shot(SHOT + "[walkers]\nlist = [1,\n 2\n\n", "x.toml")
    assert caught.value.line == SHOT.count("\n") + 3
    assert "ends too early" in str(caught.value) or "Unclosed" in str(caught.value)


def test_lists_nested_beyond_reason_are_refused() -> None:
    with pytest.raises(FileError):
        parse_shot(change(SHOT, "start_mm = [10, -5]", "start_mm = " + "[" * 5000 + "]" * 5000), "x.toml")


def test_a_file_from_windows_reads_like_any_other(tmp_path: Path) -> None:
    path = tmp_path / "shot.toml"
    path.write_bytes(from_windows(SHOT))
    assert load_shot(path) == parse_shot(SHOT, "x.toml")


def test_a_value_of_any_size_is_told_in_a_few_words() -> None:
    for value in (10**5000, "x" * 10**5, [[1] * 1000] * 1000, {"a": {"b": 1}}, [10**5000, "y" * 999, None, 1, 2]):
        assert len(phrase(value)) < 300
    assert phrase(["a", 1, True, 2.5]) == '["a", 1, true, 2.5]'
    assert phrase([1, 2, 3, 4, 5]) == "[1, 2, 3, 4, ...]"


def test_decoding_takes_a_byte_order_mark_off() -> None:
    assert decoded(b"\xef\xbb\xbfa = 1\r\n", "x", "shot") == "a = 1\n"
