"""Colours and line widths of the overlay.

Source of the colours: Okabe & Ito, Color Universal Design, 2008: told apart by colour-blind people. Of the eight only
those are used that stay bright as a thin line on any picture; each stands on a dark halo.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from .drawing import Colour, Ink
from .font import stroke_width

SKY_BLUE: Colour = (0x56 / 255, 0xB4 / 255, 0xE9 / 255)
ORANGE: Colour = (0xE6 / 255, 0x9F / 255, 0x00 / 255)
YELLOW: Colour = (0xF0 / 255, 0xE4 / 255, 0x42 / 255)
WHITE: Colour = (1.0, 1.0, 1.0)
DARK: Colour = (0.0, 0.0, 0.0)

FULL_HEIGHT = 1080
"""Height of the picture that widths below are given for; they grow and shrink with the picture."""


@dataclass(frozen=True)
class LimbLook:
    """How a leg or the body is drawn: its outline, the outline where it is hidden, and how strongly it is filled."""

    outline: Ink
    fill: float

    def faded(self, alpha: float, scale: float, dashed: bool) -> Ink:
        """The thin outline of a ghost."""
        dash = (5.0 * scale, 5.0 * scale) if dashed else None
        return Ink(self.outline.colour, 1.6 * scale, alpha, 1.4 * scale, 0.6 * alpha, DARK, dash)

    def unreached(self, scale: float) -> Ink:
        """The outline of a leg that does not reach its foot."""
        return replace(self.outline, dash=(11.0 * scale, 7.0 * scale))


@dataclass(frozen=True)
class Palette:
    """Every ink of the overlay at one scale (picture height / 1080)."""

    scale: float

    def _line(self, colour: Colour, width: float, halo: float = 1.6, alpha: float = 1.0, shade: float = 0.7) -> Ink:
        s = self.scale
        return Ink(colour, width * s, alpha, halo * s, shade * alpha, DARK)

    @property
    def near_leg(self) -> LimbLook:
        return LimbLook(self._line(SKY_BLUE, 3.2, 2.0), 0.28)

    @property
    def far_leg(self) -> LimbLook:
        return LimbLook(self._line(ORANGE, 2.4, 1.8), 0.18)

    @property
    def body(self) -> LimbLook:
        return LimbLook(self._line(WHITE, 2.0, 1.6, 0.85, 0.6), 0.0)

    @property
    def ring(self) -> Ink:
        return self._line(WHITE, 2.4, 1.6, 1.0, 0.8)

    @property
    def ring_tick(self) -> Ink:
        return self._line(WHITE, 1.8, 1.4, 1.0, 0.8)

    @property
    def track(self) -> Ink:
        return self._line(YELLOW, 1.4, 1.2, 0.8, 0.55)

    @property
    def mark(self) -> Ink:
        return self._line(YELLOW, 2.2, 1.4)

    @property
    def floor_line(self) -> Ink:
        return self._line(WHITE, 1.2, 1.0, 0.38, 0.92)

    @property
    def grid(self) -> Ink:
        return Ink(WHITE, 1.0 * self.scale, 0.2)

    @property
    def print_line(self) -> Ink:
        return self._line(WHITE, 2.0, 1.4, 0.8, 0.6)

    @property
    def datum(self) -> Ink:
        return self._line(YELLOW, 2.0, 1.4)

    @property
    def area(self) -> Ink:
        """The edge of the area that the puppet stands on; left_area: the weight is outside it."""
        return self._line(YELLOW, 1.8, 1.4, 0.9)

    @property
    def left_area(self) -> Ink:
        return replace(self.area, dash=(9.0 * self.scale, 6.0 * self.scale))

    @property
    def dropped(self) -> Ink:
        """A plumb line."""
        return replace(self._line(YELLOW, 1.6, 1.4, 0.9), dash=(4.0 * self.scale, 4.0 * self.scale))

    def text(self, size: float) -> Ink:
        """The ink of words of a size in pixels."""
        return Ink(WHITE, stroke_width(size), 1.0, 2.4 * self.scale, 0.8, DARK)

    def arc(self, near: bool | None, thin: bool) -> Ink:
        """near: a near leg's, a far leg's, or (None) the trunk's."""
        colour = WHITE if near is None else SKY_BLUE if near else ORANGE
        return self._line(colour, 1.4 if thin else 1.8, 1.3, 0.75 if thin else 0.95, 0.6)

    def paled(self, ink: Ink, share: float) -> Ink:
        """The same ink, fainter."""
        return replace(ink, alpha=ink.alpha * share, halo_alpha=ink.halo_alpha * share)
