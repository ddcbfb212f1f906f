"""Places on the stage that were measured, and where the still shows them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ...errors import ModelError

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

CLICK_PX = 0.5
"""How far a click is off, one standard deviation, where nothing else is said (CLICK_PX of a refined click is less)."""

FEWEST, FEWEST_WITH_LENS = 6, 4
"""Points that a solve needs: with a lens that is not calibrated, and with one that is."""

SAME_MM, SAME_PX = 0.05, 0.05
"""Nearer to each other than this, two points are the same."""

LINE_SHARE = 0.01
"""Points whose second widest spread is under this share of the widest lie on one line."""


@dataclass(frozen=True, eq=False)
class KnownPoints:
    """names: n words; stage_mm (n, 3); pixels (n, 2) in the still, (0, 0) = centre of its top-left pixel; sigma_px
    (n,) how far each is off, one standard deviation; check (n,): kept out of the solve, to judge it by.

    Every pair of words and numbers comes from a person, so the class checks them: see `refuse_unfit`.
    """

    names: tuple[str, ...]
    stage_mm: Floats
    pixels: Floats
    sigma_px: Floats
    check: Flags

    @staticmethod
    def of(stage_mm: npt.ArrayLike, pixels: npt.ArrayLike, sigma_px: float = CLICK_PX) -> KnownPoints:
        """Points named 1, 2, 3, ..., all of them used."""
        stage, seen = np.asarray(stage_mm, float), np.asarray(pixels, float)
        count = len(stage)
        return KnownPoints(tuple(str(k + 1) for k in range(count)), stage, seen, np.full(count, sigma_px),
                           np.zeros(count, bool))  # fmt: skip

    def __len__(self) -> int:
        return len(self.names)

    def part(self, keep: Flags) -> KnownPoints:
        """The points of a mask (n,)."""
        names = tuple(name for name, kept in zip(self.names, keep.tolist(), strict=True) if kept)
        return KnownPoints(names, self.stage_mm[keep], self.pixels[keep], self.sigma_px[keep], self.check[keep])

    @property
    def used(self) -> KnownPoints:
        return self.part(~self.check)

    @property
    def kept_out(self) -> KnownPoints:
        return self.part(self.check)

    def with_stage(self, stage_mm: Floats) -> KnownPoints:
        return replace(self, stage_mm=stage_mm)


def refuse_unfit(points: KnownPoints, size: tuple[int, int], calibrated: bool) -> None:
    """Raises ModelError, whose key names the point ("point NAME"): two points at one place, or at one pixel; a pixel
    outside a still of `size` (width, height); too few; all on one line."""
    _refuse_same(points)
    width, height = size
    for name, (u, v) in zip(points.names, points.pixels.tolist(), strict=True):
        if not (-1.0 <= u <= width and -1.0 <= v <= height):
            raise ModelError(f"point {name}", f"a pixel inside the still of {width} x {height}", f"{u:g}, {v:g}",
                             "Is it from a still of another size? Click it in this one.")  # fmt: skip
    used = points.used
    need = FEWEST_WITH_LENS if calibrated else FEWEST
    if len(used) < need:
        more = "" if calibrated else f" (with a calibrated lens {FEWEST_WITH_LENS} are enough)"
        cure = "Measure and click more; some above the floor help most."
        if points.check.any():
            cure += " Points marked as check are not counted."
        raise ModelError("points", f"{need} points or more{more}", str(len(used)), cure)
    spread = np.linalg.svd(used.stage_mm - used.stage_mm.mean(axis=0), compute_uv=False)
    if spread[1] < LINE_SHARE * spread[0]:
        raise ModelError("points", "points that are not all on one line", f"{len(used)} on one line",
                         "Add points to the side of it, and some above the floor.")  # fmt: skip


def _refuse_same(points: KnownPoints) -> None:
    for kind, places, near, unit in (
        ("place on the stage", points.stage_mm, SAME_MM, "mm"),
        ("pixel", points.pixels, SAME_PX, "px"),
    ):
        for k, here in enumerate(places):
            apart: Floats = np.sqrt(((places[:k] - here) ** 2).sum(axis=1))
            if len(apart) and apart.min() < near:
                other = points.names[int(apart.argmin())]
                at = ", ".join(f"{one:g}" for one in here.tolist())
                given = f"that of point {other} ({at} {unit})"
                raise ModelError(f"point {points.names[k]}", f"a {kind} of its own", given,
                                 "Take one of the two out, or measure it again.")  # fmt: skip


def on_one_height(points: KnownPoints) -> bool:
    """True where no point is clearly raised: all within 2 % of their spread along and across, and 3 mm."""
    heights = points.stage_mm[:, 2]
    reach = math.hypot(*np.ptp(points.stage_mm[:, :2], axis=0).tolist())
    return float(np.ptp(heights)) < max(0.02 * reach, 3.0)
