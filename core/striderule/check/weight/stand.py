"""Where the rig's stand goes: beside its point, away from the camera, on no print that a foot stands on or will, on no
obstacle; it stays as long as its arm reaches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...solve.plan import Plan
from .rig import rig_of, rig_point_mm
from .support import Flags, Floats

Whole = npt.NDArray[np.int64]

GAP_MM = 2.0
"""Left free between the stand's foot and a print."""

_TRIES_MM = np.arange(0.0, 301.0, 5.0)  # further from the puppet, where a print is in the way


@dataclass(frozen=True, eq=False)
class Stand:
    """P poses. side: +1 the puppet's left, -1 its right. place_mm (P, 2) middle of its foot on the floor, from the
    datum. moved (P,): it is set anew on the way into the pose. clear (P,): False where no free place was found."""

    side: int
    place_mm: Floats
    moved: Flags
    clear: Flags


def stand_of(plan: Plan) -> Stand:
    """The stand's place in every pose."""
    rig, point = rig_of(plan), rig_point_mm(plan)
    side = stand_side(plan)
    heading = np.radians(plan.heading_deg)
    ahead = np.stack((np.cos(heading), np.sin(heading)), axis=1)
    left = np.stack((-ahead[:, 1], ahead[:, 0]), axis=1)
    along = _along(point[:, :2], ahead)
    place = np.empty((plan.poses, 2))
    moved, clear = np.zeros(plan.poses, dtype=bool), np.ones(plan.poses, dtype=bool)
    begin = 0
    while begin < plan.poses:
        within = np.abs(along[begin:] - along[begin]) <= 2 * rig.slack_mm + 1e-9
        end = begin + (int(np.argmin(within)) if not within.all() else plan.poses - begin)
        end = max(end, begin + 1)
        middle = point[begin:end, :2].mean(axis=0)
        tries = middle + side * left[begin] * (rig.arm_mm + _TRIES_MM[:, None])
        free = _free(plan, tries, begin, 0.5 * rig.base_mm + GAP_MM)
        place[begin:end] = tries[int(np.argmax(free))]
        clear[begin:end] = bool(free.any())
        moved[begin] = begin > 0
        begin = end
    return Stand(side, place, moved, clear)


def stand_side(plan: Plan) -> int:
    """+1 = the puppet's left, -1 = its right: as the shot says, else away from the first overlay view's camera."""
    side = rig_of(plan).side
    if side != "away":
        return 1 if side == "left" else -1
    view = next(iter(plan.shot.overlay.views), "side-on")
    camera = next((one for one in plan.shot.cameras if one.name == view), None)
    if camera is None or camera.place_mm is None:
        return -1 if camera is not None and camera.side == "left" else 1
    heading = np.radians(plan.heading_deg)
    away = np.array(camera.place_mm[:2]) - plan.reference_mm[:, :2]
    aside = float((away[:, 1] * np.cos(heading) - away[:, 0] * np.sin(heading)).sum())
    return -1 if aside > 0 else 1


def _along(point: Floats, ahead: Floats) -> Floats:
    """(P,) how far the point has gone along its heading since pose 1."""
    steps = np.diff(point, axis=0)
    gone = (steps * ahead[1:]).sum(axis=1)
    return np.concatenate(([0.0], np.cumsum(gone)))


def _free(plan: Plan, places: Floats, pose: int, radius: float) -> Flags:
    """(n,) places (n, 2) from which every print of this pose and later ones, and every obstacle, is further than
    radius."""
    free = np.ones(len(places), dtype=bool)
    shift = plan.floor_shift_mm[pose, :2]
    for stance in plan.stances:
        if stance.last < pose:
            continue
        leg = plan.shot.puppet.legs[stance.leg]
        turn = np.radians(stance.heading_deg)
        away = places - np.array(stance.place_mm[:2]) - shift
        x = away[:, 0] * np.cos(turn) + away[:, 1] * np.sin(turn)
        y = away[:, 1] * np.cos(turn) - away[:, 0] * np.sin(turn)
        over_x = np.maximum(np.maximum(-leg.heel_behind_mm - x, x - leg.ball_ahead_mm - leg.toe_mm), 0.0)
        over_y = np.maximum(np.abs(y) - 0.5 * leg.sole_width_mm, 0.0)
        free &= np.hypot(over_x, over_y) > radius
    for one in plan.shot.obstacles:
        free &= np.hypot(*(places - np.array(one.at_mm)).T) > radius + one.radius_mm
    return free
