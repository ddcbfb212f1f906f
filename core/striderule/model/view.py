"""Cameras. `CameraSetup` is what a person says of one (place, target, lens); `View` is the pinhole that everything
projects with."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError, ModelError
from .fields import ADDED, Pair, Triple, added, check_fields, choice, counts, length, name, place
from .matched import MatchedCamera

Floats = npt.NDArray[np.float64]

BUILT_IN_VIEWS = ("side-on", "three-quarter-front", "three-quarter-back", "head-on", "high", "low", "following")


EVERY = "every"
"""Where names of views are asked for: all of them."""

NEAREST_MM = 1e-6
"""A camera's target is at least this far from its lens."""


@dataclass(frozen=True)
class CameraSetup:
    """One camera as a person gives it. A built-in name without place is placed from the shot's extent;
    any other name needs place_mm and target_mm, or matched: a camera that was found from a still, which brings place,
    direction and lens. Of such a still the picture shows crop_px (None: all of it), scaled to `resolution`."""

    name: str = name("Name of the view")
    place_mm: Triple | None = place("Where the camera's lens is, stage mm", None, most=100000)
    target_mm: Triple | None = place("What the camera points at, stage mm", None, most=100000)
    lens_mm: float = length("Focal length of the lens", 50.0, least=1, most=2000)
    sensor_mm: Pair = length("Sensor: width, height", (36.0, 24.0), least=1, most=200, size=2)
    resolution: tuple[int, int] = counts("Picture: width, height in pixels", (1920, 1080), least=16, most=16384)
    side: str = choice("Side of the puppet that a built-in camera stands on", ("right", "left"), "right")
    crop_px: tuple[int, int, int, int] | None = added(
        counts("Part of the still that the picture shows: left, top, width, height", None, most=65535, size=4)
    )
    matched: MatchedCamera | None = field(default=None, metadata=ADDED)

    def __post_init__(self) -> None:
        where = f"view.{self.name}"
        check_fields(self, where)
        if (self.place_mm is None) != (self.target_mm is None):
            raise ModelError(where, "place_mm and target_mm together", "only one of them")
        if self.name == EVERY:
            raise ModelError(where, "another name", f"{EVERY!r}, which asks for all views at once")
        if self.place_mm and self.target_mm and math.dist(self.place_mm, self.target_mm) < NEAREST_MM:
            raise ModelError(
                f"{where}.target_mm",
                "a place other than place_mm",
                "the same place",
                "A camera cannot point at itself.",
            )
        if self.matched is None and self.place_mm is None and self.name not in BUILT_IN_VIEWS:
            raise ModelError(
                where,
                "place_mm and target_mm, or a matched camera, or one of the built-in names "
                + ", ".join(BUILT_IN_VIEWS),
                f"the name {self.name!r} alone",
            )
        self._check_matched(where)

    def _check_matched(self, where: str) -> None:
        if self.matched is None:
            if self.crop_px is not None:
                raise ModelError(f"{where}.crop_px", "a matched camera, whose still it is a part of", "none",
                                 'Write camera = "NAME.camera.toml" as well, or take crop_px out.')  # fmt: skip
            return
        brought = {"place_mm": None, "target_mm": None, "lens_mm": 50.0, "sensor_mm": (36.0, 24.0)}
        for key, default in brought.items():
            if getattr(self, key) != default:
                raise ModelError(f"{where}.{key}", "nothing, because the matched camera brings it",
                                 str(getattr(self, key)), f"Take {key} out.")  # fmt: skip
        width, height = self.matched.still_px
        left, top, across, down = self.crop
        if not (across >= 16 and down >= 16 and left + across <= width and top + down <= height):
            raise ModelError(f"{where}.crop_px", f"a part of the still, which has {width} x {height} pixels",
                             f"{left}, {top}, {across}, {down}")  # fmt: skip

    @property
    def crop(self) -> tuple[int, int, int, int]:
        """Left, top, width, height of what the picture shows of a matched camera's still."""
        return self.crop_px or (0, 0, *(self.matched.still_px if self.matched else self.resolution))


@dataclass(frozen=True, eq=False)
class View:
    """A camera in the OpenCV pinhole convention.

    Pixels: x right, y down, (0, 0) = centre of the top-left pixel. Camera axes: x right, y down, z into the picture.
    camera = rotation @ stage + translation. distortion = (k1, k2, p1, p2, k3), Brown-Conrady.
    translations_mm: (poses, 3) for a camera that moves along, one translation per pose; None for a still camera.
    """

    name: str
    width: int
    height: int
    fx: float
    fy: float
    cx: float
    cy: float
    rotation: Floats
    translation_mm: Floats
    distortion: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)
    translations_mm: Floats | None = None

    def __post_init__(self) -> None:
        r = np.asarray(self.rotation, float)
        if r.shape != (3, 3) or not np.allclose(r @ r.T, np.eye(3), atol=1e-9) or np.linalg.det(r) < 0:
            raise GeometryError(f"view {self.name}: its rotation is not a rotation matrix.")

    @property
    def moving(self) -> bool:
        return self.translations_mm is not None

    def at(self, pose: int) -> View:
        """The still camera of pose index `pose` (from 0); itself where the camera does not move."""
        if self.translations_mm is None:
            return self
        return View(
            self.name,
            self.width,
            self.height,
            self.fx,
            self.fy,
            self.cx,
            self.cy,
            self.rotation,
            self.translations_mm[pose],
            self.distortion,
        )
