"""The working band of one leg as a picture: hip height against foot distance, what ends it, and a walk through it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..check.band import STOP_WORDS
from ..check.bench import LegBand, farthest_mm, flat_band, walk_band
from ..check.bench_words import stop_words
from ..check.limits import HAND_MM
from ..model.puppet import Leg, Puppet
from ..solve.plan import FootState, Plan, Stop
from .canvas import over_backdrop
from .chart_paper import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    PURPLE,
    TITLE_SIZE,
    VERMILION,
    WHITE,
    Axes,
    Room,
    segment_pixels,
    sheet,
    words,
)
from .drawing import Area, Colour, Dot, Drawing, Ink, Item, Layer, Line, Ring
from .raster import render

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

WIDTH, HEIGHT = 1600, 1080
_PLOT = (120.0, 150.0, 1560.0, 900.0)
_COLOURS: dict[str, Colour] = {
    "knee": BLUE,
    "hock": BLUE,
    "ankle": VERMILION,
    "hip_swing": GREEN,
    "hip_out": GREEN,
    "": BLACK,
}
_SAMPLES = 900
_FILL: Colour = (0x56 / 255, 0xB4 / 255, 0xE9 / 255)  # sky blue of the same palette


@dataclass(frozen=True, eq=False)
class Track:
    """A leg's touching poses along a walk. pose (n,) from 0, foot and hip (n,) in mm, what its own foot allows there;
    runs: slices of poses of one stance each; shown: the run whose poses are named."""

    pose: npt.NDArray[np.int64]
    foot_mm: Floats
    hip_mm: Floats
    lowest_mm: Floats
    highest_mm: Floats
    runs: tuple[slice, ...]
    shown: slice

    @property
    def outside(self) -> Flags:
        """(n,) poses whose hip is beyond what the leg allows by more than a hand can set."""
        return (self.hip_mm > self.highest_mm + HAND_MM) | (self.hip_mm < self.lowest_mm - HAND_MM)


def track_of(plan: Plan, leg: int) -> Track | None:
    """A leg's way through its band; None where its foot never touches the floor."""
    pose = np.flatnonzero(plan.state[:, leg] != int(FootState.AIR))
    if not len(pose):
        return None
    band = walk_band(plan, leg)
    own = _stances(plan, leg)
    bounds = [
        (int(np.searchsorted(pose, first)), int(np.searchsorted(pose, last, side="right"))) for first, last in own
    ]
    runs = tuple(slice(a, b) for a, b in bounds if b > a)
    whole = [run for run, (first, last) in zip(runs, own, strict=True) if first >= 0 and last < plan.poses]
    shown = whole[(len(whole) - 1) // 2] if whole else max(runs, key=lambda run: run.stop - run.start)
    return Track(pose, band.foot_mm[pose], plan.hip_mm[pose, leg, 2], band.lowest_mm[pose], band.highest_mm[pose],
                 runs, shown)  # fmt: skip


def _stances(plan: Plan, leg: int) -> list[tuple[int, int]]:
    """First and last pose of every footfall of a leg that touches the shot."""
    mine = [(one.first, one.last) for one in plan.stances if one.leg == leg]
    return [(first, last) for first, last in mine if last >= 0 and first < plan.poses]


def band_chart(puppet: Puppet, leg: int, plan: Plan | None = None) -> Drawing:
    """The band of leg `leg` (index) over a flat foot with the body level; with a plan, the walk's poses in it.

    A leg that fits nowhere gives axes and a line that says so.
    """
    one = puppet.legs[leg]
    behind, ahead = farthest_mm(one)
    foot = np.linspace(behind - 2.0, ahead + 2.0, _SAMPLES)
    band = flat_band(one, foot)
    track = track_of(plan, leg) if plan else None
    axes = _axes(band, track)
    room = Room((_PLOT[0] + 4, _PLOT[1] - 4, _PLOT[2], _PLOT[3] - 4))
    fills, edges, named = _region(one, band, axes, room)
    walked = _walk(plan, track, band, axes, room) if plan and track else []
    labels = [item for text, at, ways, colour in named for item in room.words(text, at, ways, colour)]
    title = f"{puppet.name}, {one.name} leg: hip height against foot distance"
    frame = axes.items("ankle ahead of the hip pivot, mm (behind: -)", "hip pivot over the floor, mm")
    layers = (
        Layer("paper", (sheet(WIDTH, HEIGHT), words(title, _PLOT[0] - 50, 62, TITLE_SIZE)), still=True),
        Layer("region", tuple(fills), still=True),
        Layer("axes", tuple(frame), still=True),
        Layer("edges", tuple(edges), still=True),
        Layer("walk", tuple(walked), still=True),
        Layer("words", (*labels, *_legend(band, track)), still=True),
    )
    return Drawing(WIDTH, HEIGHT, layers)


def chart_pixels(drawing: Drawing) -> npt.NDArray[np.uint8]:
    """A chart as a picture (height, width, 3) on white."""
    return over_backdrop(render(drawing.layers, drawing.width, drawing.height), WHITE)


def _axes(band: LegBand, track: Track | None) -> Axes:
    xs, ys = [band.foot_mm[band.fits]], [band.lowest_mm[band.fits], band.highest_mm[band.fits]]
    if track:
        xs.append(track.foot_mm)
        ys.append(track.hip_mm)
    x, y = np.concatenate(xs), np.concatenate(ys)
    if not len(x):
        x, y = np.array([-1.0, 1.0]), np.array([0.0, 1.0])
    return Axes(_PLOT, _spanned(x, 0.16), _spanned(y, 0.2))


def _spanned(values: Floats, more: float) -> tuple[float, float]:
    least, most = float(values.min()), float(values.max())
    edge = max(more * (most - least), 1.0)
    return least - edge, most + edge


Named = tuple[str, Floats, tuple[float, ...], Colour]


def _region(leg: Leg, band: LegBand, axes: Axes, room: Room) -> tuple[list[Item], list[Item], list[Named]]:
    """Fill, edges coloured by joint, and what to write at each edge: text, pixel, directions, colour."""
    fills: list[Item] = []
    edges: list[Item] = []
    named: dict[tuple[str, int], tuple[float, Named]] = {}
    for part in _runs(band.fits):
        foot = band.foot_mm[part]
        low, high = axes.at(foot, band.lowest_mm[part]), axes.at(foot, band.highest_mm[part])
        fills.append(Area((np.concatenate((high, low[::-1])),), _FILL, 0.3))
        for pixels, stops, ways, name in (
            (high, band.highest_stop[part], (90.0, 60.0, 120.0, 30.0, 150.0, 0.0, 180.0), "high"),
            (low, band.lowest_stop[part], (270.0, 300.0, 240.0, 330.0, 210.0, 0.0, 180.0), "low"),
        ):
            room.keep_clear(pixels)
            for stop in np.unique(stops).tolist():
                joint, told = STOP_WORDS[Stop(stop)][0], stop_words(leg, Stop(stop))
                for run in _runs(stops == stop):
                    line = pixels[run.start : run.stop + 1]
                    edges.append(Line(line, Ink(_COLOURS[joint], 5.0)))
                    length = float(np.hypot(*np.diff(line, axis=0).T).sum()) if len(line) > 1 else 0.0
                    if length > named.get((name, stop), (-1.0,))[0]:
                        middle = line[len(line) // 2]
                        named[name, stop] = length, (told, middle, ways, _COLOURS[joint])
        ends = [Line(np.stack((low[k], high[k])), Ink(GREY, 2.0)) for k in (0, -1) if np.hypot(*(low[k] - high[k])) > 2]
        edges[:0] = ends
    return fills, edges, [one for _, one in sorted(named.values(), key=lambda pair: -pair[0])]


def _runs(mask: Flags) -> Iterator[slice]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return (slice(int(a), int(b)) for a, b in edges.reshape(-1, 2))


def _walk(plan: Plan, track: Track, flat: LegBand, axes: Axes, room: Room) -> list[Item]:
    """Bars of what a pose's own foot allows, ways, dots, and the names of one stance's key poses."""
    at = axes.at(track.foot_mm, track.hip_mm)
    for run in track.runs:
        way = at[run]
        parts = [segment_pixels(a, b, 12) for a, b in pairwise(way)]
        room.keep_clear(np.concatenate(parts or [way]))
    items: list[Item] = [*_bars(track, flat, axes, room)]
    for run in track.runs:
        bold = run == track.shown
        items.append(Line(at[run], Ink(BLACK if bold else GREY, 2.4 if bold else 1.4, 1.0 if bold else 0.6)))
    texts: list[Item] = []
    names = _stance_words(plan, track)
    for k in [*(k for run in track.runs if run != track.shown for k in range(run.start, run.stop)),
              *range(track.shown.start, track.shown.stop)]:  # fmt: skip
        x, y = float(at[k, 0]), float(at[k, 1])
        shown = track.shown.start <= k < track.shown.stop
        key = k in names
        items.append(
            Dot(x, y, (7.5 if key else 5.0) if shown else 3.5, Ink(BLACK if shown else GREY, 0.0, 1.0, 1.5, 1.0, WHITE))
        )
        if track.outside[k]:
            items.append(Ring(x, y, 14.0, Ink(PURPLE, 4.0)))
    for k, text in names.items():
        texts += room.words(text, at[k], (90.0, 60.0, 120.0, 270.0, 300.0, 240.0, 0.0, 180.0))
    return [*items, *texts]


def _bars(track: Track, flat: LegBand, axes: Axes, room: Room) -> Iterator[Item]:
    """Where a heel or a toe is up the foot allows other heights than a flat one: a bar from its lowest to its highest,
    as far as it is on the chart."""
    for k in range(track.shown.start, track.shown.stop):
        low, high = float(track.lowest_mm[k]), float(track.highest_mm[k])
        near = int(np.argmin(np.abs(flat.foot_mm - track.foot_mm[k])))
        alike = max(abs(low - float(flat.lowest_mm[near])), abs(high - float(flat.highest_mm[near]))) < HAND_MM
        if high < low or (alike and bool(flat.fits[near])):
            continue
        ends = (max(low, axes.y[0]), min(high, axes.y[1]))
        bar = axes.at(np.full(2, track.foot_mm[k]), ends)
        room.keep_clear(segment_pixels(bar[0], bar[1], 30))
        yield Line(bar, Ink(GREY, 3.0, 0.75))
        for (x, y), end, real in zip(bar, ends, (low, high), strict=True):
            if end == real:
                yield Line(np.array([[x - 7, y], [x + 7, y]]), Ink(GREY, 3.0, 0.75))


def _stance_words(plan: Plan, track: Track) -> dict[int, str]:
    """Index into the track -> name, for the key poses of the stance that is shown: this foot's own keys, then the
    other foot's landing and the last pose on the floor."""
    names: dict[int, str] = {}
    first, last = track.shown.start, track.shown.stop - 1
    landed = False
    for k in range(first, last + 1):
        key = plan.keys[int(track.pose[k])]
        if key == "contact" and k > first:
            names[k] = "next contact"
            landed = True
        elif key != "in-between" and not landed:
            names[k] = key
    names.setdefault(last, "last on the floor")
    return names


def _legend(band: LegBand, track: Track | None) -> list[Item]:
    parts = ["shaded: hip heights that every joint allows over a flat foot, body level"]
    if not band.fits.any():
        parts = ["no hip height suits this leg over a flat foot, body level"]
    if track:
        parts.append("dots: the walk's poses; bar: what the pose's own foot allows, heel or toe up")
    items: list[Item] = [words(parts[0], _PLOT[0] - 50, HEIGHT - 58, 18.0)]
    if len(parts) > 1:
        outside = track is not None and bool(track.outside.any())
        more = "; ringed: outside what it allows" if outside else ""
        items.append(words(parts[1] + more, _PLOT[0] - 50, HEIGHT - 26, 18.0))
    return items
