"""A spine that bends: the pelvis follows the hind pairs of legs, the chest, which turns at the waist, the front ones.

Each asks for a yaw, a roll, a height and a sway of its own hips, and on a slope for its pitch. The two turn together
until both heights and both sways are met; what is left between them is the waist's to take.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..model.groups import Group
from ..model.puppet import Puppet
from ..model.track import Track
from .body import Carried, Trunk
from .footfalls import hip_centre
from .rotations import on_axes, trunk_axes
from .timing import Steps

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class _Half:
    """What the pairs on one part ask together, per pose (P,): height of their hips, sway, roll, yaw from the heading,
    pitch of the floor under them in radians, place of their hips' middle on the track (2, P). hips (3,): that middle
    from the waist."""

    up_mm: Floats
    roll: Floats
    yaw: Floats
    pitch: Floats
    place_mm: Floats
    hips: Floats


def bent(
    carried: list[Carried], groups: tuple[Group, ...], steps: Steps, whole: Puppet, track: Track, stiff: Trunk
) -> tuple[Trunk, Floats]:
    """The pelvis in place of a stiff trunk, and the chest's own yaw, pitch, roll (P, 3) in radians, as the legs that it
    carries ask for them: further than the waist goes where that is the stop."""
    waist = np.array(whole.body.waist_mm)
    window = int(steps.poses[steps.before])
    parts: list[_Half] = []
    for part in ("body", "chest"):
        mine = [k for k, group in enumerate(groups) if whole.legs[group.legs[0]].part == part]
        parts.append(_half([carried[k] for k in mine], whole, track, stiff, waist, window))
    hind, fore = parts
    turn, lean, tilt = (None if one is None else np.radians(one) for one in whole.body.limits_deg("waist"))
    turn_asked, lean_asked, tilt_asked = fore.yaw - hind.yaw, fore.pitch - hind.pitch, fore.roll - hind.roll
    turn_had, lean_had, tilt_had = _kept(turn_asked, turn), _kept(lean_asked, lean), _kept(tilt_asked, tilt)
    # where the waist stops, both give way alike
    hind_roll, hind_yaw = (
        one + 0.5 * (asked - had)
        for one, asked, had in ((hind.roll, tilt_asked, tilt_had), (hind.yaw, turn_asked, turn_had))
    )
    typed_lean = np.interp(np.arange(len(hind.up_mm), dtype=float), steps.start, steps.lean_rad)
    half = 0.5 * lean_had
    hind_up, fore_up = _upright(hind.hips, hind_roll), _upright(fore.hips, hind_roll + tilt_had)
    ways = _weights((float(fore.hips[0]), fore_up, half), (float(hind.hips[0]), hind_up, -half))
    pitch = typed_lean + _met(fore.up_mm - hind.up_mm, *ways)
    x1, y1, z1 = _tipped(hind.hips, hind_up, hind_roll, pitch - half)
    x2, y2, z2 = _tipped(fore.hips, fore_up, hind_roll + tilt_had, pitch + half)
    away = fore.place_mm - hind.place_mm
    cos, sin = np.cos(stiff.heading_rad), np.sin(stiff.heading_rad)
    apart = away[1] * cos - away[0] * sin
    c1, s1, c2, s2 = np.cos(hind_yaw), np.sin(hind_yaw), np.cos(hind_yaw + turn_had), np.sin(hind_yaw + turn_had)
    together = -_met(apart, x2 * c2 - y2 * s2 - x1 * c1 + y1 * s1, x2 * s2 + y2 * c2 - x1 * s1 - y1 * c1)
    pelvis = np.stack((stiff.heading_rad + hind_yaw + together, pitch - half, hind_roll), axis=1)
    axes = trunk_axes(*pelvis.T)
    at_hips = on_axes(axes, hind.hips + waist)
    reference = on_axes(axes, np.array(whole.body.reference_mm))
    up = 0.5 * (hind.up_mm - z1 + fore.up_mm - z2)  # of the waist; the same but for a typed lean
    body = np.column_stack((hind.place_mm.T - at_hips[:, :2], up - on_axes(axes, waist)[:, 2]))
    if track.straight:  # the reference point goes on evenly
        way = np.stack((cos, sin), axis=1)
        late = ((stiff.reference_mm - body - reference)[:, :2] * way).sum(axis=1)
        body[:, :2] += late[:, None] * way
    trunk = replace(stiff, body_mm=body, body_rad=pelvis, body_axes=axes, reference_mm=body + reference)
    return trunk, pelvis + np.stack((turn_asked, lean_asked, tilt_asked), axis=1)


def _half(carried: list[Carried], whole: Puppet, track: Track, stiff: Trunk, waist: Floats, window: int) -> _Half:
    hips = _mean([one.centre_mm for one in carried])
    progress, (x, y), _ = stiff.track
    home = float(hips[0] - hip_centre(whole)[0])
    heading = stiff.heading_rad
    own = heading
    if track.straight or track.spot_deg:
        place = np.stack((x + home * np.cos(heading), y + home * np.sin(heading)))
    else:
        place, own = track.on(progress + home)
    sway = _mean([one.sway_mm for one in carried])
    place = place + sway * np.stack((-np.sin(own), np.cos(own)))
    for one in carried:
        if one.moved_mm is not None:
            place = place + one.moved_mm / len(carried)
    turned: Floats = np.remainder(own - heading + np.pi, 2.0 * np.pi) - np.pi
    return _Half(
        _mean([one.hip_line_mm + one.floor_mm for one in carried]),
        _mean([one.roll_rad for one in carried]),
        _mean([one.yaw_rad for one in carried]) + turned,
        -np.arctan(_mean([_slope(one, window) for one in carried])),
        place,
        hips - waist,
    )


def _mean(each: list[Floats]) -> Floats:
    return each[0] if len(each) == 1 else np.asarray(sum(each)) / len(each)


def _slope(one: Carried, window: int) -> Floats:
    """(P,) rise of the floor under a pair along its way, over the poses of a step about each: its ripple goes."""
    floor, along = one.floor_mm, one.progress_mm
    if not floor.any():
        return floor
    last = len(floor) - 1
    before = np.clip(np.arange(last + 1) - window // 2, 0, max(last - window, 0))
    after = np.minimum(before + window, last)
    way = along[after] - along[before]
    rise = floor[after] - floor[before]
    return np.where(way > 1.0, rise / np.maximum(way, 1.0), 0.0)


def _kept(asked: Floats, limits: Floats | None) -> Floats:
    return asked if limits is None else np.clip(asked, *limits)


def _upright(hips: Floats, roll: Floats) -> Floats:
    """How high hips are over the waist in a part that rolls."""
    return np.sin(roll) * hips[1] + np.cos(roll) * hips[2]


def _tipped(hips: Floats, up: Floats, roll: Floats, pitch: Floats) -> tuple[Floats, Floats, Floats]:
    """Hips from the waist, ahead, left and up, in a part that pitches and rolls and does not turn; up: `_upright`."""
    c, s = np.cos(pitch), np.sin(pitch)
    return c * hips[0] + s * up, np.cos(roll) * hips[1] - np.sin(roll) * hips[2], c * up - s * hips[0]


def _weights(fore: tuple[float, Floats, Floats], hind: tuple[float, Floats, Floats]) -> tuple[Floats, Floats]:
    """(a, b) of: at a common pitch p the front hips are b cos p - a sin p higher than the hind ones. Each: hips ahead
    of the waist, and up, and the part's own pitch."""
    (x2, z2, q2), (x1, z1, q1) = fore, hind
    a = x2 * np.cos(q2) + z2 * np.sin(q2) - x1 * np.cos(q1) - z1 * np.sin(q1)
    b = z2 * np.cos(q2) - x2 * np.sin(q2) - z1 * np.cos(q1) + x1 * np.sin(q1)
    return a, b


def _met(want: Floats, a: Floats, b: Floats) -> Floats:
    """The angle p nearest to 0 at which b cos p - a sin p = want; where none is, the nearest to it. For a > 0."""
    length = np.maximum(np.hypot(a, b), 1e-9)
    return np.arctan2(b, a) - np.arcsin(np.clip(want / length, -1.0, 1.0))
