"""The curve that a scene's walk follows: when it has changed, and the walk along it."""

from __future__ import annotations

import hashlib
from typing import Any

import bpy
import numpy as np

from striderule.adjust.drawn_path import with_drawn_path
from striderule.model.shot import Shot

from . import scene
from .showing import settings_of


def along_curve(stage: Any, shot: Shot) -> Shot:
    """The shot along the chosen curve as it is now, which is noted as read. Raises StrideruleError."""
    ground = settings_of(stage).ground
    line = scene.curve_line_mm(stage, ground.curve)
    ground.read = _identity(line)  # a line that is refused is not tried again until it changes
    return with_drawn_path(shot, line[:, :2], ground.fit_steps)


def has_changed(stage: Any) -> bool:
    """True where the curve is followed, has been walked along before, and is another line now."""
    ground = settings_of(stage).ground
    if ground.curve is None or not ground.follow or not ground.read or len(ground.curve.data.splines) != 1:
        return False
    return _identity(scene.curve_line_mm(stage, ground.curve)) != ground.read


def concerns(stage: Any, block: Any) -> bool:
    """True for the curve that is followed, or its data. Cheap, for it is asked of everything that changes."""
    curve = settings_of(stage).ground.curve
    return curve is not None and (block == curve or (isinstance(block, bpy.types.Curve) and block == curve.data))


def _identity(line: Any) -> str:
    return hashlib.sha256(np.round(line, 2).tobytes()).hexdigest()
