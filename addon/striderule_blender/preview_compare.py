"""Several walks in one film, one below the other: same camera, same floor, same beat, each with its name."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

import numpy as np

from striderule.camera.placing import shared_views
from striderule.compare.beat import beat_of
from striderule.draw.drawing import Ink, Item, Label, Layer, Line
from striderule.draw.font import text_width
from striderule.draw.palette import WHITE, Palette
from striderule.draw.png import encode
from striderule.draw.raster import render
from striderule.model.view import View
from striderule.solve.plan import Plan

from . import preview_walks, scene
from .preview_crop import SPARE, puppet_rows
from .preview_film import Held, write_film
from .preview_walks import PreviewWalk, fitted, scaled
from .previews import Progress, pictures_of, preview_stage

MOST = (1920, 1440)
"""Width and height that a film of many walks keeps to, in as many columns as leave its pictures largest."""
_NAME_ROWS, _BELOW = 48, 22  # pixels over the tallest puppet, for its name, and below the nearest foot
_TEXT = 26.0
FIXED_ROWS = _NAME_ROWS + _BELOW + 2 * SPARE  # of a picture's rows those that do not shrink


def render_comparison(
    walks: Sequence[tuple[str, Plan]], view: str, path: Path, progress: Progress | None = None
) -> None:
    """Write the film. walks: (name to write, plan), from top to bottom; view: as the first shot has it.

    Every walk is as it is planned: shorter ones hold their last pose until the longest has ended, and all begin again
    together. Works in scenes of its own that are gone afterwards. Raises ModelError for an unknown view, OutputError.
    """
    plans = [plan for _, plan in walks]
    beat = beat_of(plans, preview_walks.LEAST_SECONDS)
    views = panel_views(plans, view)
    cells = cells_of(len(walks), views[0])
    path.parent.mkdir(parents=True, exist_ok=True)
    done, total = 0, sum(plan.poses for plan in plans)
    with tempfile.TemporaryDirectory(prefix="striderule-") as folder:
        plates: list[list[Held]] = []
        tracks: list[list[Held]] = []
        for number, (plan, seen, shown) in enumerate(zip(plans, views, beat.poses.tolist(), strict=True)):
            own = Path(folder) / str(number)
            own.mkdir()
            aside, up = cells.offset(number)
            walk = PreviewWalk(plan, (seen,), tuple(range(plan.poses)), tuple(shown), np.zeros(plan.poses))
            settings = scene.SceneSettings(0, 0, floor_for=tuple(plans))

            def tell(here: int, before: int = done) -> None:
                if progress:
                    progress(before + here, total)

            with preview_stage(walk, settings) as stage:
                plate, shots = pictures_of(stage, walk, seen, own, tell)
            done += plan.poses
            if plate:
                plates.append([Held(plate, len(shown), (aside, up))])
            held = [(pose, len(list(run))) for pose, run in groupby(shown)]
            tracks.append([Held(shots[k][0], n, (shots[k][1][0] + aside, shots[k][1][1] + up)) for k, n in held])
        names = Path(folder) / "names.png"
        names.write_bytes(name_sheet([name for name, _ in walks], cells))
        write_film(path, beat.rate, cells.size, [*plates, *tracks, [Held(names, beat.poses.shape[1])]])


@dataclass(frozen=True)
class Cells:
    """Equal pictures in rows and columns, filled column by column. width, height: of one, in pixels."""

    count: int
    columns: int
    width: int
    height: int

    @property
    def rows(self) -> int:
        return -(-self.count // self.columns)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of all together."""
        return self.columns * self.width, self.rows * self.height

    def corner(self, number: int) -> tuple[int, int]:
        """Left and top of a picture, from 0."""
        column, row = divmod(number, self.rows)
        return column * self.width, row * self.height

    def offset(self, number: int) -> tuple[float, float]:
        """Of a picture's centre from that of all together, in pixels to the right and up."""
        (left, top), (width, height) = self.corner(number), self.size
        return left + (self.width - width) / 2, (height - self.height) / 2 - top


def panel_views(plans: Sequence[Plan], name: str) -> list[View]:
    """One camera's view of every walk, cut to the rows that any of them needs: all of one size, with even sides.

    Raises ModelError for an unknown view.
    """
    whole = [fitted(view) for view in shared_views(plans, name)]
    panels = _cut(plans, whole)
    share = _share(len(plans), panels[0].width, panels[0].height)[0]
    return panels if share >= 1 else _cut(plans, [scaled(view, share) for view in whole])


def cells_of(count: int, panel: View) -> Cells:
    """Where `count` pictures of a view's size stand."""
    return Cells(count, _share(count, panel.width, panel.height)[1], panel.width, panel.height)


def _share(count: int, width: int, height: int) -> tuple[float, int]:
    """(by how much pictures of this size have to shrink so that the film keeps to MOST, at most 1; columns of it)."""
    puppet = max(height - FIXED_ROWS, 2)
    best = (0.0, 1)
    for columns in range(1, count + 1):
        rows = -(-count // columns)
        share = min(1.0, MOST[0] / (columns * width), (MOST[1] / rows - FIXED_ROWS - 2) / puppet)
        if share > best[0] + 1e-9:
            best = (share, columns)
    return max(best[0], 0.05), best[1]


def _cut(plans: Sequence[Plan], views: Sequence[View]) -> list[View]:
    spans = [puppet_rows(plan, view) for plan, view in zip(plans, views, strict=True)]
    top = min(one for one, _ in spans) - _NAME_ROWS
    bottom = max(one for _, one in spans) + _BELOW
    rows = bottom - top + (bottom - top) % 2
    return [replace(view, height=rows, cy=view.cy - top) for view in views]


def name_sheet(names: Sequence[str], cells: Cells) -> bytes:
    """A see-through PNG of the whole film: every walk's name in its upper left corner, and lines between pictures."""
    palette, (width, height) = Palette(1.0), cells.size
    line = Ink(WHITE, 2.0, 0.8)
    items: list[Item] = []
    for number, name in enumerate(names):
        left, top = cells.corner(number)
        while text_width(name, _TEXT) > cells.width - 40 and len(name) > 4:
            name = name[:-4] + "..."
        items.append(Label(name, left + 20.0, top + 0.72 * _NAME_ROWS, _TEXT, palette.text(_TEXT)))
    across = [
        [[0.0, row * cells.height - 0.5], [width - 1.0, row * cells.height - 0.5]] for row in range(1, cells.rows)
    ]
    down = [[[k * cells.width - 0.5, 0.0], [k * cells.width - 0.5, height - 1.0]] for k in range(1, cells.columns)]
    items += [Line(np.array(ends), line) for ends in (*across, *down)]
    return encode(render([Layer("names", tuple(items))], width, height).rgba8())
