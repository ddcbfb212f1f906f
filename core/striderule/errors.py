"""Everything Striderule refuses, as one tree.

StrideruleError                 base; str(error) is one clear message for a person
├── ModelError                  a value that the model cannot hold (key, expected, given, cure)
│   └── FileError               the same, found in a file (adds file and line)
├── GeometryError               a question without an answer (a camera looking at itself, a lens that folds)
├── OutputError                 something could not be written, or would overwrite what is not ours
└── MissingExtraError           an optional library is not installed (names the extra)

Errors refuse; findings (striderule.check) inform and are never raised.
"""

from __future__ import annotations

from pathlib import Path

__all__ = [
    "FileError",
    "GeometryError",
    "MissingExtraError",
    "ModelError",
    "OutputError",
    "StrideruleError",
]


class StrideruleError(Exception):
    """Base of every refusal. `exit_code` is what the command line ends with."""

    exit_code = 2


class ModelError(StrideruleError):
    """A value that the model cannot hold.

    key: dotted place such as "leg.left.thigh_mm" ("" = the whole thing); expected, given: short phrases;
    cure: what to do about it ("" = nothing beyond what expected says).
    """

    def __init__(self, key: str, expected: str, given: str, cure: str = "") -> None:
        self.key, self.expected, self.given, self.cure = key, expected, given, cure
        super().__init__(self.message())

    def message(self) -> str:
        where = f"{self.key}: " if self.key else ""
        cure = f" {self.cure}" if self.cure else ""
        return f"{where}expected {self.expected}, given {self.given}.{cure}"


class FileError(ModelError):
    """A ModelError found in a file. line counts from 1; 0 = the file as a whole."""

    def __init__(self, file: Path | str, line: int, key: str, expected: str, given: str, cure: str = "") -> None:
        self.file, self.line = Path(file), line
        super().__init__(key, expected, given, cure)

    def message(self) -> str:
        line = f", line {self.line}" if self.line else ""
        return f"{self.file}{line}: {super().message()}"


class GeometryError(StrideruleError):
    """A geometric question that has no answer."""


class OutputError(StrideruleError):
    """Something could not be written, or writing it would destroy what is not ours."""

    exit_code = 3


class MissingExtraError(StrideruleError):
    """An optional library is needed. extra: its name; how: the way to get it, where that is not `striderule[extra]`."""

    def __init__(self, extra: str, needed_for: str, how: str = "") -> None:
        self.extra = extra
        super().__init__(f"{needed_for} needs '{extra}'. {how or f'Install striderule[{extra}]'}.")
