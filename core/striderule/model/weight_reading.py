"""What a leg's joints hold, out of its table of a puppet file: [leg.NAME.holding] and [[leg.NAME.pull]]."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from .fields import specs_of
from .puppet import Leg
from .table_reading import built, checked_table, checked_tables, simple, values_of
from .toml_lines import Keys
from .toml_reading import Document, Table
from .weight import Holding, Pull

WEIGHT_TABLES = ("holding", "pull")


def weight_values(doc: Document, leg: Table, place: Keys, twin: Leg | None = None) -> dict[str, Any]:
    """Fields of a Leg by name. twin: the leg that it mirrors, whose values hold until its own are put over them; its
    own pulls take the place of the twin's values for those joints. Raises FileError."""
    at: Keys = (*place, "holding")
    table = checked_table(doc, leg.get("holding", {}), at, specs_of(Holding))
    given = values_of(doc, table, at, Holding)
    had = twin.holding if twin else Holding()
    lines: Keys = (*place, "pull")
    tables = checked_tables(doc, leg.get("pull", []), lines)
    pulls = tuple(simple(doc, one, (*lines, i), "pull", Pull) for i, one in enumerate(tables))
    own = {pull.joint for pull in pulls}
    over = {f"{joint}_nmm": None for joint in own} | given
    kept = tuple(pull for pull in (twin.pulls if twin else ()) if pull.joint not in own)
    return {"holding": built(doc, at, "holding", lambda: replace(had, **over)), "pulls": (*kept, *pulls)}
