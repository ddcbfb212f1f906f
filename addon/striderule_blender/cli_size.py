"""`striderule size`: how long the steps of a character of some size should take."""

from __future__ import annotations

import argparse
import re

from striderule.adjust.size import Pace, sized
from striderule.errors import ModelError

from .cli_console import Console
from .cli_shot import chosen_shot

_METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0}
LEAST_M, MOST_M = 0.001, 100.0


def size(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: a run is a warning, not a mistake. Raises StrideruleError."""
    hip_m = metres(chosen.hip)
    shot = chosen_shot(chosen)
    found = sized(shot, hip_m)
    held = "on ones" if shot.frames_per_pose == 1 else f"{shot.frames_per_pose} frames a pose"
    console.finding(f"hips at {hip_m:g} m, on the puppet at {found.puppet_hip_mm:.1f} mm: "
                    f"{1000.0 * hip_m / found.puppet_hip_mm:.3g} times as large")  # fmt: skip
    console.finding(_line("suggested", found.suggested) + f", from {found.exact_poses:.1f} by the pendulum rule")
    console.finding(_line("as planned", found.planned))
    for warning in found.warnings:
        console.finding(f"warning: {warning}")
    runs = found.planned.is_run
    console.result(f"{shot.name}: {found.suggested.poses} poses a step suggested at {shot.fps} fps {held}, "
                   f"{found.planned.poses} planned{', which would be a run' if runs else ''}")  # fmt: skip
    return 0


def _line(what: str, pace: Pace) -> str:
    return (f"{what}: {pace.poses} poses a step, {pace.step_s:.2f} s, {pace.speed_m_s:.2f} m/s, "
            f"Froude number {pace.froude:.2f}")  # fmt: skip


def metres(text: str) -> float:
    """A height such as "1.2m", "120 cm" or "1200mm" in metres. Raises ModelError."""
    found = re.fullmatch(r"\s*([0-9]{1,9}(?:\.[0-9]{0,9})?|\.[0-9]{1,9})\s*(mm|cm|m)\s*", text)
    value = float(found.group(1)) * _METRES[found.group(2)] if found else 0.0
    if not LEAST_M <= value <= MOST_M:
        raise ModelError("--hip", f"a height with its unit from {1000 * LEAST_M:g}mm to {MOST_M:g}m, such as 1.2m",
                         repr(text[:40]))  # fmt: skip
    return value
