"""Values of a walk by the key that a shot file gives them below [walk]: "step_mm", "hips.contact_mm"."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, fields, replace
from typing import Any

from ..model.fields import Spec, specs_of
from ..model.shot import Shot
from ..model.walk import Hips, Walk

Value = float | int | str


@dataclass(frozen=True)
class Change:
    """One value that an adjustment writes. key: below [walk]; old: what the walk was made with before, typed or not."""

    key: str
    old: Value
    new: Value


def spec_of(key: str) -> Spec:
    """The description of a value of the walk. Raises KeyError."""
    head, _, rest = key.partition(".")
    return specs_of(Hips)[rest] if head == "hips" and rest else specs_of(Walk)[key]


def all_keys() -> frozenset[str]:
    """Every key below [walk]."""
    return frozenset({*specs_of(Walk), *(f"hips.{key}" for key in specs_of(Hips))})


def typed_values(walk: Walk) -> frozenset[str]:
    """Keys of all values that a walk holds and that are not at their default: what can be told of a walk without its
    file. A file knows better: `model.shotfile.typed_walk_keys`."""
    own = {f.name for f in fields(walk) if f.name != "hips" and getattr(walk, f.name) != f.default}
    hips = {f"hips.{f.name}" for f in fields(walk.hips) if getattr(walk.hips, f.name) is not None}
    return frozenset(own | hips)


def with_values(walk: Walk, values: Mapping[str, Value], opened: Set[str] = frozenset()) -> Walk:
    """The walk with these values written and `opened` ones, which `values` do not write, back at their defaults: all at
    once, for some only fit each other. Raises ModelError where it cannot hold them."""
    own: dict[str, Any] = {f.name: f.default for f in fields(walk) if f.name in opened}
    hips: dict[str, Any] = {f.name: None for f in fields(walk.hips) if f"hips.{f.name}" in opened}
    own |= {key: value for key, value in values.items() if "." not in key}
    hips |= {key.partition(".")[2]: value for key, value in values.items() if "." in key}
    return replace(walk, **own, hips=replace(walk.hips, **hips))


def value_of(walk: Walk | Hips, key: str) -> Any:
    """A value of the walk by its key; None where it is open. Raises AttributeError."""
    head, _, rest = key.partition(".")
    return getattr(getattr(walk, head), rest) if rest else getattr(walk, head)


def changes(shot: Shot, values: Mapping[str, Value]) -> tuple[Change, ...]:
    """What writing `values` into the shot's walk changes, old -> new, in their order; also what stays as it was, for it
    was open and is written now."""
    return tuple(Change(key, value_of(shot.settled_walk, key), value) for key, value in values.items())
