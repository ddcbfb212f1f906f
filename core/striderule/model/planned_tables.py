"""The tables of a shot file that say where and when a walk goes: [step.N], [[path]], [floor], [stage], [grid],
[[obstacle]], [[hold]], [edit] and [rig]."""

from __future__ import annotations

from typing import Any

from .edits import BodyEdit, Edits, FootfallEdit, Hold
from .floor import Floor, Kerb, Raised, Stairs
from .path import PathPiece
from .stage import HoleGrid, Obstacle, Stage
from .step_change import StepChange, per_step_specs
from .table_reading import built, checked_table, checked_tables, simple, value_of_key
from .toml_lines import Keys
from .toml_reading import Document, Table
from .weight import Rig

PLANNED = ("step", "path", "floor", "stage", "grid", "obstacle", "hold", "edit", "rig")


def planned(doc: Document, data: Table) -> dict[str, Any]:
    """Fields of a Shot by name, out of these tables. Raises FileError."""
    values: dict[str, Any] = {
        "step_changes": tuple(
            step_change_of(doc, ("step", which), one)
            for which, one in checked_table(doc, data.get("step", {}), ("step",)).items()
        ),
        "path": _list(doc, data, ("path",), PathPiece),
        "floor": _floor(doc, data.get("floor", {})),
        "stage": simple(doc, data.get("stage", {}), ("stage",), "stage", Stage),
        "obstacles": _list(doc, data, ("obstacle",), Obstacle),
        "holds": _list(doc, data, ("hold",), Hold),
        "edits": _edits(doc, data.get("edit", {})),
    }
    if "grid" in data:
        values["grid"] = simple(doc, data["grid"], ("grid",), "grid", HoleGrid)
    if "rig" in data:
        values["rig"] = simple(doc, data["rig"], ("rig",), "rig", Rig)
    return values


def _list(doc: Document, table: Table, place: Keys, cls: type[Any], where: str = "") -> tuple[Any, ...]:
    """A list of tables as objects; the errors of each are at its own lines."""
    name = str(place[-1])
    rows = checked_tables(doc, table.get(name, []), place)
    return tuple(simple(doc, one, (*place, i), where or name, cls) for i, one in enumerate(rows))


def step_change_of(doc: Document, place: Keys, raw: Any) -> StepChange:
    """One table of values of some steps. place: its keys, the last says which steps. Raises FileError."""
    which = str(place[-1])
    specs = per_step_specs()
    own = [key for key in specs if "." not in key]
    table = checked_table(doc, raw, place, [*own, "hips"])
    hips = [key.partition(".")[2] for key in specs if key.startswith("hips.")]
    of_hips = checked_table(doc, table.get("hips", {}), (*place, "hips"), hips)
    values = [(key, value_of_key(doc, table[key], (*place, key), specs[key])) for key in own if key in table]
    values += [
        (f"hips.{key}", value_of_key(doc, of_hips[key], (*place, "hips", key), specs[f"hips.{key}"]))
        for key in hips
        if key in of_hips
    ]

    def made() -> StepChange:
        change = StepChange(which, tuple(values))
        _ = change.numbers
        return change

    return built(doc, place, f"step.{which}", made)


def _floor(doc: Document, raw: Any) -> Floor:
    parts = {"stairs": Stairs, "plank": Raised, "kerb": Kerb}
    table = checked_table(doc, raw, ("floor",))
    also: dict[str, Any] = {
        key: simple(doc, table[key], ("floor", key), f"floor.{key}", cls) if key in table else None
        for key, cls in parts.items()
    }
    return simple(doc, raw, ("floor",), "floor", Floor, also=also)


def _edits(doc: Document, raw: Any) -> Edits:
    table = checked_table(doc, raw, ("edit",))
    also: dict[str, Any] = {
        "footfall": _list(doc, table, ("edit", "footfall"), FootfallEdit, "edit.footfall"),
        "body": _list(doc, table, ("edit", "body"), BodyEdit, "edit.body"),
    }

    def made(hips_up_mm: tuple[float, ...] = (), **lists: Any) -> Edits:
        return Edits(lists["footfall"], lists["body"], hips_up_mm)

    return simple(doc, raw, ("edit",), "edit", Edits, also=also, make=made)
