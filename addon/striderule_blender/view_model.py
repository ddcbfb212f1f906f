"""What the panels show, prepared: panels only draw it."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

from striderule.check import SEVERITIES
from striderule.model.edits import BodyEdit, FootfallEdit, Hold
from striderule.model.fields import Spec, specs_of
from striderule.model.seeds import starter_paths
from striderule.model.walk import Hips, Walk

from . import live, scene
from .described import label_of

SECTIONS: dict[str, tuple[str, ...]] = {
    "walk": ("steps", "step_mm", "distance_mm", "width_mm", "first_foot", "poses_per_step", "passing_pose", "landing"),
    "ends": (
        "start", "lead_in_poses", "anticipation_mm", "first_step", "stop", "last_step", "settle_poses", "overshoot",
        "pause_poses", "on_the_spot", "turn_per_step_deg",
    ),
    "feet": (
        "lift_mm", "lift_top", "clearance_mm", "lift_off_poses", "toe_roll_poses", "heel_off_deg",
        "heel_strike_deg", "flat_after_poses", "toe_out_deg", "drag",
    ),
    "upper": (
        "top", "head_follows", "head_nod_deg", "arm_swing_deg", "arm_late", "arm_out_deg", "elbow_swing_deg",
        "elbow_bend_deg",
    ),
    "body": ("sway", "lean_deg", "pelvis_turn_deg", "pelvis_drop_deg", "chest_counter_turn", "surge"),
    "gait": ("gait", "phase", "duty"),
    "hips": ("contact_mm", "down_mm", "passing_mm", "up_mm"),
}  # fmt: skip
"""Which values of the walk stand in which panel; together they are all of them."""

ICONS = {"impossible": "ERROR", "risky": "QUESTION", "note": "INFO"}


EDIT_ICONS = {"footfall": "CON_FLOOR", "body": "SORT_DESC", "hold": "TIME", "hips": "FCURVE"}

POSING_HELP = (
    "Yellow hips: contact; white: passing",
    "G moves hips and feet,",
    "R Y Y tilts a foot, R Z turns it",
)

_EDIT_VALUES: dict[str, tuple[str, type, tuple[str, ...]]] = {
    "footfall": ("footfalls", FootfallEdit, ("at_mm", "move_mm", "turn_deg", "later_poses")),
    "body": ("body", BodyEdit, ("pose", "up_mm", "over_poses")),
    "hold": ("holds", Hold, ("pose", "frames")),
}


@dataclass(frozen=True)
class Row:
    """One value. use: the name of its flag where it may be left open; label: shown beside that flag."""

    group: Any
    key: str
    label: str
    use: str = ""

    @classmethod
    def of(cls, group: Any, key: str, spec: Spec) -> Row:
        """The row of a described value."""
        return cls(group, key, label_of(key, spec), f"use_{key}" if spec.optional else "")

    @property
    def share(self) -> float:
        """Of the panel's width for the label: less where the value is a word or two numbers."""
        about = self.group.bl_rna.properties[self.key]
        return 0.42 if about.type == "ENUM" or getattr(about, "is_array", False) else 0.58


@dataclass(frozen=True)
class Shown:
    """has_shot: the scene has a walk. facts: lines about it. refusal: why an edit is not on show, in lines. path,
    floor: where it goes and what it stands on, in words."""

    settings: Any
    has_shot: bool
    facts: tuple[str, ...] = ()
    refusal: tuple[str, ...] = ()
    findings: str = ""
    path: str = ""
    floor: str = ""


def rows(settings: Any, section: str) -> list[Row]:
    """The values of a panel."""
    group, model = (settings.hips, Hips) if section == "hips" else (settings.walk, Walk)
    specs = specs_of(model)
    return [Row.of(group, key, specs[key]) for key in SECTIONS[section]]


def shown(stage: Any) -> Shown:
    """What the panels show of a scene. Nothing is solved here."""
    settings = live.settings_of(stage)
    if not scene.set_collection(stage):
        return Shown(settings, False)
    seconds = settings.frames * stage.render.fps_base / stage.render.fps
    facts = (f"{settings.poses} poses, {settings.frames} frames, {seconds:.2f} s",)
    count = {one: sum(row.severity == one for row in settings.findings) for one in SEVERITIES}
    said = ", ".join(f"{n} {one}s" if one == "note" and n > 1 else f"{n} {one}" for one, n in count.items() if n)
    return Shown(settings, True, facts, tuple(wrapped(settings.refusal, 36)), said or "No findings",
                 f"Path: {settings.ground.path}", f"Floor: {settings.ground.floor}")  # fmt: skip


def edit_values(edits: Any) -> list[Row]:
    """The values of the edit that is picked in the list; none of an edit that is a curve."""
    picked = edits.rows[min(edits.row, len(edits.rows) - 1)] if edits.rows else None
    if picked is None or picked.kind not in _EDIT_VALUES:
        return []
    name, model, keys = _EDIT_VALUES[picked.kind]
    specs, group = specs_of(model), getattr(edits, name)[picked.index]
    return [Row.of(group, key, specs[key]) for key in keys]


def legs(settings: Any) -> list[tuple[str, str]]:
    """(name, title) of every leg of the puppet on show."""
    return [(name, name.replace("_", " ").title()) for name in settings.leg_names.split()]


def variants(settings: Any) -> list[tuple[str, str, bool]]:
    """(name, title, whether it is on show) of the main walk, whose name is "", and of every variant."""
    rows = [("", "Main Walk"), *((row.name, row.title or row.name) for row in settings.variants)]
    return [(name, title, name == settings.variant) for name, title in rows]


def wrapped(words: str, width: int = 42) -> list[str]:
    """Lines for a narrow panel."""
    return textwrap.wrap(words, width)


def starters() -> list[tuple[str, str]]:
    """(name, title) of every starter."""
    return [(name, name.replace("-", " ").title()) for name in starter_paths()]
