"""`striderule starters`: shots to begin from."""

from __future__ import annotations

import argparse
from pathlib import Path

from striderule.errors import ModelError, OutputError
from striderule.export.files import write_bytes
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot

from .cli_console import Console


def starters(chosen: argparse.Namespace, console: Console) -> int:
    """List the starters, or copy them. Raises ModelError for an unknown one, OutputError where a copy overwrites."""
    paths = starter_paths()
    for name in chosen.names:
        if name not in paths:
            raise ModelError("starters", "starters out of " + ", ".join(paths), repr(name))
    wanted = {name: path for name, path in paths.items() if not chosen.names or name in chosen.names}
    if chosen.copy is None:
        for name, path in wanted.items():
            console.result(f"{name}: {load_shot(path).name}")
        return 0
    copies = copies_of(list(wanted.values()), chosen.copy)
    for target, data in copies.items():
        if target.exists() and (target.is_dir() or target.read_bytes() != data):
            raise OutputError(
                f"{target}: is there already and is different. Copy to another folder, or move that file away."
            )
    for target, data in copies.items():
        write_bytes(target, data)
        console.log(str(target))
    console.result(f"{len(copies)} files copied to {chosen.copy}")
    return 0


def copies_of(shots: list[Path], folder: Path) -> dict[Path, bytes]:
    """Target -> bytes of shot files and of every puppet and poses file beside them."""
    sources = {path.name: path for path in shots}
    for beside in ("puppets", "poses"):
        sources |= {f"{beside}/{path.name}": path for path in sorted((shots[0].parent / beside).glob("*.toml"))}
    return {folder / name: path.read_bytes() for name, path in sources.items()}
