"""Plan -> every file for the set, by name. All of them come from the same rows and the same pictures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from ..errors import ModelError
from ..solve.plan import Plan
from .edge_strip import strip_pages
from .exposure_csv import exposure_csv
from .exposure_sheet import exposure_pages
from .floor_places import FloorPlaces, floor_places, tie_hole_names
from .floor_table import floor_pages
from .floor_template import DRILL_MM, template_pages
from .heading import Heading
from .height_gauge import gauge_pages
from .instructions import SetInstructions, instructions_of
from .page import Page, Paper
from .pdf import pdf_bytes
from .pose_cards import card_pages
from .row_words import MINUTES_A_POSE
from .rows import GRAINS_MM, PaperRow, rows_of
from .set_screen import set_screen
from .side_chart import chart_pages
from .side_picture import SidePictures, side_pictures
from .underside import underside_pages


@dataclass(frozen=True)
class SheetOptions:
    """How sheets are wanted. day: printed on each; grain_mm: what places are rounded to, of rows.GRAINS_MM; drill_mm:
    the hole for a tie-down's screw; only: names of SHEETS, empty = all but those that are made on request."""

    day: date
    paper: Paper = field(default_factory=Paper)
    grain_mm: float = GRAINS_MM[0]
    minutes_a_pose: float = MINUTES_A_POSE
    drill_mm: float = DRILL_MM
    only: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.grain_mm not in GRAINS_MM:
            raise ModelError("round", "0.5 or 0.1 mm", f"{self.grain_mm:g}")
        if not 0 < self.minutes_a_pose <= 10000:
            raise ModelError("minutes", "minutes a pose above 0, at most 10000", f"{self.minutes_a_pose:g}")
        if not 0.1 <= self.drill_mm <= 30:
            raise ModelError("drill", "a hole of 0.1 to 30 mm", f"{self.drill_mm:g}")
        for name in self.only:
            if name not in SHEETS:
                raise ModelError("sheets", "names out of " + ", ".join(SHEETS), repr(name))

    @property
    def chosen(self) -> tuple[str, ...]:
        """Names of the sheets to make, in order."""
        return tuple(name for name in SHEETS if (name in self.only if self.only else name not in ON_REQUEST))


@dataclass(frozen=True, eq=False)
class SetPaper:
    """What all sheets of one plan are made from."""

    plan: Plan
    heading: Heading
    options: SheetOptions
    instructions: SetInstructions

    @cached_property
    def rows(self) -> tuple[PaperRow, ...]:
        return rows_of(self.plan, self.instructions, self.options.grain_mm)

    @cached_property
    def pictures(self) -> SidePictures:
        return side_pictures(self.plan)

    @cached_property
    def places(self) -> FloorPlaces:
        return floor_places(self.plan)

    def pdf(self, pages: list[Page], title: str) -> bytes:
        return pdf_bytes(pages, self.heading, title)


def sheet_files(
    plan: Plan, file: str, options: SheetOptions, instructions: SetInstructions | None = None
) -> dict[str, bytes]:
    """File name -> its bytes, in order. file: the shot file's name, "" where there is none. instructions: None = what
    the plan alone knows. Raises MissingExtraError without fpdf2."""
    told = instructions or instructions_of(plan, tie_hole_names(plan))
    paper = SetPaper(plan, Heading.of(plan, file, options.day), options, told)
    files: dict[str, bytes] = {}
    for name in options.chosen:
        files |= SHEETS[name](paper)
    return files


def _exposure(p: SetPaper) -> dict[str, bytes]:
    pages = exposure_pages(p.plan, p.rows, p.pictures, p.heading, p.options.paper, p.options.minutes_a_pose)
    return {"exposure.pdf": p.pdf(pages, "exposure sheet"), "exposure.csv": exposure_csv(p.rows, p.heading)}


def _floor(p: SetPaper) -> dict[str, bytes]:
    template = template_pages(p.places, p.options.paper, p.options.drill_mm)
    pages = floor_pages(template, p.places, p.plan.shot.puppet, p.options.paper, p.options.drill_mm)
    return {"floor.pdf": p.pdf(pages, "floor template")}


def _gauge(p: SetPaper) -> dict[str, bytes]:
    return {"gauge.pdf": p.pdf(gauge_pages(p.plan, p.options.paper), "height gauge")}


def _screen(p: SetPaper) -> dict[str, bytes]:
    return {"set.html": set_screen(p.rows, p.pictures, p.heading, p.options.minutes_a_pose)}


def _chart(p: SetPaper) -> dict[str, bytes]:
    return {"chart.pdf": p.pdf(chart_pages(p.plan, p.rows, p.options.paper, p.instructions.load), "side chart")}


def _edge(p: SetPaper) -> dict[str, bytes]:
    return {"edge.pdf": p.pdf(strip_pages(p.places, p.options.paper), "edge strip")}


def _underside(p: SetPaper) -> dict[str, bytes]:
    pages = underside_pages(p.places, p.options.paper)
    return {"underside.pdf": p.pdf(pages, "holes from below")} if pages else {}


def _cards(p: SetPaper) -> dict[str, bytes]:
    return {"cards.pdf": p.pdf(card_pages(p.plan, p.rows, p.pictures, p.options.paper), "pose cards")}


SHEETS: Mapping[str, Callable[[SetPaper], dict[str, bytes]]] = {
    "exposure": _exposure,
    "floor": _floor,
    "gauge": _gauge,
    "screen": _screen,
    "chart": _chart,
    "edge": _edge,
    "underside": _underside,
    "cards": _cards,
}
ON_REQUEST = ("cards",)
"""Sheets that are made only where they are asked for by name."""
