"""One guess of a camera, where it puts known points, and how they move when it changes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...model.matched import Lens
from ...model.view import View
from ..lens import NEAR_MM

Floats = npt.NDArray[np.float64]

POSE = 6
"""Numbers of a pose: a turn (3, radians about camera axes) and a move of the pivot (3, mm in camera axes)."""

LENS = 8
"""Numbers of a lens: ln of the focal length, centre x, centre y, k1, k2, p1, p2, k3."""

FOCAL, CENTRE_X, CENTRE_Y, K1, K2, P1, P2, K3 = range(LENS)


@dataclass(frozen=True, eq=False)
class Guess:
    """A camera as numbers to descend on. camera = rotation @ (stage - pivot) + middle.

    pivot: a stage place amid the known points, mm: turning about it leaves their middle where it is in the picture, so
    that turn and move hardly mix. lens: (LENS,), in pixels of the still. aspect: fy / fx, which is never solved.
    """

    rotation: Floats
    middle: Floats
    lens: Floats
    pivot: Floats
    aspect: float = 1.0

    def moved(self, step: Floats) -> Guess:
        """The guess after a step (POSE + LENS,)."""
        turned = turn_of(step[:3]) @ self.rotation
        return Guess(turned, self.middle + step[3:POSE], self.lens + step[POSE:], self.pivot, self.aspect)

    def pixels(self, stage_mm: Floats) -> tuple[Floats, Floats]:
        """Pixels (n, 2) and depths (n,) in mm of stage points (n, 3); nearer than NEAR_MM the pixels mean nothing."""
        camera = (stage_mm - self.pivot) @ self.rotation.T + self.middle
        plane = camera[:, :2] / np.maximum(camera[:, 2:], NEAR_MM)
        x, y = plane.T
        r2 = x * x + y * y
        k1, k2, p1, p2, k3 = self.lens[K1:]
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        bent_x = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
        bent_y = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
        fx = math.exp(self.lens[FOCAL])
        pixels = np.stack([fx * bent_x + self.lens[CENTRE_X], fx * self.aspect * bent_y + self.lens[CENTRE_Y]], axis=1)
        return pixels, camera[:, 2]

    def slopes(self, stage_mm: Floats) -> tuple[Floats, Floats, Floats]:
        """`pixels` and, for each, its change (n, 2, POSE + LENS) per unit of a step."""
        arm = (stage_mm - self.pivot) @ self.rotation.T
        camera = arm + self.middle
        depth = np.maximum(camera[:, 2], NEAR_MM)
        x, y = camera[:, 0] / depth, camera[:, 1] / depth
        k1, k2, p1, p2, k3 = self.lens[K1:]
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        growth = 2 * (k1 + r2 * (2 * k2 + r2 * 3 * k3))
        bent_x = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
        bent_y = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
        fx = math.exp(self.lens[FOCAL])
        fy = fx * self.aspect
        # d bent / d plane, then d plane / d camera
        xx = radial + growth * x * x + 2 * p1 * y + 6 * p2 * x
        xy = growth * x * y + 2 * p1 * x + 2 * p2 * y
        yy = radial + growth * y * y + 6 * p1 * y + 2 * p2 * x
        toward = np.empty((len(camera), 2, 3))
        toward[:, 0] = (fx / depth * np.stack([xx, xy, -(xx * x + xy * y)])).T
        toward[:, 1] = (fy / depth * np.stack([xy, yy, -(xy * x + yy * y)])).T
        out = np.zeros((len(camera), 2, POSE + LENS))
        # turning by w moves a camera place by w x arm
        out[:, :, 0] = toward[:, :, 2] * arm[:, None, 1] - toward[:, :, 1] * arm[:, None, 2]
        out[:, :, 1] = toward[:, :, 0] * arm[:, None, 2] - toward[:, :, 2] * arm[:, None, 0]
        out[:, :, 2] = toward[:, :, 1] * arm[:, None, 0] - toward[:, :, 0] * arm[:, None, 1]
        out[:, :, 3:POSE] = toward
        out[:, 0, POSE + FOCAL], out[:, 1, POSE + FOCAL] = fx * bent_x, fy * bent_y
        out[:, 0, POSE + CENTRE_X] = out[:, 1, POSE + CENTRE_Y] = 1.0
        for key, power in ((K1, r2), (K2, r2 * r2), (K3, r2 * r2 * r2)):
            out[:, 0, POSE + key], out[:, 1, POSE + key] = fx * x * power, fy * y * power
        out[:, 0, POSE + P1], out[:, 1, POSE + P1] = fx * 2 * x * y, fy * (r2 + 2 * y * y)
        out[:, 0, POSE + P2], out[:, 1, POSE + P2] = fx * (r2 + 2 * x * x), fy * 2 * x * y
        pixels = np.stack([fx * bent_x + self.lens[CENTRE_X], fy * bent_y + self.lens[CENTRE_Y]], axis=1)
        return pixels, camera[:, 2], out

    def view(self, name: str, size: tuple[int, int]) -> View:
        """The same camera as a View of a picture of `size` (width, height)."""
        fx = math.exp(self.lens[FOCAL])
        k1, k2, p1, p2, k3 = (float(one) for one in self.lens[K1:])
        rotation = orthonormal(self.rotation)
        moved = self.middle - rotation @ self.pivot
        centre = float(self.lens[CENTRE_X]), float(self.lens[CENTRE_Y])
        return View(name, *size, fx, fx * self.aspect, *centre, rotation, moved, (k1, k2, p1, p2, k3))


def lens_numbers(lens: Lens) -> Floats:
    """(LENS,) of a lens, as a guess holds it."""
    return np.array([math.log(lens.focal_px[0]), *lens.centre_px, *lens.distortion])


def turn_of(vector: Floats) -> Floats:
    """Rotation matrix (3, 3) about a vector by its length in radians. Source: Rodrigues' formula."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3) + _cross(vector)
    axis = _cross(vector / angle)
    return np.eye(3) + math.sin(angle) * axis + (1 - math.cos(angle)) * axis @ axis


def orthonormal(rotation: Floats) -> Floats:
    """The rotation nearest to a matrix that many small turns have worn."""
    left, _, right = np.linalg.svd(rotation)
    return left @ np.diag([1.0, 1.0, np.linalg.det(left @ right)]) @ right


def _cross(vector: Floats) -> Floats:
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
