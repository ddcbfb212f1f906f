"""Does the puppet stay inside the picture?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import product

import numpy as np
import numpy.typing as npt

from ..check.finding import Finding
from ..check.runs import finding_of
from ..model.view import View
from ..solve.plan import Plan
from .lens import pixels_from_stage
from .solids import solids_of

Floats = npt.NDArray[np.float64]

_CORNERS = tuple(np.array(corner) for corner in product((False, True), repeat=3))
_SPARE = 0.02  # of the picture: what a bending lens may do to a straight edge


def framing_findings(plan: Plan, views: Iterable[View]) -> tuple[Finding, ...]:
    """out-of-view, one finding a view: where a part of the puppet is beyond the picture's edge or behind the camera."""
    points: Floats = np.concatenate([solid.centres_mm for solid in solids_of(plan)], axis=1)
    low, high = points.min(axis=1), points.max(axis=1)
    boxes: Floats = np.stack([_corner(low, high, corner) for corner in _CORNERS], axis=1)
    found: list[Finding] = []
    for view in views:
        # Where the box around the puppet is well inside the picture, so is the puppet: that spares most poses.
        beyond = _beyond(view, boxes)
        near = np.flatnonzero(beyond > -_SPARE * min(view.width, view.height))
        if not len(near):
            continue
        looked = view if view.translations_mm is None else replace(view, translations_mm=view.translations_mm[near])
        beyond[near] = _beyond(looked, points[near])
        text = (
            f"The puppet leaves the picture of view {view.name} in {{poses}}, by {{number}} pixels in pose {{worst}}."
        )
        found += finding_of("out-of-view", beyond > 0, beyond, "px", text)
    return tuple(found)


def _corner(low: Floats, high: Floats, upper: npt.NDArray[np.bool_]) -> Floats:
    return np.where(upper, high, low)


def _beyond(view: View, points: Floats) -> Floats:
    """(poses,) by how many pixels the outermost of points (poses, n, 3) is beyond the picture; negative = inside.

    Behind the camera there are no pixels: the picture's whole width counts.
    """
    pixels, depth = pixels_from_stage(view, points)
    x, y = pixels[..., 0], pixels[..., 1]
    edges = np.maximum.reduce([-0.5 - x, x - view.width + 0.5, -0.5 - y, y - view.height + 0.5])
    return np.where((depth > 0) & np.isfinite(edges), edges, float(view.width)).max(axis=1)
