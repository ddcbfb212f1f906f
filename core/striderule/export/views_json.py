"""views.json: every camera of the shot, in the OpenCV pinhole convention, for programs that line things up."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from ..camera.views_json import view_to_json
from ..model.view import View
from .files import write_json

PLACES = 9
"""Decimals of camera numbers: far below a thousandth of a pixel, and without the last bits of a sum."""


def views_content(views: Iterable[View]) -> dict[str, Any]:
    """What views.json holds. camera = R stage + t; t in mm, the rest in pixels; x right, y down, z into the picture."""
    return {
        "kind": "views",
        "format": 1,
        "pixel_origin": "centre of the top-left pixel",
        "views": [rounded_numbers(view_to_json(view)) for view in views],
    }


def rounded_numbers(value: Any, places: int = PLACES) -> Any:
    """The same content with every float rounded and no -0."""
    if isinstance(value, float):
        return round(value, places) + 0.0
    if isinstance(value, dict):
        return {key: rounded_numbers(one, places) for key, one in value.items()}  # pyright: ignore[reportUnknownVariableType]
    if isinstance(value, list):
        return [rounded_numbers(one, places) for one in value]  # pyright: ignore[reportUnknownVariableType]
    return value


def write_views_json(path: Path, views: Iterable[View]) -> None:
    """Write views.json. Raises OutputError."""
    write_json(path, views_content(views))
