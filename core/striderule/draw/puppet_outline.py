"""The puppet's outlines in a picture: legs and body as clean outlines, ghosts, hidden lines left out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..camera.clipping import clipped_polygon, cut_path
from ..camera.lens import NEAR_MM, bent_path, camera_from_stage, pixels_from_plane, plane_from_stage
from ..camera.sides import near_legs
from ..camera.solids import Solid, planned_ankle_mm, solids_of
from ..check.limits import out_of_reach
from ..model.view import View
from ..solve.plan import Plan
from .drawing import Area, Ink, Item, Line
from .palette import LimbLook, Palette
from .silhouettes import Covers, boxes_of, hull_of_discs, hull_of_points, outline_outside, union_outline, visible_runs
from .stacking import Stacking, Unit

Floats = npt.NDArray[np.float64]

GHOST_ALPHAS = (0.8, 0.55, 0.35)
"""How strong the first, second and every further ghost is."""

TRUNK_GHOST = 0.45
"""Ghosts of arms and loose parts are so much fainter: they are as white as the pose's own outline."""

_SAGITTA_PX = 0.08


@dataclass(frozen=True, eq=False)
class Part:
    """One connected part of the puppet in one picture: its convex pieces and their union's outline, in the plane."""

    pieces: tuple[Floats, ...]
    rings: tuple[Floats, ...]
    low: Floats  # (pieces, 2) lowest and highest corner of the upright box around every piece
    high: Floats

    @classmethod
    def of(cls, pieces: tuple[Floats, ...], tiny: float) -> Part | None:
        """None without pieces."""
        if not pieces:
            return None
        return cls(pieces, tuple(union_outline(pieces, tiny)), *boxes_of(pieces))

    def met_by(self, others: Iterable[Part]) -> list[Floats]:
        """Those pieces of other parts whose boxes meet the box around this part."""
        low, high = self.low.min(axis=0), self.high.max(axis=0)
        found: list[Floats] = []
        for other in others:
            meets = ((other.low <= high) & (other.high >= low)).all(axis=1)
            found += [other.pieces[k] for k in np.flatnonzero(meets).tolist()]
        return found


class PuppetOutlines:
    """The puppet of a plan as one view shows it, projected for all poses at once; outlines are made pose by pose."""

    def __init__(self, plan: Plan, view: View, palette: Palette) -> None:
        self._view, self._palette = view, palette
        self._solids: tuple[Solid, ...] = solids_of(plan)
        self._camera = [camera_from_stage(view, solid.centres_mm) for solid in self._solids]
        self._gap = out_of_reach(plan)
        self._ankle_plane, _ = plane_from_stage(view, plan.ankle_mm)
        self._planned_plane, _ = plane_from_stage(view, planned_ankle_mm(plan))
        self._tiny = 1e-4 / view.fx
        self._sagitta = _SAGITTA_PX * max(1.0, palette.scale) / view.fx
        self._box = (-64.0, -64.0, view.width + 63.0, view.height + 63.0)
        self.near_legs = near_legs(plan, view)
        self.stacking = Stacking(plan, view, self._solids)
        self._parts: dict[tuple[int, tuple[int, ...], int | None], Part | None] = {}

    def hull(self, index: int, pose: int, seen_from: int | None = None) -> Floats:
        """Corners in the plane of solid `index` as it is seen; cut at the near plane; (0, 2) behind the camera.

        seen_from: the pose at which a moving camera looks, so that what stands on the floor stays in its place.
        """
        camera, radii = self._camera[index][pose], self._solids[index].radii_mm
        moved = self._view.translations_mm
        if moved is not None and seen_from is not None:
            camera = camera + (moved[seen_from] - moved[pose])
        ahead = camera[:, 2] >= NEAR_MM
        if not ahead.all():
            camera, radii = _cut_at_near(camera, radii, ahead)
            if not len(camera):
                return np.zeros((0, 2))
        plane, size = camera[:, :2] / camera[:, 2:], radii / camera[:, 2]
        if not size.any():
            return hull_of_points(plane)
        second = min(1, len(plane) - 1)
        return hull_of_discs(plane[0], plane[second], float(size[0]), float(size[second]), self._sagitta)

    def _part(self, pose: int, solids: tuple[int, ...], seen_from: int | None = None) -> Part | None:
        """The solids of those indices as one outline; None where none of them is seen."""
        key = (pose, solids, seen_from if self._view.moving else None)
        if key not in self._parts:
            for old in list(self._parts)[:-64]:  # several threads may draw at once
                self._parts.pop(old, None)
            pieces = tuple(piece for piece in (self.hull(i, pose, seen_from) for i in solids) if len(piece) >= 3)
            self._parts[key] = Part.of(pieces, self._tiny)
        return self._parts[key]

    def _some(self, unit: Unit, names: tuple[str, ...]) -> tuple[int, ...]:
        return tuple(i for i in unit.solids if self._solids[i].part in names)

    def all_pieces(self, pose: int) -> list[Floats]:
        """Convex pieces in the plane of the whole puppet in a pose."""
        return [piece for part in self._all_parts(pose) for piece in part.pieces]

    def _all_parts(self, pose: int) -> list[Part]:
        return [part for unit in self.stacking.units if (part := self._part(pose, unit.solids))]

    def _look(self, leg: int) -> LimbLook:
        if leg < 0:
            return self._palette.body
        return self._palette.near_leg if self.near_legs[leg] else self._palette.far_leg

    def pose_items(self, pose: int, window: Floats) -> list[Item]:
        """The pose's legs and body, farthest first. window: convex piece of the plane that lines leave open.

        What a nearer part hides is left out, of lines and of fills.
        """
        parts: list[tuple[Part, LimbLook, bool]] = []
        for unit in self.stacking.order(pose):
            gap = unit.leg >= 0 and bool(self._gap[pose, unit.leg])
            # a leg that does not reach its foot is drawn apart from it, and dashed
            pieces = (self._some(unit, ("thigh", "shank", "cannon")), self._some(unit, ("foot", "toe")))
            for k, solids in enumerate(pieces if gap else (unit.solids,)):
                if part := self._part(pose, solids):
                    parts.append((part, self._look(unit.leg), gap and k == 0))
        items: list[Item] = []
        for place, (part, look, unreached) in enumerate(parts):
            nearer = part.met_by(over for over, _, _ in parts[place + 1 :])
            if look.fill > 0:
                items.extend(self._areas(part, look, nearer))
            ink = look.unreached(self._palette.scale) if unreached else look.outline
            items.extend(self._lines(part, Covers.of([window, *nearer]), ink))
        for leg in np.flatnonzero(self._gap[pose]).tolist():
            ends = np.stack([self._ankle_plane[pose, leg], self._planned_plane[pose, leg]])
            if np.isfinite(ends).all():
                ink = self._look(leg).unreached(0.5 * self._palette.scale)
                items.extend(Line(path, ink) for path, _ in self._on_picture(ends, False))
        return items

    def ghost_items(self, pose: int, before: int, after: int, window: Floats) -> list[Item]:
        """Legs, arms and loose parts in the poses around, farthest in time first; ghosts of poses to come are dashed.

        What lies under this pose's puppet or under a nearer ghost of the same part is left out.
        """
        count = len(self._gap)
        offsets = [k for k in (*range(-before, 0), *range(1, after + 1)) if 0 <= pose + k < count]
        offsets.sort(key=lambda k: (-abs(k), k))
        own = self._all_parts(pose)
        items: list[Item] = []
        for offset in offsets:
            alpha = GHOST_ALPHAS[min(abs(offset), len(GHOST_ALPHAS)) - 1]
            nearer = [k for k in offsets if k * offset > 0 and abs(k) < abs(offset)]
            for unit in self.stacking.order(pose):
                part = self._part(pose + offset, unit.solids, pose) if unit.limb else None
                if part is None:
                    continue
                others = [self._part(pose + k, unit.solids, pose) for k in nearer]
                over = part.met_by([*own, *(other for other in others if other)])
                alpha_here = alpha if unit.leg >= 0 else TRUNK_GHOST * alpha
                ink = self._look(unit.leg).faded(alpha_here, self._palette.scale, dashed=offset > 0)
                items.extend(self._lines(part, Covers.of([window, *over]), ink))
        return items

    def boxes_px(self) -> Floats:
        """(poses, 4) left, top, right, bottom of the puppet in pixels, in every pose; NaN where it is not seen."""
        low, high = np.full((len(self._gap), 2), np.nan), np.full((len(self._gap), 2), np.nan)
        for camera, solid in zip(self._camera, self._solids, strict=True):
            depth = np.where(camera[..., 2] >= NEAR_MM, camera[..., 2], np.nan)[..., None]
            pixels = pixels_from_plane(self._view, camera[..., :2] / depth)
            reach = solid.radii_mm[:, None] * (self._view.fx, self._view.fy) / depth
            low = np.fmin(low, np.fmin.reduce(pixels - reach, axis=1))
            high = np.fmax(high, np.fmax.reduce(pixels + reach, axis=1))
        return np.concatenate([low, high], axis=1)

    def gaps_px(self, pose: int) -> list[tuple[int, Floats]]:
        """(leg, middle of the gap in pixels) of every foot out of reach that the picture shows."""
        found: list[tuple[int, Floats]] = []
        for leg in np.flatnonzero(self._gap[pose]).tolist():
            ends = np.stack([self._ankle_plane[pose, leg], self._planned_plane[pose, leg]])
            if np.isfinite(ends).all():
                found.append((leg, bent_path(self._view, ends.mean(axis=0)[None])[0]))
        return found

    def _lines(self, part: Part, covers: Covers, ink: Ink) -> list[Item]:
        least = 2.0 * ink.width / self._view.fx
        runs = [
            run
            for run in visible_runs(part.rings, True, covers, self._tiny)
            if run.closed or np.hypot(*np.diff(run.places, axis=0).T).sum() > least
        ]  # no specks
        return [Line(path, ink, closed) for run in runs for path, closed in self._on_picture(run.places, run.closed)]

    def _areas(self, part: Part, look: LimbLook, nearer: Sequence[Floats]) -> list[Item]:
        """The part's fill where no nearer piece hides it."""
        outlines = outline_outside(part.pieces, nearer, self._tiny) if nearer else part.rings
        rings = [clipped_polygon(bent_path(self._view, ring, closed=True), self._box) for ring in outlines]
        seen = tuple(ring for ring in rings if len(ring) >= 3)
        return [Area(seen, look.outline.colour, look.fill)] if seen else []

    def _on_picture(self, plane: Floats, closed: bool) -> list[tuple[Floats, bool]]:
        """Pixel paths of a plane path, cut around the frame, and whether each is still closed."""
        path = bent_path(self._view, plane, closed)
        left, top, right, bottom = self._box
        if ((path >= (left, top)) & (path <= (right, bottom))).all():
            return [(path, closed)]
        if closed:
            path = np.concatenate([path, path[:1]])
        return [(piece, False) for piece in cut_path(path, self._box)]


def _cut_at_near(camera: Floats, radii: Floats, ahead: npt.NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Balls beyond the near plane, and where the lines from those to the others cross it."""
    front, back = np.flatnonzero(ahead), np.flatnonzero(~ahead)
    if not len(front):
        return camera[:0], radii[:0]
    a, b = camera[front][:, None], camera[back][None]
    share = (a[..., 2] - NEAR_MM) / (a[..., 2] - b[..., 2])
    crossing = (a + share[..., None] * (b - a)).reshape(-1, 3)
    crossing[:, 2] = NEAR_MM
    size = (radii[front][:, None] + share * (radii[back][None] - radii[front][:, None])).reshape(-1)
    return np.concatenate([camera[front], crossing]), np.concatenate([radii[front], size])
