"""What a walk looks like from an angle: how far its reference point goes on screen from pose to pose, whether legs hide
feet, what leaves the picture, what is sharp."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..check.codes import Code
from ..check.finding import Finding
from ..check.runs import run_words, runs_of
from ..model.view import View
from ..solve.plan import FootState, Plan
from .focus import Focus
from .framing import framing_findings
from .lens import camera_from_stage, pixels_from_stage
from .solids import limb_widths_mm

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ANGLE_CODES: dict[str, Code] = {
    "angle-moves-tiny": Code("note", "a move of the reference point is under 1 px on screen and cannot be judged"),
    "angle-strobes": Code("note", "the reference point moves by more than a limb's width on screen"),
    "angle-feet-hidden": Code("note", "a leg hides a standing foot in a quarter of the poses or more"),
    "angle-unsharp": Code("note", "the puppet is out of focus in some poses"),
}
"""Findings of an angle; a test holds DEVELOPERS.md to this table."""

JUDGED_PX = 1.0
"""A smaller move on screen cannot be judged. Common practice, no source."""

STILL_MM = 0.05
"""A smaller move on the stage counts as standing still."""

HIDDEN_SHARE = 0.25


@dataclass(frozen=True, eq=False)
class Angle:
    """One walk in one view. move_px (poses - 1,): of the reference point on screen. smallest, largest: (px, pose that
    is moved into, from 1), of moves that are none on the stage not counted; None without any. ratio: largest to
    smallest px a mm along the shot, 1 for even perspective. mm_per_px: at the puppet, the middle of all poses.
    hidden: share of poses in which another leg hides a standing foot. target_hidden: in which a shank or foot hides the
    reference point. outside, unsharp (poses,): the puppet leaves the picture, is out of focus; unsharp is None where
    no focus is known. sharp_mm: nearest and farthest sharp distance."""

    view: View
    move_px: Floats
    smallest: tuple[float, int] | None
    largest: tuple[float, int] | None
    ratio: float
    mm_per_px: float
    hidden: float
    target_hidden: float
    outside: Flags
    unsharp: Flags | None
    sharp_mm: tuple[float, float] | None
    findings: tuple[Finding, ...]


def judged(plan: Plan, view: View, focus: Focus | None = None) -> Angle:
    """The walk from this view. focus: how the lens is set; None = sharpness is not judged. A camera that goes along
    shows no spacing: its moves are 0 and its ratio 1."""
    pixels, depth = pixels_from_stage(view, plan.reference_mm)
    mm = np.linalg.norm(np.diff(plan.reference_mm, axis=0), axis=1)
    move = np.zeros(len(mm)) if view.moving else np.nan_to_num(np.linalg.norm(np.diff(pixels, axis=0), axis=1))
    goes = (mm > STILL_MM) & (not view.moving)
    smallest = largest = None
    ratio = 1.0
    if goes.any():
        at = np.flatnonzero(goes)
        low, high = int(at[move[at].argmin()]), int(at[move[at].argmax()])
        smallest, largest = (float(move[low]), low + 2), (float(move[high]), high + 2)
        scale = move[at] / mm[at]
        ratio = float(scale.max() / max(float(scale.min()), 1e-9))
    per_px = float(np.median(depth)) / math.sqrt(view.fx * view.fy)
    outside = np.zeros(plan.poses, bool)
    framed = framing_findings(plan, [view])
    for finding in framed:
        for first, last in finding.runs:
            outside[first - 1 : last] = True
    feet, target = _hidden(plan, view)
    unsharp = None if focus is None else _unsharp(plan, view, focus.sharp_mm)
    found = (*framed, *_findings(plan, view, move, goes, per_px, float(feet.mean()), unsharp, focus))
    sharp = None if focus is None else focus.sharp_mm
    return Angle(view, move, smallest, largest, ratio, per_px, float(feet.mean()), float(target.mean()), outside,
                 unsharp, sharp, found)  # fmt: skip


def bones_of(plan: Plan, leg: int) -> list[tuple[Floats, Floats, float]]:
    """(near end, far end (poses, 3), radius in mm) of a leg's bones and foot."""
    widths = limb_widths_mm(plan.shot.puppet.legs[leg])
    ends = [(plan.hip_mm, plan.knee_mm, 0.25 * (widths.hip + widths.knee))]
    if plan.shot.puppet.legs[leg].cannon_mm is None:
        ends.append((plan.knee_mm, plan.ankle_mm, 0.25 * (widths.knee + widths.ankle)))
    else:
        ends.append((plan.knee_mm, plan.hock_mm, 0.25 * (widths.knee + widths.hock)))
        ends.append((plan.hock_mm, plan.ankle_mm, 0.25 * (widths.hock + widths.ankle)))
    sole = plan.shot.puppet.legs[leg]
    ends.append((plan.heel_mm, plan.toe_mm, min(0.5 * sole.sole_width_mm, 0.5 * sole.ankle_up_mm)))
    return [(near[:, leg], far[:, leg], radius) for near, far, radius in ends]


def _hidden(plan: Plan, view: View) -> tuple[Flags, Flags]:
    """(poses,) whether another leg hides a standing foot's ankle; whether a shank or foot hides the reference point."""
    feet, target = np.zeros(plan.poses, bool), np.zeros(plan.poses, bool)
    for other in range(len(plan.legs)):
        bones = bones_of(plan, other)
        for leg in range(len(plan.legs)):
            if leg != other:
                stands = plan.state[:, leg] != FootState.AIR
                feet |= stands & _covered(view, plan.ankle_mm[:, leg], bones)
        target |= _covered(view, plan.reference_mm, bones[1:])
    return feet, target


def _covered(view: View, point: Floats, bones: Sequence[tuple[Floats, Floats, float]]) -> Flags:
    """(poses,) whether a bone is nearer to the camera than a point (poses, 3) and lies over it in the picture."""
    pixel, depth = pixels_from_stage(view, point)
    over = np.zeros(len(point), bool)
    for near, far, radius in bones:
        (a, da), (b, db) = pixels_from_stage(view, near), pixels_from_stage(view, far)
        along = b - a
        length = np.maximum((along**2).sum(axis=1), 1e-12)
        share = np.clip(((pixel - a) * along).sum(axis=1) / length, 0.0, 1.0)
        away = np.linalg.norm(pixel - a - share[:, None] * along, axis=1)
        there = da + share * (db - da)
        with np.errstate(invalid="ignore", divide="ignore"):
            over |= (there < depth - radius) & (away < radius * view.fx / there)
    return over


def _unsharp(plan: Plan, view: View, sharp_mm: tuple[float, float]) -> Flags:
    """(poses,) whether the reference point or a foot is nearer or farther than what is sharp."""
    places = np.concatenate([plan.reference_mm[:, None], plan.ankle_mm], axis=1)
    depth = camera_from_stage(view, places)[..., 2]
    out: Flags = np.any((depth < sharp_mm[0]) | (depth > sharp_mm[1]), axis=1)
    return out


def _findings(
    plan: Plan,
    view: View,
    move: Floats,
    goes: Flags,
    per_px: float,
    hidden: float,
    unsharp: Flags | None,
    focus: Focus | None,
) -> list[Finding]:
    found: list[Finding] = []
    name = plan.shot.puppet.body.reference_name

    def told(code: str, mask: Flags, number: float, unit: str, text: str) -> None:
        runs = runs_of(mask)
        found.append(Finding(code, ANGLE_CODES[code].severity, f"View {view.name}: {text}", runs[0][0], runs[0][1],
                             number=number, unit=unit, runs=runs))  # fmt: skip

    tiny = np.concatenate([[False], goes & (move < JUDGED_PX)])
    if tiny.any():
        least = float(move[tiny[1:]].min())
        where = run_words(runs_of(tiny))
        words = f"the {name} moves by {least:.1f} px ({where}): under {JUDGED_PX:g} px cannot be judged."
        told("angle-moves-tiny", tiny, least, "px", words)
    limb = max(limb_widths_mm(leg).hip for leg in plan.shot.puppet.legs) / per_px
    wide = np.concatenate([[False], move > limb])
    if wide.any():
        most = float(move.max())
        words = f"the {name} moves by up to {most:.0f} px, more than a limb is wide ({limb:.0f} px): it strobes."
        told("angle-strobes", wide, float(move.max()), "px", words)
    if hidden >= HIDDEN_SHARE:
        words = f"View {view.name}: another leg hides a standing foot in {100 * hidden:.0f} % of the poses."
        code = "angle-feet-hidden"
        found.append(Finding(code, ANGLE_CODES[code].severity, words, number=100 * hidden, unit="%"))
    if unsharp is not None and focus is not None and unsharp.any():
        near, far = focus.sharp_mm
        where = run_words(runs_of(unsharp))
        words = f"the puppet is out of focus in {where}; sharp is from {near:.0f} to {far:.0f} mm away."
        told("angle-unsharp", unsharp, float(unsharp.sum()), "poses", words)
    return found
