"""The one boundary at which the core's refusals become Blender reports. What is not a refusal goes on as it is."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from striderule.errors import (
    FileError,
    GeometryError,
    MissingExtraError,
    ModelError,
    OutputError,
    StrideruleError,
)

TITLES: dict[type[StrideruleError], str] = {
    StrideruleError: "Refused",
    ModelError: "Value refused",
    FileError: "File refused",
    GeometryError: "Geometry refused",
    OutputError: "Not written",
    MissingExtraError: "Part missing",
}
"""Every class of the core's tree, and the words that a report of it begins with."""


def message(error: StrideruleError) -> str:
    """What a person reads: what kind of refusal, then what was expected, given, and what to do."""
    return f"{TITLES[type(error)]}: {error}"


@contextmanager
def reported(operator: Any) -> Iterator[None]:
    """Report a refusal of the core through `operator` as an error.

    Operators run their work inside `with reported(self)` and return CANCELLED where it was left early.
    """
    try:
        yield
    except StrideruleError as error:
        operator.report({"ERROR"}, message(error))
