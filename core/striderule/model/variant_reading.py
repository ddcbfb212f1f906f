"""Variants of a shot file: [variant.NAME] with [variant.NAME.walk] and [variant.NAME.walk.hips]."""

from __future__ import annotations

from typing import Any, cast

from .fields import Spec, is_name, specs_of
from .planned_tables import step_change_of
from .shot import Shot
from .table_reading import built, checked_table, fps_of, nearest, values_of
from .toml_lines import Keys
from .toml_reading import Document, Table, phrase
from .variant import MAIN, Value, Variant, walk_specs
from .walk import Hips, Walk


def variants_of(doc: Document, raw: Any) -> tuple[Variant, ...]:
    """The variants in the file's order. Raises FileError."""
    tables = checked_table(doc, raw, ("variant",))
    return tuple(_variant(doc, name, table) for name, table in tables.items())


def refuse_bad_variants(doc: Document, shot: Shot) -> None:
    """Raise FileError where a variant's values do not go with each other or with those of the main walk."""
    for one in shot.variants:
        built(doc, (), "", lambda: shot.with_variant(one.name))  # noqa: B023 - called at once


def _variant(doc: Document, name: str, raw: Any) -> Variant:
    place: Keys = ("variant", name)
    if not is_name(name):
        raise doc.refusal(place, Spec("name", "").expectation(), phrase(name))
    if name == MAIN:
        raise doc.refusal(place, f"another name than {MAIN}, which is the walk of [walk]", phrase(name))
    if isinstance(raw, dict):
        for key in cast(Table, raw):
            if key in specs_of(Walk) or key == "hips":
                cure = f"Write it in [variant.{name}.walk]."
                raise doc.refusal((*place, key), "title, fps, frames_per_pose, open or a table", "a value of a walk",
                                  cure)  # fmt: skip
    table = checked_table(doc, raw, place, ("title", "fps", "frames_per_pose", "open", "walk", "step"))
    own = values_of(doc, table, place, Variant, without=("name", "fps"))
    if "fps" in table:
        own["fps"] = fps_of(doc, table["fps"], (*place, "fps"))
    at: Keys = (*place, "walk")
    walk = checked_table(doc, table.get("walk", {}), at, (*specs_of(Walk), "hips"))
    hips = checked_table(doc, walk.get("hips", {}), (*at, "hips"), specs_of(Hips))
    values: dict[str, Value] = values_of(doc, walk, at, Walk, partial=True)
    low = values_of(doc, hips, (*at, "hips"), Hips, partial=True)
    values |= {f"hips.{key}": value for key, value in low.items()}
    steps = checked_table(doc, table.get("step", {}), (*place, "step"))
    own["step_changes"] = tuple(step_change_of(doc, (*place, "step", which), one) for which, one in steps.items())
    opened = _opened(doc, table.get("open", []), (*place, "open"), values)
    return built(doc, place, f"variant.{name}", lambda: Variant.of(name, values, opened, **own))


def _opened(doc: Document, raw: Any, place: Keys, values: dict[str, Value]) -> frozenset[str]:
    """Keys below [walk] that a variant leaves open although the main walk sets them."""
    expected = "a list of values of [walk] that may be left open"
    if not isinstance(raw, list):
        raise doc.refusal(place, expected, phrase(raw))
    free = tuple(key for key, spec in walk_specs().items() if spec.optional)
    for i, key in enumerate(cast("list[Any]", raw)):
        if not isinstance(key, str) or key not in free:
            near = nearest(key, free, 0.6) if isinstance(key, str) else ""
            raise doc.refusal((*place, i), expected, phrase(key), f'Did you mean "{near}"?' if near else "", key=place)
        if key in values:
            raise doc.refusal((*place, i), "values that the variant does not set", phrase(key),
                              "Take it out of the list, or out of the variant's walk.", key=place)  # fmt: skip
    return frozenset(cast("list[str]", raw))
