"""Values of a walk that differ in some of its steps: "step 3 slower", "the left foot's steps shorter"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from ..errors import ModelError
from .fields import Spec, count, specs_of, value_refusal
from .walk import Hips, Walk

Value = float | int | str

WHOLE_WALK = frozenset({
    "steps", "distance_mm", "first_foot", "on_the_spot", "start", "stop", "lead_in_poses", "first_step", "last_step",
    "anticipation_mm", "settle_poses", "overshoot", "turn_per_step_deg", "gait", "duty", "phase",
})  # fmt: skip
"""Keys below [walk] that a single step cannot have a value of."""

_RANGE = re.compile(r"([1-9][0-9]{0,5})(?:-([1-9][0-9]{0,5}))?")


@dataclass(frozen=True)
class _Frames:
    frames_per_pose: int = count("Frames each pose of the step is held", 1, least=1, most=100)


@cache
def per_step_specs() -> dict[str, Spec]:
    """Key ("step_mm", "hips.contact_mm", "frames_per_pose") -> Spec of every value that a step may have of its own."""
    own = {key: spec for key, spec in specs_of(Walk).items() if key not in WHOLE_WALK}
    return {**own, **specs_of(_Frames), **{f"hips.{key}": spec for key, spec in specs_of(Hips).items()}}


@dataclass(frozen=True)
class StepChange:
    """Values of some steps, put over the walk's.

    which: "3", "3-5" (step numbers from 1), or the name of a leg: every step in which it swings.
    values: (key, value) pairs, keys as below [walk]; kept in the order of a file, whatever order they are given in.
    """

    which: str
    values: tuple[tuple[str, Value], ...]

    def __post_init__(self) -> None:
        specs = per_step_specs()
        for key, value in self.values:
            refusal = value_refusal(specs[key], value) if key in specs else ("a value that a step can have", repr(key))
            if refusal:
                raise ModelError(f"step.{self.which}.{key}", *refusal)
        order = list(specs)
        object.__setattr__(self, "values", tuple(sorted(self.values, key=lambda one: order.index(one[0]))))

    @property
    def numbers(self) -> tuple[int, int] | None:
        """First and last step from 1, inclusive; None where `which` is a leg. Raises ModelError for "5-3"."""
        found = _RANGE.fullmatch(self.which)
        if not found:
            return None
        first, last = int(found[1]), int(found[2] or found[1])
        if first > last:
            raise ModelError(f"step.{self.which}", "a first step that is not after the last", self.which)
        return first, last


def put_over(changes: tuple[StepChange, ...], own: tuple[StepChange, ...]) -> tuple[StepChange, ...]:
    """Changes with others put over them: values of the same steps (written alike) or leg give way one by one."""
    merged = {one.which: dict(one.values) for one in changes}
    for one in own:
        merged[one.which] = merged.get(one.which, {}) | dict(one.values)
    order = list(per_step_specs())
    return tuple(
        StepChange(which, tuple(sorted(values.items(), key=lambda pair: order.index(pair[0]))))
        for which, values in merged.items()
    )
