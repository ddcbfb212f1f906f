"""What is sharp: the depth of field of a thin lens.

Source: the handbook formulas of a thin lens, as in Ray, Applied Photographic Optics, 3rd edition, 2002, and in many
others; the circle of confusion as the sensor's diagonal over 1500, common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import ModelError

CIRCLE_SHARE = 1500.0
"""The sensor's diagonal over the widest spot that still looks like a point."""


@dataclass(frozen=True)
class Focus:
    """How a lens is set. lens_mm: focal length; f_number; distance_mm: from the lens to what it is focused on, along
    its axis; sensor_mm: width and height of the whole sensor."""

    lens_mm: float
    f_number: float
    distance_mm: float
    sensor_mm: tuple[float, float] = (36.0, 24.0)

    def __post_init__(self) -> None:
        if not self.f_number > 0:
            raise ModelError("f-number", "a number above 0, as 5.6", f"{self.f_number:g}")
        if not self.distance_mm > self.lens_mm:
            raise ModelError(
                "focus", f"a distance beyond the focal length of {self.lens_mm:g} mm", f"{self.distance_mm:g}"
            )

    @property
    def circle_mm(self) -> float:
        """The widest spot on the sensor that still looks like a point."""
        return math.hypot(*self.sensor_mm) / CIRCLE_SHARE

    @property
    def hyperfocal_mm(self) -> float:
        """Focused so far, all to infinity is sharp."""
        return self.lens_mm**2 / (self.f_number * self.circle_mm) + self.lens_mm

    @property
    def sharp_mm(self) -> tuple[float, float]:
        """Nearest and farthest distance that is sharp; the farthest may be infinite."""
        far = self.hyperfocal_mm - self.lens_mm
        near = self.distance_mm * far / (far + self.distance_mm - self.lens_mm)
        if self.distance_mm >= self.hyperfocal_mm:
            return near, math.inf
        return near, self.distance_mm * far / (self.hyperfocal_mm - self.distance_mm)
