"""A shot or a puppet as TOML that a person can go on editing: what differs from the defaults, with its meaning."""

from __future__ import annotations

import dataclasses
import json
from typing import Any, cast

from .edits import Edits
from .fields import specs_of
from .puppet import Leg, Puppet
from .shot import Shot
from .step_change import StepChange, per_step_specs
from .upper import Arm, Loose
from .variant import Variant, walk_specs
from .view import CameraSetup

FORMAT = 1
"""The format of shot and puppet files that is written, and the newest that is read."""

_ALWAYS = {"fps", "frames_per_pose", "steps", "poses_per_step", "knee"}
"""Written even at their default: a shot should say these."""
COMMENT_COLUMN = 34
"""Where comments begin, behind values that are shorter."""


def dump_shot(shot: Shot) -> str:
    """A shot as one TOML text, its puppet inside. `parse_shot` of it gives an equal Shot. LF, ends with a line end."""
    out = _Writer("shot")
    out.values(shot, skip=("puppet", "walk", "stage", "rig", "cameras", "overlay", "variants"), fps=_fps(shot.fps))
    out.table("walk", shot.walk, skip=("hips",))
    out.table("walk.hips", shot.walk.hips)
    for change in shot.step_changes:
        out.step(change)
    for piece in shot.path:
        out.row("path", piece)
    out.table("floor", shot.floor)
    for key in ("stairs", "plank", "kerb"):
        if getattr(shot.floor, key) is not None:
            out.table(f"floor.{key}", getattr(shot.floor, key))
    out.table("stage", shot.stage)
    if shot.grid is not None:
        out.table("grid", shot.grid)
    for obstacle in shot.obstacles:
        out.row("obstacle", obstacle)
    for hold in shot.holds:
        out.row("hold", hold)
    out.edits(shot.edits)
    if shot.rig is not None:
        out.table("rig", shot.rig, even_empty=True)
    for camera in shot.cameras:
        out.camera(camera)
    out.table("overlay", shot.overlay)
    for one in shot.variants:
        out.variant(one)
    out.header("[puppet]")
    out.puppet(shot.puppet, "puppet.")
    return out.text()


def edits_text(edits: Edits) -> str:
    """The tables of edits alone, to stand at the end of a shot's text that has none."""
    out = _Writer("shot")
    out.lines.clear()
    out.edits(edits)
    return "\n".join(out.lines) + "\n"


def dump_puppet(puppet: Puppet) -> str:
    """A puppet as one TOML text. `parse_puppet` of it gives an equal Puppet. LF, ends with a line end."""
    out = _Writer("puppet")
    out.puppet(puppet, "")
    return out.text()


def dump_table(kind: str, model: object) -> str:
    """A file that is one table. LF, ends with a line end."""
    out = _Writer(kind)
    out.values(model)
    return out.text()


def _fps(fps: str) -> str:
    return fps if fps.isascii() and fps.isdigit() and str(int(fps)) == fps else json.dumps(fps)


def _number(value: float) -> str:
    """Shortest text that reads back as the same number; whole numbers without a point, -0 as 0."""
    return str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(float(value))


def value_text(value: Any) -> str:
    """A value of the model as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, tuple):
        return "[" + ", ".join(value_text(one) for one in cast("tuple[Any, ...]", value)) + "]"
    return _number(value)


class _Writer:
    def __init__(self, kind: str) -> None:
        self.lines = [f'kind = "{kind}"', f"format = {FORMAT}"]
        self.explained: set[tuple[type, str]] = set()

    def text(self) -> str:
        return "\n".join(self.lines) + "\n"

    def header(self, header: str) -> None:
        self.lines += ["", header]

    def values(self, model: object, *, skip: tuple[str, ...] = (), fps: str = "") -> None:
        """The fields that are required, always said, or not at their default. A comment where a field is met first."""
        cls = type(model)
        for key in specs_of(cls):
            value = getattr(model, key)
            default = _default_of(cls, key)
            if key in skip or value is None or (value == default and key not in _ALWAYS):
                continue
            line = f"{key} = {fps if fps and key == 'fps' else value_text(value)}"
            if (cls, key) not in self.explained:
                self.explained.add((cls, key))
                line = f"{line:<{COMMENT_COLUMN - 1}} # {specs_of(cls)[key].doc}"
            self.lines.append(line)

    def table(self, header: str, model: object, *, skip: tuple[str, ...] = (), even_empty: bool = False) -> None:
        before = len(self.lines)
        self.header(f"[{header}]")
        self.values(model, skip=skip)
        if len(self.lines) == before + 2 and not even_empty:
            del self.lines[before:]

    def camera(self, one: CameraSetup) -> None:
        """A matched one always says its resolution: left out, it would be the still's."""
        self.table(f"view.{one.name}", one, skip=("name",), even_empty=True)
        if one.matched is not None:
            if one.resolution == _default_of(CameraSetup, "resolution"):
                self.lines.append(f"resolution = {value_text(one.resolution)}")
            self.table(f"view.{one.name}.camera", one.matched)

    def row(self, header: str, model: object) -> None:
        """One of a list of tables."""
        self.header(f"[[{header}]]")
        self.values(model)

    def edits(self, edits: Edits) -> None:
        self.table("edit", edits)
        for footfall in edits.footfalls:
            self.row("edit.footfall", footfall)
        for body in edits.body:
            self.row("edit.body", body)

    def step(self, change: StepChange, prefix: str = "") -> None:
        self.header(f"[{prefix}step.{change.which}]")
        specs = per_step_specs()
        for key, value in change.values:
            line = f"{key} = {value_text(value)}"
            self.lines.append(f"{line:<{COMMENT_COLUMN}}# {specs[key].doc}")

    def variant(self, one: Variant) -> None:
        """A variant's few values, each with what it means."""
        place, specs = f"variant.{one.name}", specs_of(Variant)
        self.header(f"[{place}]")
        for key, value in (("title", one.title or None), ("frames_per_pose", one.frames_per_pose)):
            if value is not None:
                self._explained(f"{key} = {value_text(value)}", specs[key].doc)
        if one.fps is not None:
            self._explained(f"fps = {_fps(one.fps)}", specs["fps"].doc)
        if one.opened:
            self._explained(f"open = {value_text(one.opened)}", "Values of [walk] that are left open here")
        for header, keys in (
            (f"[{place}.walk]", [pair for pair in one.values if "." not in pair[0]]),
            (f"[{place}.walk.hips]", [pair for pair in one.values if "." in pair[0]]),
        ):
            if keys:
                self.header(header)
            for key, value in keys:
                self._explained(f"{key.rpartition('.')[2]} = {value_text(value)}", walk_specs()[key].doc)
        for change in one.step_changes:
            self.step(change, f"{place}.")

    def _explained(self, line: str, meaning: str) -> None:
        self.lines.append(f"{line:<{COMMENT_COLUMN}}# {meaning}")

    def puppet(self, puppet: Puppet, prefix: str) -> None:
        self.values(puppet)
        self.table(f"{prefix}body", puppet.body)
        measured: list[Leg] = []
        for leg in puppet.legs:
            alone = dataclasses.replace(leg, measured=())
            twin = next((one for one in measured if one.mirrored(leg.name) == alone), None)
            if twin:
                self.header(f"[{prefix}leg.{leg.name}]")
                self.lines.append(f'mirror_of = "{twin.name}"')
            else:
                measured.append(leg)
                self.table(f"{prefix}leg.{leg.name}", leg, skip=("name",), even_empty=True)
                self.table(f"{prefix}leg.{leg.name}.limits", leg.limits)
                self.table(f"{prefix}leg.{leg.name}.holding", leg.holding)
                for pull in leg.pulls:
                    self.row(f"{prefix}leg.{leg.name}.pull", pull)
            for line in leg.measured:
                self.header(f"[[{prefix}leg.{leg.name}.measured]]")
                self.values(line)
        self._limbs(f"{prefix}arm", puppet.arms)
        self._limbs(f"{prefix}loose", puppet.loose)
        for shape in puppet.shapes:
            self.header(f"[[{prefix}shape]]")
            self.values(shape)

    def _limbs(self, header: str, limbs: tuple[Arm, ...] | tuple[Loose, ...]) -> None:
        """Arms or loose parts; one that mirrors an earlier one says so."""
        measured: list[Arm | Loose] = []
        for one in limbs:
            self.header(f"[{header}.{one.name}]")
            twin = next((other for other in measured if other.mirrored(one.name) == one), None)
            if twin:
                self.lines.append(f'mirror_of = "{twin.name}"')
                continue
            measured.append(one)
            self.values(one, skip=("name",))
            self.table(f"{header}.{one.name}.limits", one.limits)


def _default_of(cls: type, key: str) -> Any:
    return next(f.default for f in dataclasses.fields(cls) if f.name == key)
