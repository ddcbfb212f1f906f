"""A lens that was calibrated, and a camera that was matched to a still. Both have files of their own."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import ModelError
from .fields import Pair, Triple, angle, check_fields, count, counts, length, number, numbers, pixels, place, text

LENS_NUMBERS = 8
"""ln of the focal length, centre x, y, k1, k2, p1, p2, k3: what a lens's covariance speaks of."""

Distortion = tuple[float, float, float, float, float]


@dataclass(frozen=True)
class Lens:
    """A lens as it was calibrated: at one focal length, one focus and one size of still."""

    still_px: tuple[int, int] = counts("Size of its stills: width, height in pixels", least=16, most=65535)
    focal_px: Pair = pixels("Focal length along x and y, in pixels of the still", least=1.0)
    centre_px: Pair = pixels("Where the lens's axis meets the still: x, y; 0, 0 = centre of the top left pixel")
    distortion: Distortion = number("Distortion k1, k2, p1, p2, k3 (Brown-Conrady, OpenCV's order)", (0.0,) * 5, size=5)
    sensor_mm: Pair | None = length("Sensor: width, height of what the still shows", None, least=0.5, most=500, size=2)
    name: str = text("What this lens is", "")
    views: int = count("Boards that it was calibrated from; 0 = typed", 0, most=10000)
    rms_px: float = pixels("How far the boards' corners were off, root mean square", 0.0, least=0.0, size=1)
    covariance: tuple[float, ...] = numbers(
        "How sure that is: covariance of ln focal, centre x, y, k1, k2, p1, p2, k3, upper half row by row", ()
    )

    def __post_init__(self) -> None:
        check_fields(self)
        half = LENS_NUMBERS * (LENS_NUMBERS + 1) // 2
        if len(self.covariance) not in (0, half):
            raise ModelError("covariance", f"{half} numbers, or none", f"{len(self.covariance)}")

    @property
    def lens_mm(self) -> float | None:
        """Focal length in mm, where the sensor is known."""
        return None if self.sensor_mm is None else self.focal_px[0] * self.sensor_mm[0] / self.still_px[0]


@dataclass(frozen=True)
class MatchedCamera:
    """A camera as a still gave it. Its turns: first pan about the stage's Z (0 = it looks along X, + to the left), then
    tilt (+ up), then roll about its own axis (+ clockwise as seen from behind it)."""

    still_px: tuple[int, int] = counts("Size of the still: width, height in pixels", least=16, most=65535)
    place_mm: Triple = place("Where the camera's lens is, stage mm", most=1000000)
    pan_deg: float = angle("Where it looks, seen from above: 0 = along X, + to the left")
    tilt_deg: float = angle("How far it looks up; down is negative", least=-90.0, most=90.0)
    roll_deg: float = angle("How far it leans to its right")
    focal_px: Pair = pixels("Focal length along x and y, in pixels of the still", least=1.0)
    centre_px: Pair = pixels("Where the lens's axis meets the still: x, y; 0, 0 = centre of the top left pixel")
    distortion: Distortion = number("Distortion k1, k2, p1, p2, k3 (Brown-Conrady, OpenCV's order)", (0.0,) * 5, size=5)
    sensor_mm: Pair | None = length("Sensor: width, height of what the still shows", None, least=0.5, most=500, size=2)
    error_px: float | None = pixels("Expected error over the stage, 2 sigma", None, least=0.0, size=1)

    def __post_init__(self) -> None:
        check_fields(self)
        if not all(math.isfinite(one) for one in self.distortion):
            raise ModelError("distortion", "five numbers", str(self.distortion))

    @property
    def lens_mm(self) -> float | None:
        """Focal length in mm, where the sensor is known."""
        return None if self.sensor_mm is None else self.focal_px[0] * self.sensor_mm[0] / self.still_px[0]
