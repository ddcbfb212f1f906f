"""Plan + View -> Drawing: every overlay layer of one picture, as data.

`ShotDrawings` projects all poses of a view once and then makes each pose's drawing from a few poses around it, so a
picture of a long shot costs no more than one of a short shot.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..camera.lens import bent_path
from ..errors import ModelError
from ..model.shot import LAYERS, Overlay
from ..model.view import View
from ..solve.plan import Plan
from .drawing import Drawing, Item, Label, Layer
from .floor import Floor
from .labelling import Box, LabelBlock, NotePlacer
from .level import LevelMark
from .marks import RING_RADIUS, Arcs, ReferenceMarks
from .palette import FULL_HEIGHT, Palette
from .puppet_outline import PuppetOutlines
from .weight_marks import WeightMarks

Floats = npt.NDArray[np.float64]

STILL_LAYERS = ("floor", "arcs")
"""Layers that are the same in every picture of a camera that does not move."""


def drawing_of(
    plan: Plan, view: View, pose: int, overlay: Overlay | None = None, layers: Sequence[str] = LAYERS
) -> Drawing:
    """The drawing of one pose (index from 0) in one view. For many poses keep a `ShotDrawings`.

    overlay: neighbours and ghosts; None: the shot's own. Raises ModelError for an unknown layer, GeometryError for a
    lens that folds, IndexError for a pose that is not there.
    """
    return ShotDrawings(plan, view, overlay).drawing(pose, layers)


class ShotDrawings:
    """All drawings of one shot in one view."""

    def __init__(self, plan: Plan, view: View, overlay: Overlay | None = None) -> None:
        self.plan, self.view = plan, view
        self.overlay = plan.shot.overlay if overlay is None else overlay
        palette = Palette(view.height / FULL_HEIGHT)
        self._palette = palette
        self._puppet = PuppetOutlines(plan, view, palette)
        near = self._puppet.near_legs
        self._reference = ReferenceMarks(plan, view, palette)
        self._arcs = Arcs(plan, view, palette, near, self.overlay.arcs)
        self._level = LevelMark(plan, view, palette)
        self._weight = WeightMarks(plan, view, palette)
        self._floor = Floor(plan, view, palette, near)
        self._block = LabelBlock(plan, view, palette, self._puppet.boxes_px())
        self._still: dict[str, Layer] = {}

    def drawing(self, pose: int, layers: Sequence[str] = LAYERS) -> Drawing:
        """The drawing of pose index `pose` with the named layers, lowest first whatever their order here."""
        for name in layers:
            if name not in LAYERS:
                raise ModelError("layers", "layers out of " + ", ".join(LAYERS), repr(name))
        chosen = tuple(self.layer(name, pose) for name in LAYERS if name in layers)
        return Drawing(self.view.width, self.view.height, chosen)

    def layer(self, name: str, pose: int) -> Layer:
        """One layer of one pose. A still layer is the same object in every pose."""
        if not 0 <= pose < self.plan.poses:
            raise IndexError(f"pose index {pose} of {self.plan.poses} poses")
        if name in STILL_LAYERS and not self._moves(name):
            if name not in self._still:
                self._still[name] = Layer(name, tuple(self._items(name, pose)), still=True)
            return self._still[name]
        return Layer(name, tuple(self._items(name, pose)))

    def _moves(self, name: str) -> bool:
        """True where a layer of what stands still is another in every pose."""
        return self.view.moving or (name == "floor" and self.plan.shot.walk.on_the_spot)

    def _items(self, name: str, pose: int) -> list[Item]:
        match name:
            case "floor":
                return self._floor.items(pose, self._reach_mm(pose) if self.view.moving else None)
            case "arcs":
                return self._arcs.items(pose, 2 * self.plan.shot.walk.poses_per_step if self.view.moving else None)
            case "ghosts":
                window = self._reference.window(pose, self.view)
                return self._puppet.ghost_items(pose, self.overlay.ghosts_before, self.overlay.ghosts_after, window)
            case "pose":
                return self._puppet.pose_items(pose, self._reference.window(pose, self.view))
            case "weight":
                if self._weight.weight is None:
                    return []
                return self._weight.items(pose, self._placer(pose), [self._block.box])
            case "level":
                return self._level_items(pose)
            case "spacing":
                return self._reference.spacing_items(pose, self.overlay.neighbours)
            case "target":
                return self._reference.target_items(pose)
            case "labels":
                return self._block.items(pose) + self._notes(pose)
            case _:
                raise ModelError("layers", "layers out of " + ", ".join(LAYERS), repr(name))

    def _reach_mm(self, pose: int) -> float:
        """How far along the floor a moving camera sees at the reference point's depth, and half as much again."""
        view = self.view.at(pose)
        depth = float((view.rotation @ self.plan.reference_mm[pose] + view.translation_mm)[2])
        return 0.75 * view.width / view.fx * max(depth, 1.0)

    def _notes(self, pose: int) -> list[Item]:
        """What a pose has to say beside its lines: which foot is out of reach, and how far."""
        gaps = self._puppet.gaps_px(pose)
        if not gaps:
            return []
        placer = self._placer(pose)
        items: list[Item] = []
        for leg, at in gaps:
            gap = float(self.plan.gap_mm[pose, leg])
            items.extend(placer.note(f"{self.plan.legs[leg]} foot {gap:.1f} mm out of reach", at))
        return items

    def _level_items(self, pose: int) -> list[Item]:
        """The level mark, and beside it how level the top is."""
        if not self._level.shown(pose):
            return []
        items, at = self._level.items(pose), self._level.place_px(pose)
        if np.isfinite(at).all():
            # without the line that leads to it: that would look like the mark's own
            note = self._placer(pose).note(self._level.words(pose), at)
            items += [item for item in note if isinstance(item, Label)]
        return items

    def _placer(self, pose: int) -> NotePlacer:
        """Room for notes beside the puppet of a pose."""
        taken: list[Box] = [self._block.box]
        if self._reference.shown(pose):
            x, y = self._reference.pixels[pose]
            room = (RING_RADIUS + 16.0) * self._palette.scale
            taken.append((x - room, y - room, x + room, y + room))
        for piece in self._puppet.all_pieces(pose):
            path = bent_path(self.view, piece)
            low, high = path.min(axis=0), path.max(axis=0)
            taken.append((float(low[0]), float(low[1]), float(high[0]), float(high[1])))
        return NotePlacer(self.view, self._palette, taken)
