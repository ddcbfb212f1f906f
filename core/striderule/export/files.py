"""Whole files or none: everything is written to a temporary name in the same folder, flushed to disk, then renamed."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import socket
import stat
import time
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO

from ..errors import OutputError

_PART = re.compile(r"\..+\.(?P<host>[0-9a-f]{8})-(?P<process>[0-9]+)\.part")
_STALE_S = 24 * 3600.0


@cache
def _host() -> str:
    return hashlib.sha256(socket.gethostname().encode()).hexdigest()[:8]


def part_name(path: Path) -> Path:
    """The temporary name, in the same folder, under which `path` is written; `sweep_parts` finds what was left."""
    # The process is part of the name, so that two processes that write the same file never share a temporary one.
    return path.with_name(f".{path.name}.{_host()}-{os.getpid()}.part")


def make_folder(folder: Path) -> None:
    """Make `folder` with all its parents; one that is there already is fine. Raises OutputError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise OutputError(
            f"{folder}: expected a folder, found a file. Name another folder, or move that file away."
        ) from None
    except NotADirectoryError:
        raise OutputError(f"{folder}: one of the folders above it is a file. Name another folder.") from None
    except OSError as error:
        raise OutputError(
            f"{folder}: the folder cannot be made ({error.strerror}). Choose a folder that you may write to."
        ) from error


def write_bytes(path: Path, data: bytes, durable: bool = True) -> None:
    """Write a whole file: other readers see the old file or the new one, never a half. The folder is made if missing.

    durable: wait until the disk holds it, so that a power cut leaves the old file or the new one, too. Not for the
    many pictures of an overlay: they carry a check sum, and a damaged one is drawn again. Raises OutputError, with
    nothing changed, where the disk is full, the folder may not be written to, or `path` is a folder or a device.
    """
    if not path.name or _is_special(path):
        # Renaming would put a file in the place of a device or a pipe.
        raise OutputError(f"{path}: is not an ordinary file. Name a file to write.")
    part = part_name(path)
    try:
        with _opened(part) as file:
            file.write(data)
            file.flush()
            if durable:
                os.fsync(file.fileno())
        part.replace(path)
    except BaseException as error:
        # Also after Ctrl-C: the temporary file goes, whatever interrupted us.
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise OutputError(
                f"{path}: cannot be written ({error.strerror}). Check that the disk has room, that you may write "
                "there, and that no program holds the file open."
            ) from error
        raise


def _is_special(path: Path) -> bool:
    """True for a device, a pipe or a socket, also through links."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _opened(part: Path) -> BinaryIO:
    try:
        return part.open("wb")
    except FileNotFoundError:
        make_folder(part.parent)
        return part.open("wb")


def write_text(path: Path, text: str) -> None:
    """Write a whole text file: UTF-8, LF line ends on every system. Raises OutputError."""
    write_bytes(path, text.encode("utf-8"))


def write_json(path: Path, content: Any) -> None:
    """Write JSON for people and programs: two spaces, keys in the order given. Raises OutputError."""
    write_text(path, json_text(content))


def json_text(content: Any) -> str:
    """The text that `write_json` writes. NaN and infinity are refused (ValueError): JSON has no word for them."""
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def tidy_number(value: float, places: int = 4) -> float:
    """`value` rounded, with -0 as 0, so that equal plans give equal files."""
    rounded = round(float(value), places)
    return 0.0 if rounded == 0 else rounded


def sha256_of(data: bytes) -> str:
    """Hexadecimal SHA-256 of `data`."""
    return hashlib.sha256(data).hexdigest()


def sweep_parts(folder: Path) -> int:
    """Remove temporary files that a killed run left in `folder` (not below it). Returns how many.

    Only names of this module's own pattern go, and only if their process is gone (same machine) or they are a day
    old (another machine, or a system that cannot say).
    """
    removed = 0
    with contextlib.suppress(OSError):
        for entry in os.scandir(folder):
            match = _PART.fullmatch(entry.name)
            if match and _is_stale(entry, match):
                with contextlib.suppress(OSError):
                    Path(entry.path).unlink()
                    removed += 1
    return removed


def _is_stale(entry: os.DirEntry[str], match: re.Match[str]) -> bool:
    process = int(match["process"])
    # Signal 0 asks POSIX whether a process lives; on Windows the same call would end it.
    if os.name == "posix" and match["host"] == _host():
        if process == os.getpid():
            return False
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return True
        except OSError:
            return False
        return False
    return time.time() - entry.stat().st_mtime > _STALE_S
