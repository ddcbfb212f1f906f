"""A floor that moves back under a puppet which walks on the spot, as a belt or a board that is pulled does."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.shot import Shot
from .feet import Soles
from .ground import ground_of
from .timing import Steps

Floats = npt.NDArray[np.float64]


def floor_shift(shot: Shot, steps: Steps, body_mm: Floats) -> Floats:
    """(P, 3) how far the floor has moved since pose 1, in mm on the stage; all that stands on it moves alike.

    It moves evenly from contact to contact, as far as the body (body_mm (P, 3), over a floor that lies still) comes in
    that time, and rests before the first step and after the last; a body that is faster within a step goes ahead of
    it and falls back.
    """
    poses = len(body_mm)
    shown = slice(steps.before, steps.before + steps.shown)
    contacts = np.unique(np.concatenate((steps.start[shown], steps.land[shown])))
    come: Floats = body_mm[contacts, 0] - body_mm[contacts[0], 0]
    along = np.asarray(np.interp(np.arange(poses), contacts, come), dtype=np.float64)
    shift = np.zeros((poses, 3))
    shift[:, 0] = -along
    shift[:, 2] = -along * ground_of(shot.floor).behind
    return shift


def on_still_floor(sole: Soles, shift: Floats | None) -> tuple[Floats, Floats, Floats]:
    """Heel, ball and toe tip (3, L, P) of each foot over the floor as it lay at pose 1. shift: of `floor_shift`."""
    if shift is None:
        return sole.heel_mm, sole.ball_mm, sole.toe_mm
    back = shift.T[:, None]
    return sole.heel_mm - back, sole.ball_mm - back, sole.toe_mm - back
