"""How wide words are in print, and how they are made to fit: cut with dots, or broken into lines.

Print uses Helvetica, which every PDF reader has. Characters outside Latin-1 have no place in it; such words are drawn
with the strokes of the pictures' own font.
"""

from __future__ import annotations

from functools import cache, lru_cache

from ..draw.font import text_width
from .libraries import letter_widths
from .page import POINTS_PER_MM

_DOTS = "..."


def in_print(text: str) -> bool:
    """True where Helvetica has every character."""
    return all(character.isprintable() and ord(character) < 256 for character in text)


@lru_cache(maxsize=4096)
def width_mm(text: str, size: float, bold: bool = False) -> float:
    """Width of a line of text of a size in points."""
    if not in_print(text):
        return text_width(text, size / POINTS_PER_MM)
    widths = _widths(bold)
    return sum(widths[one] for one in text) * size * 0.001 / POINTS_PER_MM


@cache
def _widths(bold: bool) -> dict[str, int]:
    return letter_widths("helveticaB" if bold else "helvetica")


def cut_to(text: str, room_mm: float, size: float, bold: bool = False) -> str:
    """The text, or as much of it as fits with dots behind it."""
    if width_mm(text, size, bold) <= room_mm:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_mm(text[:middle].rstrip() + _DOTS, size, bold) <= room_mm:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + _DOTS


def broken(text: str, room_mm: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines that fit, broken between words; a word that is too long by itself is cut."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(longer, size, bold) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(cut_to(word, room_mm, size, bold))
    return lines
