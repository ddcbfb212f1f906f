"""What a person should know of a match before relying on it: findings, in the form that a plan's have."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ...check.codes import Code
from ...check.finding import Finding
from .accuracy import MOST_PX, Accuracy, spread_px, two_sigma
from .guess import FOCAL, LENS, POSE
from .known_points import KnownPoints, on_one_height
from .solving import Match, solve_camera

Floats = npt.NDArray[np.float64]

MATCH_CODES: dict[str, Code] = {
    "match-unsure": Code("risky", f"the overlay may be off by more than {MOST_PX:g} px somewhere over the stage"),
    "match-scatter": Code("risky", "the points do not fit each other as well as their clicks should"),
    "match-check-off": Code("risky", "a check point is further off than is to be expected"),
    "match-lens-moved": Code("risky", "focus or zoom are not as they were when the lens was calibrated"),
    "match-straight-on": Code("risky", "flat points seen straight on do not tell focal length from distance"),
    "match-on-floor": Code("note", "all points are at one height: nothing holds the picture above it"),
    "match-lens-guessed": Code("note", "the lens is not calibrated"),
    "match-print-scale": Code("note", "nobody has measured how large the board was printed"),
}
"""Worst first, as the codes of a plan's findings are; a test holds DEVELOPERS.md to this table."""

STRAIGHT_ON_DEG = 10.0
SCATTER = 3.0
FOCUS_SHARE = 0.002
"""Change of focal length that is told of, where it is beyond chance (4 standard deviations) as well."""


def remarks(
    match: Match, accuracy: Accuracy, board_measured: bool | None = None, second_board: bool = False
) -> tuple[Finding, ...]:
    """Findings of a match, worst first. board_measured: whether a board's print was measured; None = no board.
    second_board: another board in the still held the lens."""
    found = [*_unsure(match, accuracy), *_scatter(match), *_checks_off(match), *_lens_moved(match)]
    off = seen_straight_on_deg(match)
    calibrated = match.knowledge.calibrated
    if off is not None and off < STRAIGHT_ON_DEG and not calibrated and not second_board:
        text = (
            f"All points lie in one plane, and the camera looks at it straight on (within {off:.0f} degrees): focal "
            "length and distance cannot be told apart. Add points before or behind that plane, or calibrate the lens."
        )
        found.append(_finding("match-straight-on", off, "deg", text))
    if on_one_height(match.points.used) and not calibrated and not second_board:
        text = (
            "All points are at one height, so the puppet's upper parts hang on the lens's values alone. Add raised "
            "points, such as the tops of standing rulers."
        )
        if board_measured is not None:
            text = text.split(". ", maxsplit=1)[0] + ". Stand a second board in the picture, or calibrate the lens."
        found.append(_finding("match-on-floor", 0.0, "mm", text))
    if not calibrated:
        text = (
            "The lens is not calibrated: its focal length, distortion and centre come from this one still. `striderule "
            "calibrate` makes a lens file once for many matches."
        )
        unsure = 100 * math.sqrt(float(match.covariance[POSE + FOCAL, POSE + FOCAL]))
        found.append(_finding("match-lens-guessed", unsure, "%", text))
    if board_measured is False:
        text = (
            "The board's print was not measured; 0.5 % wrong is about 10 px, and nothing else shows it. Measure its "
            "two control rulers and give --printed."
        )
        found.append(_finding("match-print-scale", 0.0, "mm", text))
    return tuple(found)


def seen_straight_on_deg(match: Match) -> float | None:
    """Angle between the camera's direction and the normal of the plane in which all used points lie, in degrees; None
    where they lie in none."""
    stage = match.points.used.stage_mm
    middle = stage.mean(axis=0)
    _, spread, axes = np.linalg.svd(stage - middle)
    if spread[2] > 0.02 * spread[1]:
        return None
    eye = match.guess.pivot - match.guess.middle @ match.guess.rotation
    toward = (eye - middle) / np.linalg.norm(eye - middle)
    return math.degrees(math.acos(min(1.0, abs(float(axes[2] @ toward)))))


def check_lines(match: Match) -> list[str]:
    """How far every check point is off, a line each."""
    points, away = match.points, np.linalg.norm(match.misses_px, axis=1)
    return [f"check point {points.names[k]}: {away[k]:.2f} px off" for k in np.flatnonzero(points.check).tolist()]


def _unsure(match: Match, accuracy: Accuracy) -> list[Finding]:
    if accuracy.worst_px <= MOST_PX:
        return []
    at = ", ".join(f"{one:.0f}" for one in accuracy.worst_at_mm)
    cure = "add points where the puppet walks, raised ones above all."
    text = (
        f"The overlay may be off by {accuracy.worst_px:.1f} px (2 sigma) at {at} mm, by {accuracy.middle_px:.1f} px in "
        f"the stage's middle: {cure if match.knowledge.calibrated else 'calibrate the lens, or ' + cure}"
    )
    return [_finding("match-unsure", accuracy.worst_px, "px", text)]


def _scatter(match: Match) -> list[Finding]:
    if match.scatter <= SCATTER:
        return []
    misses = np.linalg.norm(match.misses_px, axis=1)
    worst = int(np.argmax(np.where(match.points.check, 0.0, misses / match.points.sigma_px)))
    text = (
        f"The points miss by {match.rms_px:.1f} px rms, {match.scatter:.0f} times what their clicks allow, most of all "
        f"{match.points.names[worst]} ({misses[worst]:.1f} px). Measure it again, in mm and in the still."
    )
    return [_finding("match-scatter", match.rms_px, "px", text)]


def _checks_off(match: Match) -> list[Finding]:
    points: KnownPoints = match.points
    misses = np.linalg.norm(match.misses_px, axis=1)
    expected = two_sigma(spread_px(match, points.stage_mm) + points.sigma_px[:, None, None] ** 2 * np.eye(2))
    found: list[Finding] = []
    for k in np.flatnonzero(points.check & (misses > np.maximum(1.5 * expected, 1.0))).tolist():
        text = (
            f"Check point {points.names[k]} is {misses[k]:.1f} px off, where {expected[k]:.1f} px (2 sigma) were to be "
            "expected. Either it or the points used are measured wrong."
        )
        found.append(_finding("match-check-off", float(misses[k]), "px", text))
    return found


def _lens_moved(match: Match) -> list[Finding]:
    known = match.knowledge
    if not known.calibrated:
        return []
    spread = np.zeros(LENS)
    spread[FOCAL] = 0.2
    again = solve_camera(match.points, match.size, replace(known, spread=spread, unsure=np.zeros((LENS, LENS))))
    change = float(again.guess.lens[FOCAL] - known.start[FOCAL])
    unsure = math.sqrt(float(again.covariance[POSE + FOCAL, POSE + FOCAL] + known.unsure[FOCAL, FOCAL]))
    if abs(change) < max(FOCUS_SHARE, 4 * unsure):
        return []
    text = (
        f"These points ask for a focal length {100 * change:+.1f} % from the calibrated one: was focus or zoom moved "
        "since? Put it back, or calibrate the lens again as it is now."
    )
    return [_finding("match-lens-moved", 100 * change, "%", text)]


def _finding(code: str, number: float, unit: str, text: str) -> Finding:
    return Finding(code, MATCH_CODES[code].severity, text, number=number, unit=unit)
