"""What joints carry over what they hold, over the poses: a chart for each leg, one line a joint."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..check.weight.load import CAUTION, Weight
from ..check.weight.rig import rig_of
from ..check.weight.words import JOINT_WORDS
from ..solve.plan import FootState
from .chart_paper import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    PALE,
    PURPLE,
    SMALL_SIZE,
    TEXT_SIZE,
    TITLE_SIZE,
    VERMILION,
    Axes,
    sheet,
    words,
)
from .drawing import Area, Colour, Dot, Drawing, Ink, Item, Layer, Line
from .font import text_width

Floats = npt.NDArray[np.float64]

WIDTH = 1600
_LEFT, _RIGHT, _PANEL, _BETWEEN = 120.0, 1560.0, 330.0, 118.0
_LOOKS: dict[str, tuple[Colour, tuple[float, float] | None]] = {
    "hip": (BLUE, None),
    "hip_out": (BLUE, (14.0, 8.0)),
    "knee": (VERMILION, None),
    "ankle": (GREEN, None),
    "toe": (PURPLE, (4.0, 7.0)),
}
_OTHER: tuple[Colour, tuple[float, float] | None] = (BLACK, (9.0, 5.0))
_DOTS = 120  # up to so many poses each has a dot


def weight_chart(weight: Weight, title: str) -> Drawing:
    """A chart for each leg, on one scale; grey where its foot is in the air. A line at 1 says what a joint holds, one
    below it what it holds with the rig's margin."""
    plan, margin = weight.plan, rig_of(weight.plan).margin
    known = weight.ratio[np.isfinite(weight.ratio)]
    top_value = max(1.15, 1.08 * float(known.max())) if len(known) else 1.15
    y, legend = _legend(weight)
    axes_items: list[Item] = []
    lines: list[Item] = []
    for index, leg in enumerate(plan.legs):
        box = (_LEFT, y + 60.0, _RIGHT, y + 60.0 + _PANEL)
        axes = Axes(box, (0.5, plan.poses + 0.5), (0.0, top_value))
        last = index == len(plan.legs) - 1
        axes_items += _in_air(axes, weight.plan.state[:, index] == int(FootState.AIR), top_value)
        axes_items += axes.items("pose" if last else "", f"{leg} leg: carries, in times of what the joint holds")
        for level, ink in ((1.0, Ink(BLACK, 2.6)), (1.0 / margin, Ink(GREY, 2.0, dash=(10.0, 8.0)))):
            axes_items.append(Line(axes.at([0.5, plan.poses + 0.5], [level, level]), ink))
        for i, joint in enumerate(weight.joints):
            if joint.leg == index and joint.held_nmm is not None:
                lines += _curve(axes, weight.ratio[:, i], joint.name)
        y = box[3] + _BETWEEN - 60.0
    height = round(y + 86.0)
    caution = caution_items(_LEFT - 50, height - 44.0)
    layers = (
        Layer("paper", (sheet(WIDTH, height), words(title, _LEFT - 50, 62, TITLE_SIZE)), still=True),
        Layer("axes", tuple(axes_items), still=True),
        Layer("loads", tuple(lines), still=True),
        Layer("words", (*legend, *caution), still=True),
    )
    return Drawing(WIDTH, height, layers)


def caution_items(left: float, top: float) -> list[Item]:
    """The caution that stands wherever a load is shown, on two lines of about the same length."""
    parts = CAUTION.split(" ")
    middle = min(range(len(parts)), key=lambda k: abs(len(" ".join(parts[:k])) - len(CAUTION) / 2))
    lines = (" ".join(parts[:middle]), " ".join(parts[middle:]))
    return [words(line, left, top + 24 * k, SMALL_SIZE, GREY) for k, line in enumerate(lines)]


def _in_air(axes: Axes, air: npt.NDArray[np.bool_], top: float) -> list[Item]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], air, [False])).astype(np.int8))).reshape(-1, 2)
    items: list[Item] = []
    for first, last in edges.tolist():
        x = [first + 0.5, last + 0.5, last + 0.5, first + 0.5]
        items.append(Area((axes.at(x, [0.0, 0.0, top, top]),), PALE, 0.55))
    return items


def _curve(axes: Axes, ratio: Floats, joint: str) -> list[Item]:
    colour, dash = _LOOKS.get(joint, _OTHER)
    at = axes.at(np.arange(1, len(ratio) + 1), ratio)
    items: list[Item] = [Line(at, Ink(colour, 3.0, dash=dash))]
    if len(ratio) <= _DOTS:
        items += [Dot(float(x), float(y), 4.0, Ink(colour, 0.0)) for x, y in at]
    return items


def _legend(weight: Weight) -> tuple[float, list[Item]]:
    """The joints' lines and what else is in the charts; and where the legend ends."""
    names = list(dict.fromkeys(joint.name for joint in weight.joints if joint.held_nmm is not None))
    margin = rig_of(weight.plan).margin
    rows: list[tuple[str, Ink]] = []
    for name in names:
        colour, dash = _LOOKS.get(name, _OTHER)
        rows.append((JOINT_WORDS.get(name, name), Ink(colour, 3.0, dash=dash)))
    rows.append(("all that a joint holds", Ink(BLACK, 2.6)))
    rows.append((f"with a margin of {margin:g}", Ink(GREY, 2.0, dash=(10.0, 8.0))))
    items: list[Item] = []
    x, y = _LEFT - 50, 112.0
    for text, ink in rows:
        wide = 76 + text_width(text, TEXT_SIZE) + 40
        if x + wide > WIDTH:
            x, y = _LEFT - 50, y + 34.0
        items += [Line(np.array([[x, y - 7], [x + 62, y - 7]]), ink), words(text, x + 76, y)]
        x += wide
    items.append(words("grey: the foot is in the air and the leg carries itself", _LEFT - 50, y + 32.0, SMALL_SIZE))
    return y + 40.0, items
