import json
import os
from pathlib import Path

import pytest

from striderule.errors import OutputError
from striderule.export import files


def test_a_file_is_written_whole_with_its_folders(tmp_path):
    files.write_text(tmp_path / "a" / "b" / "c.txt", "é\n")
    assert (tmp_path / "a" / "b" / "c.txt").read_bytes() == b"\xc3\xa9\n"
    assert names_in(tmp_path / "a" / "b") == ["c.txt"]


def test_a_write_that_fails_leaves_the_old_file_and_no_temporary_one(tmp_path, monkeypatch):
    target = tmp_path / "c.txt"
    target.write_text("old")

    def full(_descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(OutputError, match=r"No space left.*disk has room"):
        files.write_text(target, "new")
    assert target.read_text() == "old"
    assert names_in(tmp_path) == ["c.txt"]


def test_an_interrupted_write_leaves_no_temporary_file(tmp_path, monkeypatch):
    def interrupt(_descriptor):
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        files.write_text(tmp_path / "c.txt", "new")
    assert names_in(tmp_path) == []


def test_a_file_where_a_folder_is_wanted_is_named(tmp_path):
    (tmp_path / "out").write_text("")
    with pytest.raises(OutputError, match="expected a folder, found a file"):
        files.make_folder(tmp_path / "out")
    with pytest.raises(OutputError, match="out"):
        files.write_text(tmp_path / "out" / "x" / "a.txt", "")


def test_a_folder_where_a_file_is_wanted_is_refused(tmp_path):
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(OutputError, match=r"a\.txt"):
        files.write_text(tmp_path / "a.txt", "new")
    assert names_in(tmp_path) == ["a.txt"]


def test_json_is_readable_and_refuses_nan(tmp_path):
    files.write_json(tmp_path / "a.json", {"b": 1, "a": "ü"})
    assert (tmp_path / "a.json").read_text(encoding="utf-8") == '{\n  "b": 1,\n  "a": "ü"\n}\n'
    assert json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))["a"] == "ü"
    with pytest.raises(ValueError, match="JSON"):
        files.json_text(float("nan"))


def test_numbers_are_rounded_and_minus_zero_is_zero():
    assert str(files.tidy_number(-0.00001)) == "0.0"
    assert files.tidy_number(1.23456) == 1.2346


def test_the_sweep_takes_only_what_a_dead_process_left(tmp_path):
    host = files._host()
    mine = tmp_path / f".0001.png.{host}-{os.getpid()}.part"
    dead = tmp_path / f".0001.png.{host}-{_dead_process()}.part"
    elsewhere = tmp_path / ".0001.png.00000000-1.part"
    other = tmp_path / "notes.part"
    for one in (mine, dead, elsewhere, other):
        one.write_text("")
    assert files.sweep_parts(tmp_path) == (1 if os.name == "posix" else 0)
    assert {*names_in(tmp_path)} == {mine.name, elsewhere.name, other.name}
    os.utime(elsewhere, (0, 0))
    assert files.sweep_parts(tmp_path) == 1
    assert files.sweep_parts(Path(tmp_path / "missing")) == 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
def test_a_pipe_or_a_device_is_never_replaced_by_a_file(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to(tmp_path / "pipe")
    for name in ("pipe", "link"):
        with pytest.raises(OutputError, match="not an ordinary file"):
            files.write_text(tmp_path / name, "new")
    assert (tmp_path / "pipe").is_fifo()
    assert {*names_in(tmp_path)} == {"pipe", "link"}


def test_a_path_without_a_name_is_refused():
    with pytest.raises(OutputError, match="Name a file"):
        files.write_text(Path(), "new")


def names_in(folder: Path) -> list[str]:
    return [one.name for one in folder.iterdir()]


def _dead_process() -> int:
    if not hasattr(os, "fork"):
        return 999_999_999
    child = os.fork()
    if child == 0:
        os._exit(0)
    os.waitpid(child, 0)
    return child
