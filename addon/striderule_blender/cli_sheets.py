"""`striderule sheets`: paper for the set, and a screen for a tablet, without Blender."""

from __future__ import annotations

import argparse
import importlib.util
from datetime import date, datetime
from pathlib import Path

from striderule.errors import MissingExtraError, ModelError, OutputError
from striderule.export.files import make_folder, sha256_of, sweep_parts, write_bytes
from striderule.export.manifest import Manifest, Source, refuse_other_shot, retire, write_manifest
from striderule.paper.page import Paper
from striderule.paper.sheets import SheetOptions, sheet_files
from striderule.solve import Plan, solve

from .cli_console import Console
from .cli_shot import chosen_shot

MANIFEST = "manifest_sheets.json"


def sheets(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: `check` says whether the walk is possible. Raises StrideruleError."""
    options = sheet_options(chosen)
    plan = solve(chosen_shot(chosen))
    source = Source.of(chosen.shot)
    files = sheet_files(plan, source.name, options)
    out: Path = chosen.out
    if not chosen.replace:
        refuse_other_shot(out, plan.shot, source)
        _refuse_what_is_not_ours(out, files)
    make_folder(out)
    sweep_parts(out)
    retire(out / MANIFEST, plan.shot)
    for done, (name, data) in enumerate(files.items(), 1):
        write_bytes(out / name, data)
        console.progress(done, len(files), "sheet")
    sums = {name: sha256_of(data) for name, data in files.items()}
    write_manifest(out / MANIFEST, Manifest(plan.shot, source, sheet_settings(options), plan.frames, sums))
    console.result(f"{out}: {len(files)} files for the set, {plan.poses} poses; print at 100 %: {', '.join(files)}")
    return 0


def sheet_options(chosen: argparse.Namespace) -> SheetOptions:
    """What the options ask for. Raises ModelError for a wrong one, MissingExtraError without fpdf2."""
    options = SheetOptions(
        _day(chosen.date),
        Paper(chosen.paper),
        chosen.round,
        chosen.minutes,
        chosen.drill,
        chosen.only or (),
    )
    need_fpdf2()
    return options


def need_fpdf2() -> None:
    """Raise MissingExtraError where sheets cannot be made."""
    if importlib.util.find_spec("fpdf") is None:
        raise MissingExtraError("fpdf2", "Paper for the set", "Install fpdf2 (pip install fpdf2)")


def sheet_settings(options: SheetOptions) -> dict[str, object]:
    """For a manifest."""
    return {
        "sheets": list(options.chosen),
        "date": options.day.isoformat(),
        "paper": options.paper.name,
        "round_mm": options.grain_mm,
        "minutes_a_pose": options.minutes_a_pose,
        "drill_mm": options.drill_mm,
    }


def _day(words: str | None) -> date:
    if words is None:
        return datetime.now().astimezone().date()
    try:
        return datetime.strptime(words, "%Y-%m-%d").astimezone().date()
    except ValueError:
        raise ModelError("--date", "a day as 2026-11-25", repr(words[:40])) from None


def _refuse_what_is_not_ours(out: Path, files: dict[str, bytes]) -> None:
    """Raise OutputError where a file would be overwritten that no manifest beside it tells of."""
    if (out / MANIFEST).is_file():
        return
    for name, data in files.items():
        path = out / name
        if path.is_dir() or (path.exists() and path.read_bytes() != data):
            raise OutputError(f"{path}: is there already, with other content. Name another folder, or replace it "
                              "(--replace).")  # fmt: skip


def prepared_sheets(plan: Plan, source: Source, options: SheetOptions, folder: Path) -> dict[str, str]:
    """Write all sheets below `folder`/sheets; their names there and sha256. Raises OutputError."""
    made: dict[str, str] = {}
    for name, data in sheet_files(plan, source.name, options).items():
        write_bytes(folder / "sheets" / name, data)
        made[f"sheets/{name}"] = sha256_of(data)
    return made
