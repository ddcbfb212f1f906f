"""From one table of a file to the values of one model class, by the class's own field descriptions."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterable
from typing import Any, TypeVar, cast

from ..errors import FileError, ModelError
from .bench import Measured
from .edits import BodyEdit, Edits, FootfallEdit, Hold
from .fields import Spec, specs_of
from .floor import Floor, Kerb, Raised, Stairs
from .path import PathPiece
from .puppet import Body, Leg, Limits, Shape
from .shot import Overlay
from .stage import HoleGrid, Obstacle, Stage
from .toml_lines import Keys
from .toml_reading import Document, Table, phrase
from .upper import Arm, ArmLimits, Loose, LooseLimits
from .view import CameraSetup
from .walk import Hips, Walk
from .weight import Holding, Pull, Rig

Made = TypeVar("Made")

_TOP = ("kind", "format", "fps", "frames_per_pose", "puppet")
_HOMES: dict[str, tuple[str, ...]] = {
    "at the top of the file, above the first [table]": _TOP,
    **{
        f"in {header}": tuple(specs_of(cls))
        for header, cls in (
            ("[walk]", Walk),
            ("[walk.hips]", Hips),
            ("[[path]]", PathPiece),
            ("[floor]", Floor),
            ("[floor.stairs]", Stairs),
            ("[floor.plank]", Raised),
            ("[floor.kerb]", Kerb),
            ("[stage]", Stage),
            ("[grid]", HoleGrid),
            ("[[obstacle]]", Obstacle),
            ("[[hold]]", Hold),
            ("[rig]", Rig),
            ("[edit]", Edits),
            ("[[edit.footfall]]", FootfallEdit),
            ("[[edit.body]]", BodyEdit),
            ("[overlay]", Overlay),
            ("[view.NAME]", CameraSetup),
            ("[body]", Body),
            ("[leg.NAME]", Leg),
            ("[leg.NAME.limits]", Limits),
            ("[leg.NAME.holding]", Holding),
            ("[[leg.NAME.pull]]", Pull),
            ("[[leg.NAME.measured]]", Measured),
            ("[arm.NAME]", Arm),
            ("[arm.NAME.limits]", ArmLimits),
            ("[loose.NAME]", Loose),
            ("[loose.NAME.limits]", LooseLimits),
            ("[[shape]]", Shape),
        )
    },
}
"""Where every key is at home, for keys that stand in the wrong table."""


def checked_table(doc: Document, value: Any, place: Keys, known: Iterable[str] = ()) -> Table:
    """`value` if it is a table without unknown keys. known: its keys; none = any.

    Raises FileError: not a table; an unknown key (names the nearest right one, or the table that it belongs in).
    """
    if not isinstance(value, dict):
        header = ".".join(str(part) for part in place)
        given = "a list of tables ([[...]])" if _is_tables(value) else phrase(value)
        raise doc.refusal(place, f"a table ([{header}])", given)
    table = cast(Table, value)
    right = tuple(known)
    for key in table:
        if right and key not in right:
            raise doc.refusal((*place, key), "a known key", "an unknown one", _nearest(key, right, inside=bool(place)))
    return table


def checked_tables(doc: Document, value: Any, place: Keys) -> list[Any]:
    """`value` if it is a list of tables. Raises FileError."""
    if not _is_tables(value):
        header = ".".join(str(part) for part in place)
        given = "one table ([...])" if isinstance(value, dict) else phrase(value)
        raise doc.refusal(place, f"a list of tables ([[{header}]])", given)
    return cast("list[Any]", value)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, dict) for one in cast("list[Any]", value))


def _nearest(key: str, right: tuple[str, ...], *, inside: bool) -> str:
    """A cure for an unknown key: the nearest right one."""
    for ending in ("_mm", "_deg", "_g", "_nmm"):
        if key + ending in right:
            return f'Write "{key}{ending}".'
    if inside and key in ("kind", "format"):
        return "It stands once, at the top of the file."
    homes = [home for home, keys in _HOMES.items() if key in keys]
    if homes:
        return f"It belongs {' or '.join(homes)}."
    near = nearest(key, right, 0.6)
    if near:
        return f'Did you mean "{near}"?'
    for home, keys in _HOMES.items():
        far = nearest(key, keys, 0.8)
        if far:
            return f'Did you mean "{far}", {home}?'
    return f'Nearest is "{nearest(key, right, 0.0)}"; known here: {", ".join(right)}.'


def nearest(word: str, right: Iterable[str], alike: float) -> str:
    """The one of `right` that is most like `word`, if it is at least so much alike (0 = any, 1 = the same); else ""."""
    import difflib  # only a refusal needs it

    return next(iter(difflib.get_close_matches(word[:60], list(right), n=1, cutoff=alike)), "")


def values_of(
    doc: Document, table: Table, place: Keys, cls: type, *, without: Iterable[str] = (), partial: bool = False
) -> dict[str, Any]:
    """The described fields of `cls` that `table` gives, as the model holds them (tuples, floats).

    without: fields that come from elsewhere (a name out of a header). partial: missing keys are allowed.
    Raises FileError: wrong type, missing key. Ranges are the model's own business (`built`).
    """
    values: dict[str, Any] = {}
    required = {
        f.name
        for f in dataclasses.fields(cls)
        if f.default is dataclasses.MISSING and f.default_factory is dataclasses.MISSING
    }
    for key, spec in specs_of(cls).items():
        if key in without:
            continue
        if key in table:
            values[key] = _value(doc, table[key], (*place, key), spec)
        elif key in required and not partial:
            where = (
                f"to [{'.'.join(str(part) for part in place if isinstance(part, str))}]"
                if place
                else ("at the top of the file")
            )
            raise doc.refusal(
                (*place, key),
                spec.expectation(),
                "nothing",
                f"Add {key} = ... {where}: {spec.doc[0].lower()}{spec.doc[1:]}.",
            )
    return values


def _value(doc: Document, raw: Any, place: Keys, spec: Spec) -> Any:
    if spec.kind in ("number", "whole"):
        if spec.size == 1:
            return _number(doc, raw, place, spec)
        if not isinstance(raw, list) or len(cast("list[Any]", raw)) != spec.size:
            raise doc.refusal(place, spec.expectation(), phrase(raw))
        return tuple(_number(doc, one, (*place, i), spec) for i, one in enumerate(cast("list[Any]", raw)))
    if spec.kind == "list":
        if not isinstance(raw, list):
            raise doc.refusal(place, spec.expectation(), phrase(raw))
        one = dataclasses.replace(spec, kind="number", optional=False)
        return tuple(_value(doc, item, (*place, i), one) for i, item in enumerate(cast("list[Any]", raw)))
    if spec.kind == "names":
        if not isinstance(raw, list):
            raise doc.refusal(
                place, spec.expectation(), phrase(raw), f"Write [{phrase(raw)}]." if isinstance(raw, str) else ""
            )
        items = cast("list[Any]", raw)
        for i, one in enumerate(items):
            if not isinstance(one, str):
                raise doc.refusal((*place, i), spec.expectation(), phrase(one), key=place)
        return tuple(items)
    right = isinstance(raw, bool) if spec.kind == "flag" else isinstance(raw, str)
    if not right:
        raise doc.refusal(place, spec.expectation(), phrase(raw))
    if spec.kind == "choice" and raw not in spec.choices:
        near = nearest(str(raw).lower(), spec.choices, 0.6)
        raise doc.refusal(place, spec.expectation(), phrase(raw), f'Did you mean "{near}"?' if near else "")
    return raw


def value_of_key(doc: Document, raw: Any, place: Keys, spec: Spec) -> Any:
    """One value as its description has it. Raises FileError."""
    return _value(doc, raw, place, spec)


def fps_of(doc: Document, raw: Any, place: Keys = ("fps",)) -> str:
    """Frames per second as the model holds them, out of a whole number or a text. Raises FileError."""
    if isinstance(raw, bool) or not isinstance(raw, (int, str)) or (isinstance(raw, int) and abs(raw) > 10**6):
        cure = 'Write 23.976 as "24000/1001" and 29.97 as "30000/1001".' if isinstance(raw, float) else ""
        expected = 'frames per second from 1 to 240, a whole number or "30000/1001"'
        raise doc.refusal(place, expected, phrase(raw), cure)
    return str(raw)


def _number(doc: Document, raw: Any, place: Keys, spec: Spec) -> float | int:
    key = place[:-1] if isinstance(place[-1], int) else place
    cure = ""
    if isinstance(raw, str) and re.fullmatch(r"\s*-?\d+(?:\.\d+)?\s*", raw):
        cure = f"Write {raw.strip()} without quotes."
    if isinstance(raw, float) and spec.kind == "whole":
        cure = f"Write {raw:.0f}, without a decimal point." if raw.is_integer() and abs(raw) < 1e15 else ""
        raise doc.refusal(place, spec.expectation(), phrase(raw), cure, key=key)
    # Beyond this a whole number of a file no longer fits a float, and no value of the model comes near it.
    huge = isinstance(raw, int) and abs(raw) > 10**15
    if isinstance(raw, bool) or not isinstance(raw, (int, float)) or huge:
        raise doc.refusal(place, spec.expectation(), phrase(raw), cure, key=key)
    return float(raw) if spec.kind == "number" else raw


def built(doc: Document, place: Keys, where: str, make: Callable[[], Made]) -> Made:
    """What `make` makes; a ModelError becomes a FileError at the key that it names.

    where: how the model class calls itself in its errors ("leg.left"), which in this file is `place`.
    """
    try:
        return make()
    except FileError:
        raise
    except ModelError as error:
        key = error.key
        if where and key == where:
            key = ""
        elif where and key.startswith(where + "."):
            key = key[len(where) + 1 :]
        full: Keys = (*place, *key.split(".")) if key else place
        at, given = _as_written(doc, full, error.given)
        raise doc.refusal(at, error.expected, given, error.cure, key=full) from error


def _as_written(doc: Document, place: Keys, given: str) -> tuple[Keys, str]:
    """Where the value at fault stands, and `given` as the file writes it where it is only Python's way of writing
    that.

    A model names a whole list; where it says which item is wrong, the item has a line of its own.
    """
    value: Any = doc.data
    for part in place:
        if isinstance(value, dict) and part in value:
            value = cast(Table, value)[cast(str, part)]
        elif isinstance(value, list) and isinstance(part, int) and part < len(cast("list[Any]", value)):
            value = cast("list[Any]", value)[part]
        else:
            return place, given
    if isinstance(value, dict):
        return place, given
    if isinstance(value, list):
        items = cast("list[Any]", value)
        texts = [i for i, item in enumerate(items) if isinstance(item, str) and repr(item) == given]
        if texts:
            return (*place, texts[0]), phrase(items[texts[0]])
    plain = re.fullmatch(r"(?:[-+\d.,e ()]|nan|inf)+|'.*'|\".*\"", given)
    return place, phrase(value) if plain else given


def simple(
    doc: Document,
    raw: Any,
    place: Keys,
    where: str,
    cls: type[Made],
    also: dict[str, Any] | None = None,
    without: tuple[str, ...] = (),
    make: Callable[..., Made] | None = None,
) -> Made:
    """One table as one object. also: values from elsewhere, by field name; their keys may stand in the table too.
    make: called with all of them instead of the class."""
    extra = also or {}
    known = [*(key for key in specs_of(cls) if key not in without), *(key for key in extra if key not in without)]
    table = checked_table(doc, raw, place, known)
    values = values_of(doc, table, place, cls, without=without)
    return built(doc, place, where, lambda: (make or cls)(**values, **extra))
