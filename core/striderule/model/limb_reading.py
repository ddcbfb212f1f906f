"""Legs, arms, loose parts and shapes out of a puppet's file: tables by name, of which one may mirror another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar, cast

from .bench import Measured
from .fields import Spec, is_name, specs_of
from .puppet import Leg, Limits, Shape
from .table_reading import built, checked_table, checked_tables, simple, values_of
from .toml_lines import Keys
from .toml_reading import Document, Table, phrase
from .upper import Arm, ArmLimits, Loose, LooseLimits
from .weight_reading import WEIGHT_TABLES, weight_values

Limb = TypeVar("Limb", Leg, Arm, Loose)


def legs_of(doc: Document, raw: Any, place: Keys) -> tuple[Leg, ...]:
    """The legs in the file's order, with the lines of their range tests, of which a mirrored leg has its own, and what
    their joints hold."""

    def measured(table: Table, at: Keys, twin: Leg | None) -> dict[str, Any]:
        lines = checked_tables(doc, table.get("measured", []), (*at, "measured"))
        return {
            "measured": tuple(
                simple(doc, one, (*at, "measured", i), "measured", Measured) for i, one in enumerate(lines)
            ),
            **weight_values(doc, table, at, twin),
        }

    return _limbs(doc, raw, place, Leg, Limits, measured)


def arms_of(doc: Document, raw: Any, place: Keys) -> tuple[Arm, ...]:
    """The arms in the file's order."""
    return _limbs(doc, raw, place, Arm, ArmLimits)


def loose_of(doc: Document, raw: Any, place: Keys) -> tuple[Loose, ...]:
    """The loose parts in the file's order."""
    return _limbs(doc, raw, place, Loose, LooseLimits)


def shapes_of(doc: Document, raw: Any, place: Keys, parts: tuple[str, ...]) -> tuple[Shape, ...]:
    """The shapes, each on one of the parts that are there."""
    shapes: list[Shape] = []
    for i, one in enumerate(checked_tables(doc, raw, place)):
        shape = simple(doc, one, (*place, i), "shape", Shape)
        if shape.part not in parts:
            raise doc.refusal((*place, i, "part"), "one of " + ", ".join(parts), phrase(shape.part))
        shapes.append(shape)
    return tuple(shapes)


def _limbs(
    doc: Document,
    raw: Any,
    place: Keys,
    cls: type[Limb],
    stops: type[Any],
    more: Callable[[Table, Keys, Limb | None], dict[str, Any]] | None = None,
) -> tuple[Limb, ...]:
    """Limbs of one class; a mirrored one may stand before the one that it mirrors. more: values that are
    tables of their own, given the leg that is mirrored or None."""
    word = str(place[-1])
    own = ("measured", *WEIGHT_TABLES) if more else ()
    known = ("mirror_of", "limits", *own, *(key for key in specs_of(cls) if key != "name"))
    tables = {
        name: checked_table(doc, one, (*place, name), known) for name, one in checked_table(doc, raw, place).items()
    }
    measured: dict[str, Limb] = {}
    for name, table in tables.items():
        at: Keys = (*place, name)
        if not is_name(name):
            raise doc.refusal(at, Spec("name", "").expectation(), phrase(name))
        if "mirror_of" not in table:
            limits = simple(doc, table.get("limits", {}), (*at, "limits"), "limits", stops)
            values = values_of(doc, table, at, cls, without=("name",)) | (more(table, at, None) if more else {})
            make = cast("Callable[..., Limb]", cls)
            measured[name] = built(doc, at, f"{word}.{name}", lambda: make(name=name, limits=limits, **values))  # noqa: B023
    return tuple(
        measured[name] if name in measured else _mirrored(doc, name, table, (*place, name), measured, stops, more)
        for name, table in tables.items()
    )


def _mirrored(
    doc: Document,
    name: str,
    table: Table,
    place: Keys,
    measured: dict[str, Limb],
    stops: type[Any],
    more: Callable[[Table, Keys, Limb | None], dict[str, Any]] | None,
) -> Limb:
    """A limb that mirrors a measured one, with the values that its own table gives put over it."""
    twin, word = table["mirror_of"], str(place[-2])
    if not isinstance(twin, str) or twin not in measured:
        known = ", ".join(measured) or "none here"
        what = {"leg": "a leg", "arm": "an arm", "loose": "a loose part"}[word]
        raise doc.refusal((*place, "mirror_of"), f"{what} that is measured itself: {known}", phrase(twin))
    base = measured[twin].mirrored(name)
    at: Keys = (*place, "limits")
    given = checked_table(doc, table.get("limits", {}), at, specs_of(stops))
    changes = values_of(doc, given, at, stops, partial=True)
    limits = built(doc, at, "limits", lambda: replace(base.limits, **changes))
    values = values_of(doc, table, place, type(base), without=("name",), partial=True)
    values |= more(table, place, base) if more else {}
    return built(doc, place, f"{word}.{name}", lambda: replace(base, limits=limits, **values))
