"""Typed words of the command line as values; a refusal says what was expected."""

from __future__ import annotations

import argparse
import re
from pathlib import Path


def names(words: str) -> tuple[str, ...]:
    found = tuple(word.strip() for word in words.split(",") if word.strip())
    if not found:  # an empty variable of a script, say
        raise argparse.ArgumentTypeError("expected names such as A,B, given none")
    return found


def path(words: str) -> Path:
    if not words:  # Path would take it for the folder that we are in
        raise argparse.ArgumentTypeError("expected a path, given an empty text")
    return Path(words)


def above_0(words: str) -> float:
    if not re.fullmatch(r"\s*([0-9]{1,9}(\.[0-9]{0,9})?|\.[0-9]{1,9})\s*", words) or not float(words) > 0:
        raise argparse.ArgumentTypeError(f"expected a number above 0, given {words[:40]!r}")
    return float(words)


def whole(words: str) -> int:
    if not re.fullmatch(r"\s*[-+]?[0-9]{1,18}\s*", words):
        raise argparse.ArgumentTypeError(f"expected a whole number, given {words[:40]!r}")
    return int(words)
