"""`striderule compare`: walks side by side as one chart, one table and one film, to choose between them."""

from __future__ import annotations

import argparse
import csv
import importlib.util
from collections.abc import Iterator, Sequence
from pathlib import Path

from striderule.camera.placing import view_named
from striderule.compare.walks import Compared, shots_of, walks_of
from striderule.draw.band_chart import chart_pixels
from striderule.draw.compare_chart import compare_chart
from striderule.draw.png import encode
from striderule.draw.svg import document
from striderule.errors import MissingExtraError, ModelError, OutputError
from striderule.export.compare_table import compare_csv, compare_text, csv_head
from striderule.export.files import make_folder, write_bytes, write_text
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot

from .cli_console import Console, chatter_silenced

TABLE, CHART, PICTURE, FILM = "compare.csv", "compare.svg", "compare.png", "compare.mp4"


def compare(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: which walk to take is for a person to say. Raises StrideruleError."""
    shots = list(_shots(chosen.shots))
    walks = walks_of(shots)
    view_named(walks[0].plan, chosen.view)  # refuses an unknown one before anything is written
    if not chosen.no_preview and importlib.util.find_spec("bpy") is None:
        raise MissingExtraError(
            "bpy",
            "A film of the walks",
            "Install Blender's Python module (pip install bpy), or leave it out: --no-preview",
        )
    out: Path = chosen.out
    if not chosen.replace:
        refuse_other_comparison(out, walks)
    make_folder(out)
    if is_comparison_of(out, walks):
        _remove_film(out / FILM)  # it shows the walks as they were
    drawing = compare_chart(walks, _title(walks, shots))
    write_text(out / TABLE, compare_csv(walks))
    write_text(out / CHART, document(drawing))
    write_bytes(out / PICTURE, encode(chart_pixels(drawing)))
    written = [TABLE, CHART, PICTURE]
    if not chosen.no_preview:
        console.log("starting Blender")
        with chatter_silenced():
            from .preview_compare import render_comparison  # Blender is imported here and nowhere else

            render_comparison([(_name(one), one.plan) for one in walks], chosen.view, out / FILM,
                              progress=lambda done, total: console.progress(done, total, "film"))  # fmt: skip
        written.append(FILM)
    for line in compare_text(walks).splitlines():
        console.finding(line)
    console.result(f"{out}: {len(walks)} walks compared, {len(written)} files: {', '.join(written)}")
    return 0


def refuse_other_comparison(out: Path, walks: Sequence[Compared]) -> None:
    """Raise OutputError where a file of ours would overwrite another one's: anything but a comparison of walks of the
    same names, which is brought up to date."""
    there = [out / name for name in (TABLE, CHART, PICTURE, FILM) if (out / name).exists()]
    if there and not is_comparison_of(out, walks):
        raise OutputError(f"{there[0]}: is there already and is no comparison of these walks. "
                          "Choose another folder, or replace it (--replace).")  # fmt: skip


def is_comparison_of(out: Path, walks: Sequence[Compared]) -> bool:
    """True where the folder's table is one of walks of these names."""
    if not (out / TABLE).is_file():
        return False
    try:
        with (out / TABLE).open(encoding="utf-8", errors="replace", newline="") as file:
            return tuple(next(csv.reader([file.readline(10_000)]), [])) == csv_head(walks)
    except (OSError, csv.Error):
        return False


def _remove_film(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be removed ({error.strerror}). Check that no program holds it open."
        ) from error


def _shots(paths: Sequence[Path]) -> Iterator[tuple[str, str, Shot]]:
    """(label, title, shot): the main walks of several files, or the main walk of one and its variants."""
    if len(paths) > 1:
        for path in paths:
            shot = load_shot(path)
            yield path.stem, shot.name, shot
        return
    shot = load_shot(paths[0])
    if not shot.variants:
        raise ModelError("compare", "several shot files, or one with variants", str(paths[0]),
                         "Name another file, or describe a variant in this one: [variant.NAME.walk].")  # fmt: skip
    yield from shots_of(shot)


def _title(walks: Sequence[Compared], shots: Sequence[tuple[str, str, Shot]]) -> str:
    puppets = list(dict.fromkeys(shot.puppet.name for _, _, shot in shots))
    return f"{', '.join(puppets[:3])}{', ...' if len(puppets) > 3 else ''}: {len(walks)} walks over time"


def _name(one: Compared) -> str:
    return one.label if one.title in ("", one.label) else f"{one.label}: {one.title}"
