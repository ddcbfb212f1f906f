"""`striderule temper`: a ready temperament for a shot, written as values that a person could have typed."""

from __future__ import annotations

import argparse
from dataclasses import replace

from striderule.adjust.temperament import TEMPERAMENTS, temperament_named
from striderule.adjust.tempering import NEVER, kept_values, opened_by, sound_values, temperament_values, tempered
from striderule.adjust.values import Value, all_keys, changes, value_of
from striderule.check import findings_of, is_impossible
from striderule.draw.contact_sheet import contact_sheet
from striderule.draw.png import encode
from striderule.errors import ModelError
from striderule.export.files import write_bytes
from striderule.export.findings_json import findings_lines, summary_line
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot, parse_shot, typed_walk_keys
from striderule.model.toml_reading import read_text
from striderule.model.toml_writing import value_text
from striderule.model.walk import Walk
from striderule.solve import solve

from .cli_console import Console
from .shot_writing import in_walk, reopened, write_changed

SHOWN_PUPPET, SHOWN_STEPS = "lamplighter", 8


def temper(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where the walk is impossible with its temperament (it is written all the same), else 0. Raises
    StrideruleError."""
    if chosen.list or chosen.pictures:
        return list_temperaments(chosen, console)
    if chosen.shot is None or chosen.temperament is None:
        given = "no shot file" if chosen.shot is None else "no --as"
        raise ModelError("temper", "SHOT --as NAME", given, "See the names with: striderule temper --list")
    temperament = temperament_named(chosen.temperament)
    text = read_text(chosen.shot, "shot")
    shot = parse_shot(text, chosen.shot, chosen.shot.parent)
    typed = typed_walk_keys(text, chosen.shot) - reopened(chosen.reopen or (), all_keys() - NEVER)
    values = temperament_values(shot, temperament, typed)
    opened = opened_by(shot, values, typed)
    new = tempered(shot, temperament, typed, chosen.leg)
    which, own = sound_values(shot, temperament, typed, chosen.leg)
    for one in new.variants:
        new.with_variant(one.name)  # refuses one that no longer goes with the walk, before anything is written
    if chosen.out:
        edits: dict[str, Value | None] = {**values, **dict.fromkeys(sorted(opened))}
        every = in_walk(edits) | {f"step.{which}.{key}": value for key, value in own.items()}
        write_changed(chosen.shot, chosen.out, text, new, every, temperament.name, chosen.replace)
    for change in changes(shot, values):
        console.finding(f"{change.key:<20} {value_text(change.old)} -> {value_text(change.new)}")
    for key, value in own.items():
        console.finding(f"{f'step.{which}.{key}':<28} {value_text(value)}")
    for key in sorted(opened):
        old, now = (value_text(value_of(one.settled_walk, key)) for one in (shot, new))
        console.finding(f"{key:<20} {old} -> {now}, open")
    for kept in kept_values(shot, temperament, typed):
        wish = value_text(kept.new)
        console.finding(f"{kept.key:<20} {value_text(kept.old)} stays as typed ({temperament.name} has {wish})")
    findings = findings_of(solve(new))
    for line in findings_lines(findings):
        console.finding(line)
    where = f"{chosen.out}: " if chosen.out else "nothing written (--out NEW.toml does): "
    console.result(f"{where}{temperament.name}, {len(values) + len(own)} values; {summary_line(findings)}")
    return int(is_impossible(findings))


def list_temperaments(chosen: argparse.Namespace, console: Console) -> int:
    """Name every temperament; with --pictures also draw a contact sheet of each on the shot's puppet, with nothing
    typed. Raises StrideruleError."""
    for one in TEMPERAMENTS.values():
        console.result(f"{one.name:<10} {one.purpose}")
    if chosen.pictures is None:
        return 0
    shot = load_shot(chosen.shot or starter_paths()[SHOWN_PUPPET])
    bare = replace(shot, walk=Walk(steps=SHOWN_STEPS))
    for done, one in enumerate(TEMPERAMENTS.values(), 1):
        plan = solve(tempered(bare, one))
        title = f"{shot.puppet.name}, {one.name}: {one.purpose}"
        write_bytes(chosen.pictures / f"{one.name}.png", encode(contact_sheet(plan, title)), durable=False)
        console.progress(done, len(TEMPERAMENTS), "picture")
    console.result(f"{chosen.pictures}: {len(TEMPERAMENTS)} pictures")
    return 0
