"""A variant: another version of a shot's walk, as the few values in which it differs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from ..errors import ModelError
from .fields import Spec, check_fields, count, name, specs_of, text
from .step_change import StepChange
from .walk import Hips, Walk

Value = float | int | str | bool

MAIN = "main"
"""What the walk of [walk] itself is called where variants stand beside it."""


def walk_specs() -> dict[str, Spec]:
    """Every value of a walk by the key that a file gives it below [walk] ("step_mm", "hips.contact_mm"), in file
    order."""
    return {**specs_of(Walk), **{f"hips.{key}": spec for key, spec in specs_of(Hips).items()}}


def walk_value(walk: Walk, key: str) -> Any:
    """A value of a walk by its key; None where it is open. Raises AttributeError."""
    head, _, rest = key.partition(".")
    return getattr(getattr(walk, head), rest) if rest else getattr(walk, head)


@dataclass(frozen=True)
class Variant:
    """What differs from the main walk. values: (key below [walk], value) in file order (`of` sorts them); opened: keys
    that the main walk has typed and that are open here; step_changes: put over the shot's own; None = as in the shot.

    Whether the values fit the walk is said where the two meet: `Shot.with_variant`.
    """

    name: str = name("Name of the variant")
    title: str = text("What the variant is called in tables and pictures", "")
    fps: str | None = text("Frames per second, a whole number or a fraction such as 30000/1001", None)
    frames_per_pose: int | None = count("Frames each pose is held: 1 = on ones, 2 = on twos", None, least=1, most=100)
    values: tuple[tuple[str, Value], ...] = ()
    opened: tuple[str, ...] = ()
    step_changes: tuple[StepChange, ...] = ()

    def __post_init__(self) -> None:
        check_fields(self, f"variant.{self.name}")
        if self.name == MAIN:
            raise ModelError("variant", f"another name than {MAIN}, which is the walk of [walk]", repr(self.name))
        specs, own = walk_specs(), dict(self.values)
        for key in (*own, *self.opened):
            if key not in specs:
                raise ModelError(f"variant.{self.name}.walk", "a value of [walk]", repr(key))
        for key in self.opened:
            if not specs[key].optional:
                raise ModelError(f"variant.{self.name}.open", "values that may be left open", repr(key))
            if key in own:
                raise ModelError(f"variant.{self.name}.open", "values that the variant does not set", repr(key))

    @classmethod
    def of(cls, name: str, values: Mapping[str, Value], opened: frozenset[str] = frozenset(), **fields: Any) -> Variant:
        """A variant with its values in file order. Raises ModelError."""
        rank = {key: k for k, key in enumerate(walk_specs())}
        ordered = sorted(values.items(), key=lambda pair: rank.get(pair[0], len(rank)))
        return cls(name, values=tuple(ordered), opened=tuple(sorted(opened, key=lambda key: rank.get(key, -1))),
                   **fields)  # fmt: skip

    @classmethod
    def between(cls, name: str, main: Walk, walk: Walk, **fields: Any) -> Variant:
        """The variant that turns the walk `main` into `walk`."""
        changed = {key: walk_value(walk, key) for key in walk_specs() if walk_value(walk, key) != walk_value(main, key)}
        values = {key: value for key, value in changed.items() if value is not None}
        return cls.of(name, values, frozenset(changed.keys() - values.keys()), **fields)

    @property
    def label(self) -> str:
        """What to call it: its title, else its name."""
        return self.title or self.name

    def over(self, walk: Walk) -> Walk:
        """A walk with the variant's values put over it, all at once. Raises ModelError where it cannot hold them."""
        changes: dict[str, Any] = {**dict.fromkeys(self.opened), **dict(self.values)}
        hips = {key.partition(".")[2]: value for key, value in changes.items() if "." in key}
        own = {key: value for key, value in changes.items() if "." not in key}
        return replace(walk, **own, hips=replace(walk.hips, **hips))

    def refusal(self, error: ModelError) -> ModelError:
        """A refusal of the varied shot, said of the variant: at its own key, or where a value of [walk] no longer
        goes with those of the variant."""
        key = error.key.removeprefix("walk.")
        inherited = key != error.key and key not in dict(self.values)
        cure = "It comes from [walk]: give the variant a value of its own." if inherited else error.cure
        return ModelError(f"variant.{self.name}.{error.key}", error.expected, error.given, cure)
