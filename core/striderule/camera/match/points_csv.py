"""The points file: a table (CSV) of measured places and the pixels that were clicked for them."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import numpy as np

from ...errors import FileError, ModelError
from ...model.table_reading import nearest
from ...model.toml_reading import decoded
from .known_points import CLICK_PX, KnownPoints

NEEDED = ("name", "x_mm", "y_mm", "z_mm", "u_px", "v_px")
OPTIONAL = ("sigma_px", "check")
_YES, _NO = {"1", "yes", "true", "x", "check"}, {"", "0", "no", "false"}
_FARTHEST_MM = 100_000.0


class PointsFile:
    """points; lines: the file's line of every point."""

    def __init__(self, file: Path | str, points: KnownPoints, lines: tuple[int, ...]) -> None:
        self.file, self.points, self.lines = file, points, lines

    def at_line(self, error: ModelError) -> FileError:
        """A refusal that names a point ("point NAME"), or all of them, with the file and the point's line."""
        name = error.key.removeprefix("point ")
        line = self.lines[self.points.names.index(name)] if name in self.points.names else 0
        return FileError(self.file, line, error.key, error.expected, error.given, error.cure)


def read_points(path: Path, sigma_px: float = CLICK_PX) -> PointsFile:
    """A points file. sigma_px: for rows that say none. Raises FileError."""
    try:
        data = path.read_bytes()
    except OSError as error:
        reason = "a name that does not exist" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise FileError(path, 0, "", "a points file", reason, "Check folder and spelling.") from error
    return parse_points(decoded(data, path, "points"), path, sigma_px)


def parse_points(text: str, file: Path | str, sigma_px: float = CLICK_PX) -> PointsFile:
    """Points out of the text of a file with a first line of names (NEEDED, in any order; OPTIONAL), separated by
    commas, semicolons or tabs. Lines that begin with # say nothing. Raises FileError."""
    lines = text.split("\n")
    first = next((k for k, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")), None)
    if first is None:
        raise FileError(file, 1, "", f"a first line {','.join(NEEDED)}", "nothing")
    separator = max(",;\t", key=lines[first].count)
    header = [word.strip().lower() for word in lines[first].split(separator)]
    _check_header(file, first + 1, header)
    rows: list[tuple[str, list[float], float, bool]] = []
    numbers: list[int] = []
    for number, line in enumerate(lines[first + 1 :], first + 2):
        if not line.strip(" \t;,") or line.lstrip().startswith("#"):
            continue
        cells = [cell.strip() for cell in next(csv.reader(io.StringIO(line), delimiter=separator))]
        if len(cells) != len(header):
            raise FileError(file, number, "", f"{len(header)} values, one for every name of the first line",
                            f"{len(cells)}")  # fmt: skip
        rows.append(_row(file, number, dict(zip(header, cells, strict=True)), sigma_px))
        if rows[-1][0] in [row[0] for row in rows[:-1]]:
            raise FileError(file, number, "name", "a name of its own", f"{rows[-1][0]!r} once more")
        numbers.append(number)
    values = np.array([row[1] for row in rows], float).reshape(-1, 5)
    names = tuple(row[0] for row in rows)
    sigmas, checks = np.array([row[2] for row in rows], float), np.array([row[3] for row in rows], bool)
    points = KnownPoints(names, values[:, :3], values[:, 3:], sigmas, checks)
    return PointsFile(file, points, tuple(numbers))


def _check_header(file: Path | str, line: int, header: list[str]) -> None:
    known = (*NEEDED, *OPTIONAL)
    for word in header:
        if word not in known:
            near = nearest(word, known, 0.5)
            raise FileError(file, line, "", f"columns out of {', '.join(known)}", repr(word[:40]),
                            f'Did you mean "{near}"?' if near else "")  # fmt: skip
    missing = [word for word in NEEDED if word not in header]
    if missing:
        raise FileError(file, line, "", f"the columns {', '.join(NEEDED)}", f"none of the name {', '.join(missing)}")
    if len(set(header)) != len(header):
        raise FileError(file, line, "", "every column once", ", ".join(header))


def _row(file: Path | str, line: int, cells: dict[str, str], sigma_px: float) -> tuple[str, list[float], float, bool]:
    name = cells["name"]
    if not name or len(name) > 40 or not name.isprintable():
        raise FileError(file, line, "name", "a short name for the point", repr(name[:40]))
    values = [_number(file, line, key, cells[key]) for key in NEEDED[1:]]
    sigma = _number(file, line, "sigma_px", cells["sigma_px"]) if cells.get("sigma_px") else sigma_px
    if not 0.001 <= sigma <= 1000:
        raise FileError(file, line, "sigma_px", "pixels from 0.001 to 1000", f"{sigma:g}")
    word = cells.get("check", "").lower()
    if word not in _YES | _NO:
        raise FileError(
            file, line, "check", "1 for a point that is kept out to check by, else nothing", repr(word[:40])
        )
    return name, values, sigma, word in _YES


def _number(file: Path | str, line: int, key: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not abs(value) <= _FARTHEST_MM:
        cure = "Write decimals with a point." if "," in text else ""
        unit = "mm" if key.endswith("_mm") else "pixels"
        raise FileError(file, line, key, f"a number in {unit}", repr(text[:40]), cure)
    return value
