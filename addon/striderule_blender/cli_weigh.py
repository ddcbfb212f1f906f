"""`striderule weigh`: what the joints carry in every pose, what a rig must lift, what to tie; a table and a chart."""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from striderule.check.weight.findings import unmeasured
from striderule.check.weight.load import CAUTION, Weight, weigh
from striderule.check.weight.words import lifted_words
from striderule.draw.band_chart import chart_pixels
from striderule.draw.png import encode
from striderule.draw.svg import document
from striderule.draw.weight_chart import weight_chart
from striderule.errors import ModelError, OutputError
from striderule.export.files import make_folder, write_bytes, write_text
from striderule.export.weight_table import weight_csv, weight_text
from striderule.solve import solve

from .cli_console import Console
from .cli_shot import chosen_shot

TABLE, CHART, PICTURE = "weight.csv", "weight.svg", "weight.png"


def weigh_shot(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: whether to rig it is for a person to say. Raises StrideruleError."""
    plan = solve(chosen_shot(chosen))
    weight = weigh(plan)
    missing = unmeasured(plan.shot.puppet) or ""
    if weight is None:
        todo = missing or "weigh every part (body_g, chest_g, head_g, thigh_g, shank_g, foot_g)"
        raise ModelError("puppet", "the masses of its parts, or of the whole puppet", "not all of them",
                         f"{todo[0].upper()}{todo[1:]}.")  # fmt: skip
    files = _write(chosen.out, weight, plan.shot.name, replace=chosen.replace) if chosen.out else ()
    for line in weight_text(weight).splitlines():
        console.finding(line)
    console.finding("")
    console.finding(CAUTION)
    written = f"{chosen.out}: {', '.join(files)}; " if files else ""
    told = f"to know what the joints carry, {missing}" if missing else summary(weight)
    console.result(f"{written}{plan.shot.name}: {told}")
    return 0


def summary(weight: Weight) -> str:
    """ "24 of 37 poses need a rig, 280 g at most", "no pose needs a rig"."""
    lift = weight.lift
    needed = int(lift.needed.sum())
    if not needed:
        return "no pose needs a rig"
    helped = lift.least_g[lift.helps]
    grams = f", {lifted_words(float(np.max(helped)))} at most" if len(helped) and np.max(helped) > 0 else ""
    beyond = int((~lift.helps).sum())
    return f"{needed} of {weight.plan.poses} poses need a rig{grams}" + (f"; in {beyond} none helps" if beyond else "")


def _write(out: Path, weight: Weight, name: str, *, replace: bool) -> tuple[str, ...]:
    """The files written; the charts only where a joint was measured."""
    table = weight_csv(weight)
    there = out / TABLE
    if not replace and there.exists() and not _is_table(there, table):
        raise OutputError(f"{there}: is there already and is no table of this puppet's weight. "
                          "Choose another folder, or replace it (--replace).")  # fmt: skip
    make_folder(out)
    write_text(there, table)
    if not weight.measured:
        return (TABLE,)
    drawing = weight_chart(weight, f"{name}: what its joints carry")
    write_text(out / CHART, document(drawing))
    write_bytes(out / PICTURE, encode(chart_pixels(drawing)))
    return TABLE, CHART, PICTURE


def _is_table(path: Path, table: str) -> bool:
    """True where a file begins with the header that this table has."""
    head = table.partition("\n")[0].encode("utf-8")
    try:
        with path.open("rb") as file:
            return file.read(len(head) + 1).strip() == head
    except OSError:
        return False
