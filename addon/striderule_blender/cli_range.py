"""`striderule range`: a bench sheet of what each leg allows, what its measurements say, and the band as pictures."""

from __future__ import annotations

import argparse
from pathlib import Path

from striderule.check.bench import bench_of
from striderule.check.bench_fit import bench_fit
from striderule.draw.band_chart import band_chart, chart_pixels
from striderule.draw.bench_sheet import bench_drawing
from striderule.draw.png import encode
from striderule.draw.svg import document
from striderule.errors import ModelError, OutputError
from striderule.export.bench_table import bench_csv, bench_text
from striderule.export.files import make_folder, write_bytes
from striderule.model.puppet import Puppet
from striderule.model.shotfile import load_shot, parse_puppet
from striderule.model.toml_reading import parse, read_text
from striderule.solve import Plan, solve

from .cli_console import Console

ENDINGS = (".txt", ".csv", ".svg")


def bench(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: a value that measures otherwise is for a person to judge. Raises StrideruleError."""
    puppet, plan = puppet_and_plan(chosen.file, chosen.variant)
    files = files_of(puppet, plan, chosen.out)
    if not chosen.replace:
        other = [path for path, data in files.items() if path.is_dir() or (path.exists() and path.read_bytes() != data)]
        if other:
            raise OutputError(f"{other[0]}: is there already, with other content. Name another place, or replace it "
                              "(--replace).")  # fmt: skip
    for done, (path, data) in enumerate(files.items(), 1):
        write_bytes(path, data)
        console.progress(done, len(files), "file")
    if chosen.out is None:
        for line in bench_text(puppet).splitlines():
            console.finding(line)
    console.result(_summary(puppet, chosen.out, len(files)))
    return 0


def puppet_and_plan(path: Path, variant: str | None = None) -> tuple[Puppet, Plan | None]:
    """The puppet of a puppet file, or of a shot file together with its walk or a variant of it. Raises FileError,
    ModelError."""
    text = read_text(path, "shot")
    if parse(text, path).data.get("kind") == "puppet":
        if variant is not None:
            raise ModelError("--variant", "a shot file", f"the puppet file {path}", "Leave --variant out.")
        return parse_puppet(text, path), None
    shot = load_shot(path)
    shot = shot if variant is None else shot.with_variant(variant)
    return shot.puppet, solve(shot)


def files_of(puppet: Puppet, plan: Plan | None, out: Path | None) -> dict[Path, bytes]:
    """What `out` asks for, by file: one sheet, or a folder's pictures of every leg. Raises ModelError, OutputError."""
    if out is None:
        return {}
    if out.suffix.lower() in ENDINGS and not out.is_dir():
        make = {".txt": bench_text, ".csv": bench_csv, ".svg": lambda one: document(bench_drawing(one))}
        make_folder(out.parent)
        return {out: make[out.suffix.lower()](puppet).encode("utf-8")}
    if out.suffix and not out.is_dir():
        raise ModelError("--out", "a sheet's name ending with " + ", ".join(ENDINGS) + ", or a folder for pictures",
                         repr(out.name))  # fmt: skip
    make_folder(out)
    files: dict[Path, bytes] = {}
    for k, leg in enumerate(puppet.legs):
        drawing = band_chart(puppet, k, plan)
        files[out / f"band_{leg.name}.svg"] = document(drawing).encode("utf-8")
        files[out / f"band_{leg.name}.png"] = encode(chart_pixels(drawing))
    return files


def _summary(puppet: Puppet, out: Path | None, files: int) -> str:
    """ "Lamplighter: 1 leg to measure, none measured yet", "...: 2 legs measured, 1 value off"."""
    fits = [bench_fit(one.leg) for one in bench_of(puppet)]
    measured = [fit for fit in fits if fit]
    off = sum(len(fit.offsets) for fit in measured)
    legs = f"{len(fits)} {'leg' if len(fits) == 1 else 'legs'} to measure"
    said = (
        f"{len(measured)} measured, {off} {'value' if off == 1 else 'values'} off" if measured else "none measured yet"
    )
    written = f"{out}: {files} {'file' if files == 1 else 'files'}; " if out else ""
    return f"{written}{puppet.name}: {legs}, {said}"
