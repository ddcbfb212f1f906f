"""Loads in words for people: how many times, grams to the nearest 5, which joint."""

from __future__ import annotations

import math

GRAMS = 5
"""Nobody sets a counterweight nearer than this."""

JOINT_WORDS = {"hip": "hip", "hip_out": "hip sideways", "knee": "knee", "ankle": "ankle", "toe": "toe joint"}


def times_words(ratio: float) -> str:
    """ "1.3": how many times less than it must a joint holds that carries `ratio` of what it holds. Never "1.0"."""
    return f"{max(ratio, 1.05):.1f}" if ratio < 10 else f"{ratio:.0f}"


def grams_words(grams: float) -> str:
    """ "180 g": the nearest 5."""
    return f"{GRAMS * round(grams / GRAMS)} g"


def lifted_words(grams: float) -> str:
    """ "180 g" for what must be lifted at least: up to the next 5."""
    return f"{GRAMS * math.ceil(grams / GRAMS - 1e-6)} g"
