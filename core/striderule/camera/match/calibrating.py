"""A lens from several stills of a printed board: focal length, centre and distortion, once for many matches.

Source of the model: Brown, Decentering distortion of lenses, 1966; of the method: Zhang, A flexible new technique for
camera calibration, 2000 (its refinement; the boards' first places come from `solving.lowest`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ...check.codes import Code
from ...check.finding import Finding
from ...errors import ModelError
from ...model.matched import Lens
from .bundle import Bundle, bundled, start_cost
from .guess import CENTRE_X, CENTRE_Y, FOCAL, LENS, POSE
from .knowledge import guessed, to_calibrate
from .known_points import KnownPoints

Floats = npt.NDArray[np.float64]

FEWEST_STILLS, GOOD_STILLS = 4, 8
FEWEST_CORNERS = 12
"""A still with fewer corners of its board is not used."""

LENS_CODES: dict[str, Code] = {
    "lens-unsure": Code("risky", "the boards leave the lens's focal length or centre open"),
    "lens-still-off": Code("risky", "the board in one still fits far worse than in the others"),
    "lens-edges": Code("note", "no board reached near the picture's corners, where a lens bends most"),
    "lens-few": Code("note", f"fewer than {GOOD_STILLS} stills"),
}
"""Worst first; a test holds DEVELOPERS.md to this table."""

_FIRST_GUESSES = (0.6, 0.9, 1.3, 1.9, 2.8, 4.2)
"""Focal lengths to begin with where none is known, in widths of the picture."""

_SURE_FOCAL, _SURE_CENTRE_PX, _REACH = 0.002, 2.0, 0.7


@dataclass(frozen=True, eq=False)
class Calibration:
    """lens: what was found. bundle: how. findings: what to know of it."""

    lens: Lens
    bundle: Bundle
    findings: tuple[Finding, ...]


def calibrate(
    boards: Sequence[KnownPoints],
    size: tuple[int, int],
    focal_px: float | None = None,
    sensor_mm: tuple[float, float] | None = None,
    name: str = "",
    stills: Sequence[str] = (),
) -> Calibration:
    """A lens from boards found in stills of `size`. focal_px: about what it is, where known. stills: their names, for
    findings. Raises ModelError where fewer than FEWEST_STILLS show enough of the board."""
    if len(boards) < FEWEST_STILLS:
        raise ModelError("stills", f"{FEWEST_STILLS} stills or more that show the board", f"{len(boards)}",
                         "Take 8 to 15: near and far, tilted every way, in every corner of the picture.")  # fmt: skip
    knowledge = to_calibrate(size, focal_px or _first_focal(boards, size))
    bundle, kept = bundled(boards, knowledge)
    covariance = bundle.covariance[POSE:, POSE:]
    numbers = bundle.guesses[0].lens.tolist()
    focal = math.exp(numbers[FOCAL])
    rms = math.sqrt(sum(one**2 * len(b) for one, b in zip(bundle.rms_px, kept, strict=True)) / sum(map(len, kept)))
    lens = Lens(
        size,
        (focal, focal),
        (numbers[CENTRE_X], numbers[CENTRE_Y]),
        (numbers[3], numbers[4], numbers[5], numbers[6], numbers[7]),
        sensor_mm,
        name,
        len(boards),
        rms,
        tuple(float(one) for one in covariance[np.triu_indices(LENS)]),
    )
    return Calibration(lens, bundle, _findings(lens, bundle, kept, covariance, stills))


def _first_focal(boards: Sequence[KnownPoints], size: tuple[int, int]) -> float:
    few = sorted(boards, key=len)[-3:]

    def cost(width: float) -> float:
        know = guessed(size, width * size[0], 0.2)
        spread = np.zeros(LENS)
        spread[FOCAL] = know.spread[FOCAL]
        return start_cost(few, replace(know, spread=spread))

    return size[0] * min(_FIRST_GUESSES, key=cost)


def _findings(
    lens: Lens, bundle: Bundle, boards: Sequence[KnownPoints], covariance: Floats, stills: Sequence[str]
) -> tuple[Finding, ...]:
    found: list[Finding] = []
    focal = math.sqrt(float(covariance[FOCAL, FOCAL]))
    centre = math.sqrt(float(covariance[CENTRE_X, CENTRE_X] + covariance[CENTRE_Y, CENTRE_Y]))
    if focal > _SURE_FOCAL or centre > _SURE_CENTRE_PX * max(lens.still_px) / 1920:
        text = (
            f"The focal length is sure to {100 * focal:.2f} % only, the centre to {centre:.1f} px (one standard "
            "deviation). Add stills with the board tilted by 30 degrees and more, every way."
        )
        found.append(_finding("lens-unsure", 100 * focal, "%", text))
    usual = float(np.median(bundle.rms_px))
    for k, rms in enumerate(bundle.rms_px):
        if rms > max(4 * usual, 0.7):
            name = stills[k] if k < len(stills) else f"still {k + 1}"
            text = f"The board in {name} is off by {rms:.1f} px, in others by {usual:.1f} px. Is it bent, or blurred?"
            found.append(_finding("lens-still-off", rms, "px", text))
    corner = math.hypot(*lens.still_px) / 2
    middle = np.array(lens.still_px) / 2
    reach = max(float(np.linalg.norm(board.pixels - middle, axis=1).max()) for board in boards) / corner
    if reach < _REACH:
        text = (
            f"No board came further than {100 * reach:.0f} % of the way from the middle to a corner of the picture: "
            "what the lens does beyond is guessed. Add stills with the board in the corners."
        )
        found.append(_finding("lens-edges", 100 * reach, "%", text))
    if len(boards) < GOOD_STILLS:
        text = f"{len(boards)} stills were used; 8 to 15 make a lens about twice as sure."
        found.append(_finding("lens-few", len(boards), "stills", text))
    return tuple(found)


def _finding(code: str, number: float, unit: str, text: str) -> Finding:
    return Finding(code, LENS_CODES[code].severity, text, number=number, unit=unit)
