"""Views as plain data for views.json: one object per camera, in the OpenCV convention."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from ..model.fields import is_name
from ..model.view import View


def view_to_json(view: View) -> dict[str, Any]:
    """A view as numbers and lists: name, width, height, fx, fy, cx, cy (pixels), distortion [k1, k2, p1, p2, k3],
    R (3x3) and t (mm), camera = R stage + t; for a camera that moves along also t_per_pose, one t for every pose
    (t is that of the first)."""
    data: dict[str, Any] = {
        "name": view.name,
        "width": view.width,
        "height": view.height,
        "fx": view.fx,
        "fy": view.fy,
        "cx": view.cx,
        "cy": view.cy,
        "distortion": list(view.distortion),
        "R": np.asarray(view.rotation, float).tolist(),
        "t": np.asarray(view.translation_mm, float).tolist(),
    }
    if view.translations_mm is not None:
        data["t_per_pose"] = view.translations_mm.tolist()
    return data


def view_from_json(data: Mapping[str, Any]) -> View:
    """The view that `view_to_json` wrote. Raises ModelError for missing, unknown or unfit values."""
    known = {"name", "width", "height", "fx", "fy", "cx", "cy", "distortion", "R", "t"}
    for key in sorted(known - set(data)):
        raise ModelError(f"view.{key}", "a value for " + key, "nothing")
    for key in sorted(set(data) - known - {"t_per_pose"}):
        raise ModelError(f"view.{key}", "only " + ", ".join([*sorted(known), "t_per_pose"]), repr(key))
    if not is_name(data["name"]):
        raise ModelError(
            "view.name", "a name of small letters, digits, - and _ (at most 40, a letter first)", repr(data["name"])
        )
    width, height = (_whole(data, key) for key in ("width", "height"))
    fx, fy, cx, cy = (float(_array(data, key, ())) for key in ("fx", "fy", "cx", "cy"))
    if not (fx > 0 and fy > 0):
        raise ModelError("view.fx", "focal lengths over 0 pixels", f"{fx:g}, {fy:g}")
    moves = _array(data, "t_per_pose", (-1, 3)) if "t_per_pose" in data else None
    k = [float(one) for one in _array(data, "distortion", (5,))]
    return View(
        data["name"],
        width,
        height,
        fx,
        fy,
        cx,
        cy,
        _array(data, "R", (3, 3)),
        _array(data, "t", (3,)),
        (k[0], k[1], k[2], k[3], k[4]),
        moves,
    )


def _whole(data: Mapping[str, Any], key: str) -> int:
    value = data[key]
    if not isinstance(value, int) or isinstance(value, bool) or not 16 <= value <= 16384:
        raise ModelError(f"view.{key}", "a whole number of pixels from 16 to 16384", repr(value))
    return value


def _array(data: Mapping[str, Any], key: str, shape: tuple[int, ...]) -> npt.NDArray[np.float64]:
    """data[key] as numbers of that shape (-1 = any count, at least one)."""
    words = (
        "a number" if not shape else "numbers in a list of shape " + " x ".join("n" if n < 0 else str(n) for n in shape)
    )
    try:
        value = np.array(data[key], float)
    except (TypeError, ValueError):
        raise ModelError(f"view.{key}", words, repr(data[key])[:60]) from None
    fits = value.ndim == len(shape) and all(n in (-1, m) and m > 0 for n, m in zip(shape, value.shape, strict=True))
    if not fits or not math.isfinite(float(np.abs(value).max())):
        raise ModelError(f"view.{key}", words, repr(data[key])[:60])
    return value
