"""The only writer of bpy.data: one owned collection per scene, built from a plan and its views, rebuilt in place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from striderule.model.view import View
from striderule.solve.plan import Plan

from .. import bridge
from . import bands, beside, cameras, handles, lines, marks, posing, puppet, stage
from .beside import Beside
from .handles import Dragged
from .owned import OwnedSet, role_of, set_collection

__all__ = [
    "Beside",
    "Dragged",
    "SceneSettings",
    "aim",
    "build",
    "camera_of",
    "carry_floor",
    "chart",
    "chosen_footfalls",
    "curve_line_mm",
    "dragged",
    "hide",
    "is_floor",
    "is_handle",
    "is_ours",
    "look_through",
    "mesh_height_mm",
    "pose_anew",
    "posed",
    "read_text",
    "remove",
    "set_collection",
    "things",
]

TEXT = "shot.toml"
look_through = cameras.look_through
aim = cameras.aim
carry_floor = marks.carry_floor
dragged = handles.dragged
chosen_footfalls = handles.chosen
is_handle = handles.is_handle
curve_line_mm = lines.curve_line_mm
mesh_height_mm = lines.mesh_height_mm
posed = posing.read
chart = bands.chart


@dataclass(frozen=True)
class SceneSettings:
    """What to show besides puppet, marks and floor. text: the shot as TOML, kept in the set; "" leaves it as it is.
    floor_for: other walks that floor and ruler have to hold as well. beside: all walks of a set that shows several,
    the shown one among them; none = it stands alone. handles: footfalls can be dragged. posing: a
    contact and a passing can. band: the working band at the hips. board: a floor of
    our own to stand on."""

    ghosts_before: int = 2
    ghosts_after: int = 2
    ruler: bool = True
    text: str = ""
    floor_for: tuple[Plan, ...] = ()
    beside: tuple[Beside, ...] = ()
    handles: bool = False
    posing: bool = False
    band: bool = False
    board: bool = True


def build(scene: Any, plan: Plan, views: Sequence[View], settings: SceneSettings = SceneSettings()) -> None:
    """Make the scene's set show `plan`. Whatever an earlier build made and this one does not need is removed.

    The scene's rate, frame range and, where it has none yet, its camera are set; nothing else of the user's changes.
    """
    owned = OwnedSet(scene)
    scene.render.fps, scene.render.fps_base = bridge.fps_of_rate(plan.shot.rate)
    scene.frame_start, scene.frame_end = 1, max(plan.frames, *beside.frames_of(settings.beside, plan), 1)
    puppet.build(owned, plan, settings.ghosts_before, settings.ghosts_after)
    marks.build(owned, plan, settings.ruler, (*settings.floor_for, *(one.plan for one in settings.beside)),
                beside.reach_mm(settings.beside), settings.board)  # fmt: skip
    stage.build(owned, plan)
    beside.build(owned, plan, settings.beside)
    cameras.build(owned, plan, views)
    if settings.band:
        bands.build(owned, plan)
    if settings.posing:
        posing.build(owned, plan)
    handles.build(owned, plan if settings.handles else None)
    if settings.text:
        text = owned.get("texts", TEXT)
        text.from_string(settings.text)
        text.use_fake_user = True
    else:
        owned.keep("texts")
    owned.keep("images")  # charts, which are of no walk in particular
    owned.sweep()
    if scene.camera is None and views:
        look_through(scene, camera_of(scene, views[0].name))
    cameras.paint_legs(scene)
    # Keys of single precision: show them now, not from the next frame change on.
    scene.frame_set(scene.frame_current)


def pose_anew(scene: Any, plan: Plan) -> None:
    """Put the handles of contact and passing back to what the plan has there."""
    posing.build(OwnedSet(scene), plan, anew=True)
    cameras.paint_legs(scene)


def camera_of(scene: Any, view: str) -> Any | None:
    """Our camera of that view's name in `scene`, None where there is none."""
    return OwnedSet(scene).find("objects", cameras.camera_role(view)) if set_collection(scene) else None


def things(scene: Any) -> list[Any]:
    """Every object of our set in `scene`; none where it has no set."""
    collection = set_collection(scene)
    return list(collection.all_objects) if collection else []


def is_floor(thing: Any) -> bool:
    """True for the floor of one of our sets, boards of slopes and stairs included."""
    return (role_of(thing) or ("", ""))[1] in ("floor", "ground")


def is_ours(block: Any) -> bool:
    """True where a data-block was made by us and is still ours."""
    return role_of(block) is not None


def hide(scene: Any, groups: Sequence[str], hidden: bool) -> None:
    """Keep groups of our set (puppet, marks, tracks, floor) out of renders, or show them again."""
    owned = OwnedSet(scene)
    for group in groups:
        owned.group(group).hide_render = hidden


def read_text(scene: Any) -> str:
    """The shot's TOML as kept in the scene's set; "" where there is none."""
    text = OwnedSet(scene).find("texts", TEXT) if set_collection(scene) else None
    return text.as_string() if text else ""


def remove(scene: Any) -> None:
    """Take our set out of `scene`, leaving nothing of it behind."""
    if set_collection(scene):
        OwnedSet(scene).remove()
