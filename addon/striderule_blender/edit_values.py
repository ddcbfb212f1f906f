"""A shot's edits <-> the rows of the panel and the handles in the viewport."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeVar

from striderule.adjust.editing import edit_rows, with_dragged
from striderule.model.edits import BodyEdit, FootfallEdit, Hold
from striderule.model.shot import Shot
from striderule.solve import Plan, Stance

from . import bridge, scene

Model = TypeVar("Model")


def with_listed(shot: Shot, edits: Any) -> Shot:
    """The shot with the edits that the rows hold. Raises ModelError."""
    new = replace(
        shot.edits,
        footfalls=_models(edits.footfalls, shot.edits.footfalls, FootfallEdit(0)),
        body=_models(edits.body, shot.edits.body, BodyEdit(1, 0.0)),
    )
    holds = _models(edits.holds, shot.holds, Hold(1, 1))
    return shot if (new, holds) == (shot.edits, shot.holds) else replace(shot, edits=new, holds=holds)


def fill_listed(edits: Any, shot: Shot, plan: Plan) -> None:
    """Set the rows from a shot and its plan."""
    for rows, models in (
        (edits.footfalls, shot.edits.footfalls),
        (edits.body, shot.edits.body),
        (edits.holds, shot.holds),
    ):
        _sized(rows, len(models))
        for row, model in zip(rows, models, strict=True):
            bridge.fill_properties(row, model, model)
    listed = edit_rows(shot)
    _sized(edits.rows, len(listed))
    for row, one in zip(edits.rows, listed, strict=True):
        row.kind, row.index, row.text = one.kind, one.index, one.text
        row.frame = int(plan.first_frame[min(one.pose, plan.poses) - 1])
    edits.row = min(edits.row, max(len(listed) - 1, 0))


def _sized(rows: Any, count: int) -> None:
    """So many rows. Those that stay are not made anew: a slider that is being dragged belongs to one."""
    while len(rows) > count:
        rows.remove(len(rows) - 1)
    while len(rows) < count:
        rows.add()


def _models(rows: Any, base: Sequence[Model], new: Model) -> tuple[Model, ...]:
    return tuple(bridge.model_from_properties(row, base[i] if i < len(base) else new) for i, row in enumerate(rows))


def with_drags(shot: Shot, shown: Shot, plan: Plan, drags: Sequence[scene.Dragged], pin: bool) -> Shot:
    """The shot with footfalls where their handles were dragged to. shown: the same shot as it is on show, a variant of
    it or itself; plan: of what the handles were built for. Raises StrideruleError."""
    for drag in drags:
        stance = stance_of(plan, drag.leg, drag.step)
        if stance is not None:
            shown = with_dragged(shown, plan, stance, drag.at_mm, drag.turn_deg, pin)
    return replace(shot, edits=shown.edits)


def stance_of(plan: Plan, leg: str, step: int) -> Stance | None:
    """The footfall of a handle; None where the walk has it no more."""
    return next((one for one in plan.stances if (plan.legs[one.leg], one.step) == (leg, step)), None)
