"""The shot: puppet, walk, stage, cameras, and how its pictures are wanted. The one input of everything."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from ..errors import ModelError
from .edits import Edits, Hold
from .fields import ADDED, APART, added, check_fields, count, names, text
from .floor import Floor
from .laid_out import LaidOut, laid_out
from .path import PathPiece
from .puppet import Puppet
from .stage import HoleGrid, Obstacle, Stage
from .step_change import StepChange, put_over
from .variant import MAIN, Variant
from .view import BUILT_IN_VIEWS, CameraSetup
from .walk import Walk
from .weight import Rig

LAYERS = ("floor", "arcs", "ghosts", "pose", "weight", "level", "spacing", "target", "labels")
"""Overlay layers, lowest first. What a shot has nothing of is not written by itself (`Shot.layers`)."""

ARC_POINTS = ("hip", "knee", "ankle", "toe", "hand", "head", "loose")
"""Points whose arcs the layer `arcs` can show; hand: of every arm; loose: the ends of loose parts."""


_BACKDROPS = {"black": "#000000", "white": "#ffffff", "grey": "#808080", "gray": "#808080"}


def backdrop_code(words: str, key: str = "overlay.backdrop") -> str | None:
    """The backdrop's colour as #rrggbb; None for "none", which is see-through. key: whose value it is, for the
    refusal. Raises ModelError."""
    plain = words.strip().lower()
    if plain == "none":
        return None
    code = _BACKDROPS.get(plain, plain)
    if not re.fullmatch(r"#[0-9a-f]{6}", code):
        raise ModelError(key, "none, black, white, grey or a colour as #rrggbb", repr(words))
    return code


@dataclass(frozen=True)
class Overlay:
    """Which pictures are made to line the puppet up with."""

    views: tuple[str, ...] = names("Views that get overlay pictures", ("side-on", "three-quarter-front", "head-on"))
    layers: tuple[str, ...] = names(
        "Layers in the flat picture", ("ghosts", "pose", "level", "spacing", "target", "labels")
    )
    arcs: tuple[str, ...] = added(names("Points whose arcs the layer arcs shows", ("ankle", "toe")))
    neighbours: int = count("Spacing marks shown before and after the pose", 3, least=0, most=50)
    ghosts_before: int = count("Ghost poses before", 1, least=0, most=12)
    ghosts_after: int = count("Ghost poses after", 0, least=0, most=12)
    first_number: int = count("Number of the first picture", 1, least=0, most=999999)
    digits: int = count("Digits in a picture's number", 4, least=1, most=9)
    backdrop: str = text("Backdrop: none, black, white, grey or a colour as #rrggbb", "none")

    def __post_init__(self) -> None:
        check_fields(self, "overlay")
        backdrop_code(self.backdrop)
        for layer in self.layers:
            if layer not in LAYERS:
                raise ModelError("overlay.layers", "layers out of " + ", ".join(LAYERS), repr(layer))
        for point in self.arcs:
            if point not in ARC_POINTS:
                raise ModelError("overlay.arcs", "points out of " + ", ".join(ARC_POINTS), repr(point))


@dataclass(frozen=True)
class Shot:
    """A shot. fps as a fraction (12, or 30000/1001); a pose is held for frames_per_pose frames (1 = on ones).

    variants: other versions of the walk; they change nothing of the main one, and `with_variant` says whether they fit.
    """

    name: str = text("Name of the shot")
    puppet: Puppet = field(kw_only=True)
    fps: str = text("Frames per second, a whole number or a fraction such as 30000/1001", "12")
    frames_per_pose: int = count("Frames each pose is held: 1 = on ones, 2 = on twos", 1, least=1, most=100)
    walk: Walk = field(default_factory=Walk)
    step_changes: tuple[StepChange, ...] = ()
    path: tuple[PathPiece, ...] = ()
    floor: Floor = field(default_factory=Floor)
    stage: Stage = field(default_factory=Stage)
    grid: HoleGrid | None = None
    obstacles: tuple[Obstacle, ...] = ()
    holds: tuple[Hold, ...] = ()
    edits: Edits = field(default_factory=Edits)
    rig: Rig | None = field(default=None, metadata=ADDED)
    cameras: tuple[CameraSetup, ...] = ()
    overlay: Overlay = field(default_factory=Overlay)
    variants: tuple[Variant, ...] = field(default=(), metadata=APART)

    def __post_init__(self) -> None:
        check_fields(self)
        self.rate  # noqa: B018  (refuses a bad fps here, where the file's line is still known)
        known = {*BUILT_IN_VIEWS, *(camera.name for camera in self.cameras)}
        for view in self.overlay.views:
            if view not in known:
                raise ModelError("overlay.views", "views out of " + ", ".join(sorted(known)), repr(view))
        seen = [camera.name for camera in self.cameras]
        if len(set(seen)) != len(seen):
            raise ModelError("view", "views of different names", ", ".join(seen))
        varied = [one.name for one in self.variants]
        if len(set(varied)) != len(varied):
            raise ModelError("variant", "variants of different names", ", ".join(varied))
        first = self.walk.first_foot
        if first is not None and first not in self.puppet.leg_names:
            raise ModelError("walk.first_foot", "a leg of the puppet: " + ", ".join(self.puppet.leg_names), repr(first))
        turned = next((one for one in self.path[1:] if one.heading_deg is not None), None)
        if turned:
            raise ModelError("path.heading_deg", "a heading in the first piece alone",
                             f"{turned.heading_deg:g} in a later one", "Leave it out there.")  # fmt: skip
        level = any(one.top == "level" for one in self.laid_out.kinds)  # refuses values that contradict each other
        if level and self.puppet.bends:
            raise ModelError("walk.top", "turning, because the chest carries legs", "level",
                             "A chest goes where its legs take it; hang them on the body instead.")  # fmt: skip

    @property
    def settled_walk(self) -> Walk:
        """The walk with every open value filled in to fit the puppet, path and floor."""
        return self.laid_out.walk

    @cached_property
    def laid_out(self) -> LaidOut:
        """The walk step by step: every step's values, and when it begins. Raises ModelError where typed values
        contradict each other."""
        return laid_out(self)

    @property
    def rate(self) -> Fraction:
        """Frames per second, exact. Raises ModelError."""
        rate = Fraction(0)
        # Fraction alone would also read "1e999999999", and never come back from it.
        if re.fullmatch(r"[0-9]{1,6}(/[0-9]{0,5}[1-9][0-9]{0,5})?", self.fps):
            rate = Fraction(self.fps)
        if not 1 <= rate <= 240:
            raise ModelError("fps", "frames per second from 1 to 240, whole or as 30000/1001", repr(self.fps))
        return rate

    @property
    def layers(self) -> tuple[str, ...]:
        """Overlay layers that this shot can have something in: a level mark only where the top is kept level, weight
        only where parts were weighed."""
        level = any(one.top == "level" for one in self.laid_out.kinds)
        weighed = self.puppet.weighed_g > 0 or self.puppet.body.total_g is not None
        without = {"level": not level, "weight": not weighed}
        return tuple(layer for layer in LAYERS if not without.get(layer, False))

    @property
    def repeats(self) -> bool:
        """True where every stride is like the next: it may be made longer or shorter and stays the same walk."""
        walk, same = self.walk, Edits(hips_up_mm=())
        straight = not (self.path or self.step_changes or self.holds) and self.floor.flat and self.edits == same
        return straight and walk.distance_mm is None and walk.start == walk.stop == "walking" and not walk.pause_poses

    def with_steps(self, steps: int) -> Shot:
        """The shot with so many steps of its plain walk, straight on over a flat floor: what repeats of it."""
        walk = replace(self.walk, steps=steps, step_mm=self.settled_walk.step_mm, distance_mm=None, start="walking",
                       stop="walking", pause_poses=0)  # fmt: skip
        if self.repeats:
            return replace(self, walk=replace(self.walk, steps=steps))
        return replace(self, walk=walk, step_changes=(), path=(), floor=Floor(), holds=(), edits=Edits())

    @property
    def poses(self) -> int:
        """Number of poses, the last contact included: N plain steps of n poses are N n + 1."""
        return self.laid_out.poses

    def with_variant(self, name: str) -> Shot:
        """The shot of one variant, under a name of its own and without variants; "main" is the walk itself.

        Raises ModelError: no variant of that name, or values that do not go with those of the main walk.
        """
        if name == MAIN:
            return replace(self, variants=())
        one = next((one for one in self.variants if one.name == name), None)
        if one is None:
            known = ", ".join((MAIN, *(one.name for one in self.variants)))
            cure = "" if self.variants else f"Describe it in the shot file, below [variant.{name[:40]}.walk]."
            raise ModelError("variant", f"one of {known}", repr(name), cure)
        try:
            return replace(
                self,
                name=f"{self.name}, {one.label}"[:200],
                walk=one.over(self.walk),
                step_changes=put_over(self.step_changes, one.step_changes) if one.step_changes else self.step_changes,
                fps=one.fps or self.fps,
                frames_per_pose=one.frames_per_pose or self.frames_per_pose,
                variants=(),
            )
        except ModelError as error:
            raise one.refusal(error) from error
