"""A camera that shows a walk as much in depth as it can while it still reads, within a person's limits."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from ..model.view import CameraSetup
from ..solve.plan import Plan
from .judging import Angle, judged
from .placing import MARGIN, focal_pixels, look_at, own_view
from .solids import solids_of

Floats = npt.NDArray[np.float64]

STEP_DEG = 5.0


@dataclass(frozen=True)
class Limits:
    """What may be searched, and what still reads. azimuth_deg: from side-on, + from ahead, - from behind. height_mm:
    of the lens over the floor. lenses_mm: to choose from. least_px: smallest move on screen. most_ratio: of px a mm
    along the shot. most_hidden: share of poses in which a leg hides a standing foot."""

    azimuth_deg: tuple[float, float] = (0.0, 75.0)
    height_mm: tuple[float, float] = (50.0, 600.0)
    lenses_mm: tuple[float, ...] = (24.0, 35.0, 50.0, 85.0)
    least_px: float = 2.0
    most_ratio: float = 3.0
    most_hidden: float = 0.2
    side: str = "right"
    sensor_mm: tuple[float, float] = (36.0, 24.0)
    resolution: tuple[int, int] = (1920, 1080)


def find_angle(plan: Plan, limits: Limits, name: str = "found") -> tuple[CameraSetup, Angle]:
    """The camera within limits that looks most along the walk; of equal ones the one with the largest smallest move.

    Every camera tried stands as near as keeps the whole walk in its picture. Raises ModelError where none reads.
    """
    low, high = limits.azimuth_deg
    turns = np.arange(math.ceil(low / STEP_DEG), math.floor(high / STEP_DEG) + 1) * STEP_DEG
    heights = np.linspace(*limits.height_mm, 4).tolist()
    balls = _balls(plan)
    nearest = ""
    for azimuth in sorted(turns.tolist(), key=lambda one: -abs(one)):
        reads: list[tuple[float, CameraSetup, Angle]] = []
        for lens in limits.lenses_mm:
            for height in heights:
                setup = _placed(plan, balls, limits, name, azimuth, height, lens)
                angle = judged(plan, own_view(setup))
                why = _faults(angle, limits)
                if not why and angle.smallest is not None:
                    reads.append((angle.smallest[0], setup, angle))
                nearest = why or nearest
        if reads:
            _, setup, angle = max(reads, key=lambda one: one[0])
            return setup, angle
    raise ModelError("limits", "limits in which some camera reads", f"none that does ({nearest})",
                     "Allow smaller moves, a larger ratio, other lenses or heights.")  # fmt: skip


def _faults(angle: Angle, limits: Limits) -> str:
    """Why a view does not read, in a few words; "" where it does."""
    smallest = angle.smallest[0] if angle.smallest else 0.0
    if smallest < limits.least_px:
        return f"moves of {smallest:.1f} px"
    if angle.ratio > limits.most_ratio:
        return f"a ratio of {angle.ratio:.1f}"
    if angle.hidden > limits.most_hidden:
        return f"feet hidden in {100 * angle.hidden:.0f} % of the poses"
    return "the puppet leaves the picture" if angle.outside.any() else ""


def _placed(
    plan: Plan, balls: tuple[Floats, Floats], limits: Limits, name: str, azimuth: float, height: float, lens: float
) -> CameraSetup:
    """At this azimuth and height, looking at the walk's middle, as near as keeps every ball inside the margin."""
    centres, radii = balls
    low, high = (centres - radii[:, None]).min(axis=0), (centres + radii[:, None]).max(axis=0)
    middle = (low + high) / 2
    bare = CameraSetup(name, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), lens, limits.sensor_mm, limits.resolution)
    focal = focal_pixels(bare)
    width, height_px = limits.resolution
    margin = MARGIN * min(width, height_px)
    slopes = np.array([width / 2 - margin, height_px / 2 - margin]) / focal
    side = -1.0 if limits.side == "right" else 1.0
    along = math.radians(float(np.median(plan.heading_deg)))
    turn = math.radians(azimuth)
    out = np.array([math.sin(turn), side * math.cos(turn)])
    out = np.array(
        [out[0] * math.cos(along) - out[1] * math.sin(along), out[0] * math.sin(along) + out[1] * math.cos(along)]
    )
    far = 1000.0
    for _ in range(6):  # the height is fixed, so the tilt changes with the distance
        eye = np.array([*(middle[:2] + far * out), height])
        camera = (centres - eye) @ look_at(eye, middle).T
        need = (np.abs(camera[:, :2]) + radii[:, None] * np.hypot(1.0, slopes)) / slopes
        far = max(far + float((need.max(axis=1) - camera[:, 2]).max()), 10.0)
    x, y = (middle[:2] + far * out).tolist()
    mx, my, mz = (round(float(one), 1) for one in middle)
    return CameraSetup(name, (round(x, 1), round(y, 1), round(height, 1)), (mx, my, mz), lens,
                       limits.sensor_mm, limits.resolution)  # fmt: skip


def _balls(plan: Plan) -> tuple[Floats, Floats]:
    """((n, 3) centres, (n,) radii) of every ball of the puppet in all poses."""
    solids = solids_of(plan)
    centres = [solid.centres_mm.reshape(-1, 3) for solid in solids]
    radii = [np.broadcast_to(solid.radii_mm, solid.centres_mm.shape[:2]).reshape(-1) for solid in solids]
    return np.concatenate(centres), np.concatenate(radii)
