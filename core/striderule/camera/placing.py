"""Cameras of a shot: the built-in views, placed from the shot's extent, and the shot's own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError, ModelError
from ..model.view import BUILT_IN_VIEWS, CameraSetup, View
from ..solve.plan import Plan
from .matched_view import view_of_setup
from .sides import over_a_stride
from .solids import solids_of

Floats = npt.NDArray[np.float64]

MARGIN = 0.06
"""Share of the picture's smaller side that stays free around the puppet in every built-in view."""

CLOSE = 0.75
"""Height of the puppet, as a share of the picture's, in a picture that goes along with it."""

HEAD_ON_HIP_HEIGHTS = 3.0
"""Head-on stands at least this many hip heights beyond the last footprint."""


@dataclass(frozen=True)
class _BuiltIn:
    """azimuth_deg: where the camera stands: straight ahead of the puppet (0), at its side (90), behind it (180).
    down_deg: how far it looks down. height: "chest", "low" or "free" (whatever centres the puppet).
    tall: height of the puppet as a share of the picture's where it is farthest away, if the walk leaves room."""

    azimuth_deg: float
    down_deg: float = 0.0
    height: str = "chest"
    tall: float = 1 / 3
    on_track: bool = False
    moves: bool = False


_LOW_TILT = 0.55
"""How far the low view looks up, as a share of half its upright angle of view: the feet stay in the picture."""

_BUILT_IN = {
    "side-on": _BuiltIn(90),
    "three-quarter-front": _BuiltIn(45),
    "three-quarter-back": _BuiltIn(135),
    "head-on": _BuiltIn(0, on_track=True),
    "high": _BuiltIn(60, 35, "free"),
    "low": _BuiltIn(60, height="low"),
    "following": _BuiltIn(90, tall=CLOSE, moves=True),
}


def look_at(place_mm: Floats, target_mm: Floats) -> Floats:
    """Rotation (3, 3), stage axes to camera axes, of a level camera at `place_mm` that points at `target_mm`.

    Looking straight down or up the walk's direction X points to the right of the picture. Raises GeometryError where
    place and target are the same point.
    """
    ahead = np.asarray(target_mm, float) - np.asarray(place_mm, float)
    distance = float(np.linalg.norm(ahead))
    if not math.isfinite(distance) or distance < 1e-6:
        raise GeometryError(
            "A camera cannot point at itself: its place and its target are the same point. Move one of them."
        )
    return _level_axes(ahead / distance)


def _level_axes(ahead: Floats) -> Floats:
    right = np.array([ahead[1], -ahead[0], 0.0])
    level = float(np.linalg.norm(right))
    if level > 1e-6:
        right /= level
    else:
        right = np.array([1.0, 0.0, 0.0]) - ahead * float(ahead[0])
        right /= float(np.linalg.norm(right))
    return np.stack([right, np.cross(ahead, right), ahead])


def focal_pixels(setup: CameraSetup) -> float:
    """Focal length in (square) pixels: the picture is the largest of its shape that the sensor holds; a picture higher
    than wide is taken with the camera turned. 36 mm wide, 50 mm lens, 1920 pixels: 2666.67."""
    width, height = setup.resolution
    across, up = setup.sensor_mm
    if (width < height) != (across < up) and width != height:
        across, up = up, across
    return setup.lens_mm / min(across / width, up / height)


def views_of(plan: Plan, close: bool = False) -> tuple[View, ...]:
    """Every view of the shot: the built-in ones in their order, then the shot's own cameras in theirs.

    close: built-in cameras stand as near to the puppet as the following one, where the walk leaves room.

    A camera of the shot that bears a built-in name without a place sets that view's lens, sensor, resolution and
    side; with a place it replaces that view. Built-in views keep the whole puppet inside the frame in every pose.
    """
    own = {camera.name: camera for camera in plan.shot.cameras}
    extent = _Extent(plan)
    names = (*BUILT_IN_VIEWS, *(name for name in own if name not in BUILT_IN_VIEWS))
    travel = travel_mm(plan)
    return tuple(_view(own.get(name) or CameraSetup(name=name), extent, travel, close) for name in names)


def view_named(plan: Plan, name: str) -> View:
    """One view of the shot by name. Raises ModelError where there is none."""
    return shared_views([plan], name)[0]


def shared_views(plans: Sequence[Plan], name: str) -> tuple[View, ...]:
    """One camera for several walks, as each of them sees it: the same place, the same lens, all of them inside a
    built-in view's frame. A view that moves along goes with each walk from the same distance.

    name, setup: as the first plan's shot has it. Raises ModelError where there is none of that name.
    """
    plan = plans[0]
    setup = next((camera for camera in plan.shot.cameras if camera.name == name), None)
    if setup is None and name not in BUILT_IN_VIEWS:
        known = (*BUILT_IN_VIEWS, *(camera.name for camera in plan.shot.cameras))
        raise ModelError("view", "one of " + ", ".join(known), repr(name))
    extent = _Extent(*plans)
    return tuple(_view(setup or CameraSetup(name=name), extent, travel_mm(one)) for one in plans)


def travel_mm(plan: Plan) -> Floats:
    """(poses, 3) how far a camera that goes along is from the datum: with the reference point, without rise and sway
    within a stride; on a straight walk over a level floor along X alone."""
    travel = plan.reference_mm * (1.0, 0.0, 0.0)
    if plan.heading_deg.any():
        travel[:, :2] = over_a_stride(plan, plan.reference_mm[:, :2])
    if plan.floor_mm.any():
        travel[:, 2:] = over_a_stride(plan, plan.floor_mm[:, None])
    return travel


def own_view(setup: CameraSetup) -> View:
    """The view of a camera that a person placed or that was matched, which needs no walk to be known. Raises ModelError
    for one without a place."""
    if setup.matched is not None:
        return view_of_setup(setup)
    if setup.place_mm is None or setup.target_mm is None:
        raise ModelError(f"view.{setup.name}", "place_mm and target_mm", "neither")
    eye = np.array(setup.place_mm)
    return _pinhole(setup, look_at(eye, np.array(setup.target_mm)), eye)


def _pinhole(setup: CameraSetup, rotation: Floats, eye: Floats, translations: Floats | None = None) -> View:
    width, height = setup.resolution
    focal = focal_pixels(setup)
    centre = (width - 1) / 2, (height - 1) / 2
    place = rotation, -rotation @ eye
    return View(setup.name, width, height, focal, focal, *centre, *place, translations_mm=translations)


def _view(setup: CameraSetup, extent: _Extent, travel: Floats, close: bool = False) -> View:
    if setup.matched is not None or setup.place_mm is not None:
        return own_view(setup)
    focal = focal_pixels(setup)
    kind = _BUILT_IN[setup.name]
    if close:
        kind = replace(kind, tall=CLOSE)
    down = math.radians(kind.down_deg)
    if kind.height == "low":
        down = -_LOW_TILT * math.atan(setup.resolution[1] / 2 / focal)
    rotation = _built_in_axes(kind.azimuth_deg, down, setup.side)
    eye = _built_in_eye(kind, rotation, setup, focal, extent)
    if not kind.moves:
        return _pinhole(setup, rotation, eye)
    eyes = eye + travel
    return _pinhole(setup, rotation, eyes[0], -eyes @ rotation.T)


def _built_in_axes(azimuth_deg: float, down: float, side: str) -> Floats:
    azimuth = math.radians(azimuth_deg)
    sideways = math.sin(azimuth) * (1 if side == "right" else -1)
    # exact zeros: side-on is exactly level and square to the track
    ahead = np.array([-math.cos(azimuth) * math.cos(down), sideways * math.cos(down), -math.sin(down)])
    ahead[np.abs(ahead) < 1e-15] = 0.0
    return _level_axes(ahead / np.linalg.norm(ahead))


def _built_in_eye(kind: _BuiltIn, rotation: Floats, setup: CameraSetup, focal: float, extent: _Extent) -> Floats:
    """Place of the lens: as near as lets every ball of every solid keep the margin, but no nearer than makes the
    puppet `tall` where it is farthest.

    The camera backs away by d along `back`. A ball (centre x, y, z in camera axes before that, radius r) is inside a
    side of the frame of slope k where |x| + r sqrt(1 + k^2) <= k z; all of it is linear in d and in the sideways and
    upward shift of the camera, so the nearest place comes in closed form.
    """
    width, height = setup.resolution
    margin = MARGIN * min(width, height)
    slope_x, slope_y = (width / 2 - margin) / focal, (height / 2 - margin) / focal
    right, down, ahead = rotation
    back = -ahead if kind.height == "free" else -np.array([ahead[0], ahead[1], 0.0])
    back = back / np.linalg.norm(back)
    start = extent.middle_mm.copy()
    if kind.height != "free":
        start[2] = extent.chest_mm if kind.height == "chest" else extent.low_mm
    if kind.moves:
        start[2] -= extent.rise_mm
    if kind.on_track:
        start[1] = extent.track_y_mm
    centres, radii = extent.centres_of(kind.moves)
    camera = (centres - start) @ rotation.T
    retreat = -back @ ahead  # depth gained per mm of d
    sinking = -(back @ down)  # how far down the picture a point moves per mm of d
    x, y, z = camera.T
    # shifting the camera right by s needs k (z + retreat d) >= +-(x - s) + r sqrt(1 + k^2)
    reach_x, reach_y = radii * math.hypot(1, slope_x), radii * math.hypot(1, slope_y)
    to_right, to_left = (x + reach_x - slope_x * z).max(), (-x + reach_x - slope_x * z).max()
    to_bottom, to_top = (y + reach_y - slope_y * z).max(), (-y + reach_y - slope_y * z).max()
    shift = 0.0 if kind.on_track else (to_right - to_left) / 2
    distances = [max(to_right - shift, to_left + shift) / (slope_x * retreat)]
    lift = 0.0
    if kind.height == "free":
        lift = (to_bottom - to_top) / 2
        distances.append((to_bottom - lift) / (slope_y * retreat))
    else:
        distances += [need / (slope_y * retreat - sign * sinking) for need, sign in ((to_bottom, 1), (to_top, -1))]
    farthest = ((extent.reference_of(kind.moves) - start) @ ahead).max()
    seen_mm = extent.tall_mm * -float(down[2])  # seen from above, the puppet is foreshortened
    distances.append((focal * seen_mm / (kind.tall * height) - farthest) / retreat)
    if kind.on_track:
        distances.append(extent.last_print_mm + HEAD_ON_HIP_HEIGHTS * extent.hip_mm - start[0])
    return start + shift * right + lift * down + max(distances) * back


class _Extent:
    """What placing a camera needs to know of the plans that it shows."""

    def __init__(self, *plans: Plan) -> None:
        seen = [_balls(plan) for plan in plans]
        self._centres = np.concatenate([centres.reshape(-1, 3) for centres, _ in seen])
        self._radii = np.concatenate([radii.reshape(-1) for _, radii in seen])
        moved = zip(plans, seen, strict=True)
        self._moving = np.concatenate([(one - travel_mm(plan)[:, None]).reshape(-1, 3) for plan, (one, _) in moved])
        self._reference = np.concatenate([plan.reference_mm for plan in plans])
        self._moving_reference = np.concatenate([plan.reference_mm - travel_mm(plan) for plan in plans])
        low = (self._centres - self._radii[:, None]).min(axis=0)
        high = (self._centres + self._radii[:, None]).max(axis=0)
        self.middle_mm = (low + high) / 2
        tops = zip(plans, seen, strict=True)
        self.tall_mm = max(
            float((centres[..., 2] + radii - plan.floor_mm[:, None]).max()) for plan, (centres, radii) in tops
        )
        self.hip_mm = max(float(plan.hip_line_mm.max()) for plan in plans)
        self.low_mm = 0.15 * self.hip_mm
        self.last_print_mm = max(float(np.maximum(one.toe_mm[..., 0], one.heel_mm[..., 0]).max()) for one in plans)
        self.track_y_mm = float(plans[0].shot.stage.start_mm[1])
        self.chest_mm = float(np.mean([_chest_mm(plan, self.tall_mm) for plan in plans]))
        self.rise_mm = float(np.mean([travel_mm(plan)[:, 2].mean() for plan in plans]))

    def centres_of(self, moves: bool) -> tuple[Floats, Floats]:
        """((n, 3) ball centres over all poses, (n,) radii); for a camera that moves along, as it sees them."""
        return self._moving if moves else self._centres, self._radii

    def reference_of(self, moves: bool) -> Floats:
        return self._moving_reference if moves else self._reference


def _balls(plan: Plan) -> tuple[Floats, Floats]:
    """((poses, n, 3) centres, (poses, n) radii) of every ball of every solid."""
    solids = solids_of(plan)
    centres = np.concatenate([solid.centres_mm for solid in solids], axis=1)
    return centres, np.broadcast_to(np.concatenate([solid.radii_mm for solid in solids]), centres.shape[:2])


def _chest_mm(plan: Plan, tall_mm: float) -> float:
    """Height of the chest: the middle of its shapes, else of the body's, else of what is above the hips."""
    solids = solids_of(plan)
    for part in ("chest", "body"):
        heights = [solid.centres_mm[..., 2].mean() for solid in solids if solid.part == part]
        if heights:
            return float(np.mean(heights))
    return float((plan.hip_line_mm.mean() + tall_mm) / 2)
