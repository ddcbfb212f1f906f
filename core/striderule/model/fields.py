"""One description of every value a person can set: type, unit, range, words. The file reader, the checks, the command
line's help and the add-on's properties all read the same `Spec`, so they cannot disagree."""

from __future__ import annotations

import dataclasses
import math
import re
from dataclasses import MISSING, dataclass, field
from functools import cache
from typing import Any, cast

from ..errors import ModelError

Pair = tuple[float, float]
Triple = tuple[float, float, float]

APART = {"apart": True}
"""Metadata of a field that does not change what is planned, and so is no part of a shot's identity."""

ADDED = {"added": True}
"""Metadata of a field that came later: at its default it is no part of a shot's identity, so that older shots keep
theirs."""

NAME_PATTERN = re.compile(r"[a-z][a-z0-9_-]{0,39}")
_DEVICE_NAMES = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(10)), *(f"lpt{i}" for i in range(10))}


@dataclass(frozen=True)
class Spec:
    """What a field holds.

    kind: number | whole | flag | text | name | choice | names | list. unit: "mm", "deg", "g", "" ...
    least, most: inclusive range of every component. size: 1, or how many numbers. ordered: a (least, most) pair.
    list: any number of numbers (size 1) or of tuples of `size` numbers.
    optional: None is allowed and means "use the default that fits this puppet".
    """

    kind: str
    doc: str
    unit: str = ""
    least: float = -math.inf
    most: float = math.inf
    size: int = 1
    ordered: bool = False
    choices: tuple[str, ...] = ()
    optional: bool = False

    def expectation(self) -> str:
        """The phrase after "expected" in a refusal."""
        one = {
            "number": "a number",
            "whole": "a whole number",
            "flag": "true or false",
            "text": "a text",
            "name": "a name of small letters, digits, - and _ (at most 40, a letter first)",
            "names": "a list of names",
            "list": "a list of numbers" if self.size == 1 else f"a list of [{', '.join('x' * self.size)}] places",
            "choice": "one of " + ", ".join(self.choices),
        }[self.kind]
        if self.size > 1 and self.kind != "list":
            one = f"{self.size} numbers" + (" (least, most)" if self.ordered else "")
        unit = f" in {self.unit}" if self.unit else ""
        if self.kind in ("number", "whole"):
            if math.isfinite(self.least) and math.isfinite(self.most):
                return f"{one}{unit} from {self.least:g} to {self.most:g}"
            if math.isfinite(self.least):
                return f"{one}{unit}, at least {self.least:g}"
        return one + unit


def _made(spec: Spec, default: Any) -> Any:
    if default is None:
        spec = dataclasses.replace(spec, optional=True)
    if default is MISSING:
        return field(metadata={"spec": spec})
    return field(default=default, metadata={"spec": spec})


def added(described: Any) -> Any:
    """A described field with ADDED put on it."""
    return field(default=described.default, metadata={**described.metadata, **ADDED})


def length(doc: str, default: Any = MISSING, *, least: float = 0.0, most: float = 5000.0, size: int = 1) -> Any:
    """A length in mm (or `size` of them)."""
    return _made(Spec("number", doc, "mm", least, most, size), default)


def place(doc: str, default: Any = MISSING, *, size: int = 3, most: float = 20000.0) -> Any:
    """A place in mm: (along, across, up), or `size` = 2: (along, across). Left is positive."""
    return _made(Spec("number", doc, "mm", -most, most, size), default)


def place_range(doc: str, default: Any = MISSING) -> Any:
    """A (least, most) pair of places along one axis in mm."""
    return _made(Spec("number", doc, "mm", -20000.0, 20000.0, 2, ordered=True), default)


def pairs(doc: str, default: Any = MISSING, *, unit: str = "mm", most: float = 100000.0) -> Any:
    """A list of pairs of numbers, a tuple of tuples."""
    return _made(Spec("list", doc, unit, -most, most, 2), default)


def numbers(doc: str, default: Any = MISSING, *, unit: str = "", most: float = 100000.0) -> Any:
    """A list of numbers."""
    return _made(Spec("list", doc, unit, -most, most), default)


def angle(doc: str, default: Any = MISSING, *, least: float = -180.0, most: float = 180.0) -> Any:
    """An angle in degrees."""
    return _made(Spec("number", doc, "deg", least, most), default)


def angle_range(doc: str, default: Any = MISSING, *, least: float = -180.0, most: float = 180.0) -> Any:
    """A (least, most) pair of angles in degrees."""
    return _made(Spec("number", doc, "deg", least, most, 2, ordered=True), default)


def length_range(doc: str, default: Any = MISSING, *, least: float = 0.0, most: float = 5000.0) -> Any:
    """A (least, most) pair of lengths in mm."""
    return _made(Spec("number", doc, "mm", least, most, 2, ordered=True), default)


def pixels(doc: str, default: Any = MISSING, *, least: float = -1e6, most: float = 1e6, size: int = 2) -> Any:
    """Pixels of a still, not whole ones (or `size` of them)."""
    return _made(Spec("number", doc, "px", least, most, size), default)


def number(doc: str, default: Any = MISSING, *, most: float = 1000.0, size: int = 1) -> Any:
    """A number without unit (or `size` of them)."""
    return _made(Spec("number", doc, "", -most, most, size), default)


def mass(doc: str, default: Any = MISSING) -> Any:
    """A mass in grams."""
    return _made(Spec("number", doc, "g", 0.0, 100000.0), default)


def torque(doc: str, default: Any = MISSING) -> Any:
    """A torque in newton-millimetres."""
    return _made(Spec("number", doc, "N mm", 0.001, 1e6), default)


def share(doc: str, default: Any = MISSING, *, least: float = 0.0, most: float = 1.0) -> Any:
    """A share without unit."""
    return _made(Spec("number", doc, "", least, most), default)


def count(doc: str, default: Any = MISSING, *, least: int = 0, most: int = 1000) -> Any:
    """A whole number."""
    return _made(Spec("whole", doc, "", least, most), default)


def counts(doc: str, default: Any = MISSING, *, least: int = 0, most: int = 20000, size: int = 2) -> Any:
    """Several whole numbers."""
    return _made(Spec("whole", doc, "", least, most, size), default)


def flag(doc: str, default: bool) -> Any:
    """True or false."""
    return _made(Spec("flag", doc), default)


def choice(doc: str, choices: tuple[str, ...], default: Any = MISSING) -> Any:
    """One of a few words."""
    return _made(Spec("choice", doc, choices=choices), default)


def text(doc: str, default: Any = MISSING) -> Any:
    """Free text of one line."""
    return _made(Spec("text", doc), default)


def name(doc: str, default: Any = MISSING) -> Any:
    """A name that may become part of a path."""
    return _made(Spec("name", doc), default)


def names(doc: str, default: Any = MISSING) -> Any:
    """A list of names."""
    return _made(Spec("names", doc), default)


@cache
def specs_of(cls: type) -> dict[str, Spec]:
    """Field name -> Spec for every described field of a model class, in file order."""
    return {f.name: f.metadata["spec"] for f in dataclasses.fields(cls) if "spec" in f.metadata}


def _given(value: object) -> str:
    """A value in a few words, however long it is."""
    try:
        shown = repr(value)
    except ValueError:  # Python writes no whole number of thousands of digits
        return "a number of thousands of digits"
    return shown if len(shown) <= 80 else shown[:77] + "..."


def value_refusal(spec: Spec, value: Any) -> tuple[str, str] | None:
    """(expected, given) if `value` does not fit `spec`, else None."""
    if value is None:
        return None if spec.optional else (spec.expectation(), "nothing")
    if spec.kind in ("number", "whole"):
        return _number_refusal(spec, value)
    if spec.kind == "list":
        return _list_refusal(spec, value)
    if spec.kind == "names":
        if not isinstance(value, tuple):
            return spec.expectation(), _given(value)
        bad = next((one for one in cast("tuple[Any, ...]", value) if not is_name(one)), None)
        return None if bad is None else (Spec("name", "").expectation(), _given(bad))
    fits = isinstance(value, bool if spec.kind == "flag" else str)
    if spec.kind == "choice":
        fits = fits and value in spec.choices
    elif spec.kind == "name":
        fits = is_name(value)
    if not fits:
        return spec.expectation(), _given(value)
    if spec.kind == "text" and (len(value) > 200 or not value.isprintable()):
        return "a text of one line, at most 200 characters", repr(value[:60])
    return None


def _number_refusal(spec: Spec, value: Any) -> tuple[str, str] | None:
    given: object = value  # untouched by the narrowing below
    values: tuple[Any, ...] = (value,) if spec.size == 1 else cast("tuple[Any, ...]", value)
    if spec.size > 1 and (not isinstance(value, tuple) or len(values) != spec.size):
        return spec.expectation(), _given(given)
    for one in values:
        whole = isinstance(one, int) and not isinstance(one, bool)
        if not (whole or (spec.kind == "number" and isinstance(one, float))):
            return spec.expectation(), _given(given)
        # said so that NaN does not pass either
        if not spec.least <= one <= spec.most or (isinstance(one, float) and not math.isfinite(one)):
            return spec.expectation(), _given(given)
    if spec.ordered and values[0] > values[1]:
        return f"{spec.expectation()}, the least one first", f"{values[0]:g}, {values[1]:g}"
    return None


def _list_refusal(spec: Spec, value: Any) -> tuple[str, str] | None:
    if not isinstance(value, tuple):
        return spec.expectation(), _given(value)
    one = dataclasses.replace(spec, kind="number", optional=False)
    refusals = (value_refusal(one, item) for item in cast("tuple[Any, ...]", value))
    bad = next((refusal for refusal in refusals if refusal), None)
    return (f"{spec.expectation()}, each of them {bad[0]}", bad[1]) if bad else None


def is_name(value: Any) -> bool:
    """True where `value` may name a view, a layer, a leg: safe as part of a path on every system."""
    return isinstance(value, str) and bool(NAME_PATTERN.fullmatch(value)) and value not in _DEVICE_NAMES


def check_fields(model: object, where: str = "") -> None:
    """Refuse a model object whose described fields do not fit. Raises ModelError naming the first one.

    where: dotted place of the object, put before the field's name ("leg.left").
    """
    for key, spec in specs_of(type(model)).items():
        refusal = value_refusal(spec, getattr(model, key))
        if refusal:
            raise ModelError(f"{where}.{key}" if where else key, *refusal)
