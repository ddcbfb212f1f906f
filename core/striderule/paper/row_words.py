"""A row's numbers and states in the words that every sheet prints."""

from __future__ import annotations

from collections.abc import Sequence

from ..solve.plan import Plan
from .instructions import leg_words
from .rows import FootRow, PaperRow

MINUTES_A_POSE = 8.0
"""How long a pose takes an animator (common practice, no source)."""


def number(value: float) -> str:
    """ "12.5"; one place is what both grains need."""
    return f"{value + 0.0:.1f}"


def move(value: float) -> str:
    """ "+12.5", "-3.0", "0"."""
    return f"{value:+.1f}" if value else "0"


def state_words(foot: FootRow) -> str:
    """ "flat, tied F12", "on toe, tied", "free"."""
    return foot.state + (f", tied {foot.hole}".rstrip() if foot.tied else "")


def foot_words(foot: FootRow) -> str:
    """ "left: flat, tied"."""
    return f"{leg_words(foot.leg)}: {state_words(foot)}"


def do_lines(row: PaperRow) -> list[str]:
    """What to do now: floor, feet and screws, how long it is held."""
    lines: list[str] = []
    if row.floor_move_mm:
        along, up = row.floor_move_mm
        lines.append(f"floor {move(along)} mm along" + (f", {move(up)} mm up" if up else ""))
    lines += row.do
    if row.frames > 1:
        lines.append(f"shoot {row.frames} frames")
    return lines


def safe_words(row: PaperRow) -> str:
    return "yes" if row.safe else "no"


def duration_words(plan: Plan) -> str:
    """ "3.08 s"."""
    return f"{float(plan.frames / plan.shot.rate):.2f} s"


def work_words(poses: int, minutes_a_pose: float) -> str:
    """ "4 h 56 min"."""
    minutes = int(poses * minutes_a_pose + 0.5)
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def rate_words(plan: Plan) -> str:
    """ "12 fps, on ones"; a fraction as it is counted, "29.97 fps"."""
    rate = plan.shot.rate
    fps = str(rate) if rate.denominator == 1 else f"{float(rate):.2f}"
    held = plan.shot.frames_per_pose
    return f"{fps} fps, on {({1: 'ones', 2: 'twos', 3: 'threes', 4: 'fours'}).get(held, f'{held}s')}"


def totals(plan: Plan, rows: Sequence[PaperRow], minutes_a_pose: float) -> str:
    """One line of how long it is and how long it takes."""
    return (
        f"{rate_words(plan)} - {plan.frames} frames, {len(rows)} poses - {duration_words(plan)} of film - "
        f"about {work_words(len(rows), minutes_a_pose)} to shoot at {minutes_a_pose:g} min a pose"
    )
