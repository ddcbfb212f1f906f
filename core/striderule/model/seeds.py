"""The starter shots that come with Striderule."""

from __future__ import annotations

from pathlib import Path

from ..errors import FileError


def starter_paths() -> dict[str, Path]:
    """Name -> shot file of every starter, sorted by name: the packaged folder if there is one, else the checkout's.

    Raises FileError where neither exists (a broken installation).
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "seeds", package.parent.parent / "seeds"):
        found = {path.stem: path for path in folder.glob("*.toml")}
        if found:
            return dict(sorted(found.items()))
    raise FileError(package / "seeds", 0, "", "the starter shots", "no such folder", "Install Striderule again.")
