"""The free foot: from the toe roll that throws it, over the floor, past the standing ankle, to its landing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .curves import cubic_pieces, on_pieces, smooth_share, travel, travel_through
from .feet import ROLL_POWER, FootMeasures, lowest_of_sole, on_ball, on_heel, standing, turned
from .footfalls import Footfalls
from .ground import Ground
from .timing import Steps
from .turning import SOLE_GAP_MM

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

LEVEL_AT = 0.76
"""Share of the swing at which the foot is level again."""
OVERSHOOT = 0.03
"""Share of the swing after lift-off at which the heel is highest over the toe."""
EARLY_PASSING = 0.4
"""Share of the swing before which a passing is early."""
HURRY = 1.5
"""How fast a hurried foot lands: this for each body move that it makes a pose after passing beyond two."""
MOST_OF_MEAN = 1.5
"""The speed a swing takes over from the roll is at most this much of its own mean up to passing."""
MOST_OVERSHOOT = 0.15
"""The heel goes on rising by at most this share of its angle at lift-off."""
ENDS = 0.1
"""Share of the swing at either end in which the clearance is not asked for."""
TOE_FREE_AT = 0.45
"""Share of the swing at which the toe has unbent."""


@dataclass(frozen=True, eq=False)
class Swinging:
    """Free feet (A,) at their poses: ankle (3, A) and angles in radians."""

    ankle_mm: Floats
    heading_rad: Floats
    pitch_rad: Floats
    roll_rad: Floats | None
    toe_rad: Floats


def swinging(
    steps: Steps, footfalls: Footfalls, feet: FootMeasures, ground: Ground, swing: Whole, pose: Floats
) -> Swinging:
    """Feet in the air. swing (A,), not empty: the step of each; pose (A,): when, between its lift-off and landing.

    Along: the smoothest travel that carries on with the roll's speed, is level with the standing ankle at the passing
    pose and lands softly or heavily. Up: one top, early; raised further where heel, ball or toe would come too near
    the floor.
    """
    lowest_swing = int(swing.min())
    first = np.arange(lowest_swing, int(swing.max()) + 1)
    which = swing - lowest_swing
    path = _paths(steps, footfalls, feet, first)
    s = (pose - path.off[which]) / path.duration[which]
    along = travel(path.along[which], path.via[which], s)
    across = on_pieces(cubic_pieces(0.0, 1.0, 0.0, path.start_across, path.end_across, 0.0), which, s)
    up = _height(path, which, s)
    pitch = _pitch(path, which, s)
    toe = np.where(s < TOE_FREE_AT, -pitch * (1.0 - _ease(s / TOE_FREE_AT)), 0.0)
    turn = footfalls.heading_rad[swing] - footfalls.heading_rad[swing - steps.legs]
    heading = footfalls.heading_rad[swing - steps.legs] + turn * smooth_share(s)
    if steps.legs == 2:
        bow = _bow(steps, footfalls, feet, first, path, which, s, along, across)
        if bow is not None:
            across = across + bow
    own = feet.of(steps.leg[swing])
    smooth = smooth_share(s)
    roll = None
    if not footfalls.level:
        # the floor's slope goes over from print to print while the foot turns on its own
        left = swing - steps.legs
        pitch = pitch + _between(footfalls.pitch_rad, left, swing, smooth)
        roll = _between(footfalls.roll_rad, left, swing, smooth)
    ankle = path.start_mm.take(which, axis=1)
    cos, sin = path.cos[which], path.sin[which]
    ankle[0] += along * cos - across * sin
    ankle[1] += along * sin + across * cos
    free = _over_floor(footfalls, own, ground, path, which, steps.legs, swing, along, across, up, pitch, toe)
    inside = (s >= ENDS) & (s <= 1.0 - ENDS)
    drag = steps.drag[swing]
    dragging = drag > 0
    short = np.where(inside & ~(s < drag), steps.clearance_mm[swing] - free, 0.0)
    if (short > 0).any():
        # the whole middle of the swing is raised by what its lowest pose lacks, so that it keeps its one top
        raised = np.zeros(len(first))
        np.maximum.at(raised, which, short)
        more = raised[which] * _ease(np.minimum(np.minimum(s, 1.0 - s) / ENDS, 1.0))
        up, free = up + more, free + more
    if dragging.any():  # the toe trails on the floor, then leaves it softly
        left_floor = _ease(np.maximum(np.minimum((s - drag) / np.maximum(0.5 * (1.0 - drag), 1e-9), 1.0), 0.0))
        up = np.where(dragging, up - (1.0 - left_floor) * np.maximum(free, 0.0), up)
        free = np.where(dragging, np.minimum(free, 0.0) + left_floor * np.maximum(free, 0.0), free)
    ankle[2] = up + np.maximum(-free, 0.0)
    return Swinging(ankle, heading, pitch, roll, toe)


def _between(values: Floats, start: Whole, end: Whole, share: Floats) -> Floats:
    return values[start] + (values[end] - values[start]) * share


def _over_floor(
    footfalls: Footfalls,
    own: FootMeasures,
    ground: Ground,
    path: _Paths,
    which: Whole,
    legs: int,
    swing: Whole,
    along: Floats,
    across: Floats,
    up: Floats,
    pitch: Floats,
    toe: Floats,
) -> Floats:
    """How far the lowest of heel, ball and toe (A,) is over the floor under it."""
    if ground.flat:
        return lowest_of_sole(own, up, pitch, pitch + toe) - footfalls.place_mm[2, swing]
    left = swing - legs
    # how far along the track the ankle is: by its share of the way from print to print
    share = along / np.where(np.abs(path.ahead[which]) > 1e-6, path.ahead[which], 1.0)
    here = _between(footfalls.progress_mm, left, swing, share) + path.start_along[which] * (1.0 - share)
    here = here + path.end_along[which] * share
    aside = path.start_aside[which] + across
    under = up - own.ankle_up * np.cos(pitch)
    back = here + own.ankle_up * np.sin(pitch)
    ball_at, ball = back + own.ball_ahead * np.cos(pitch), under + own.ball_ahead * np.sin(pitch)
    points = (
        (back - own.heel_behind * np.cos(pitch), under - own.heel_behind * np.sin(pitch)),
        (ball_at, ball),
        (ball_at + own.toe * np.cos(pitch + toe), ball + own.toe * np.sin(pitch + toe)),
    )
    over = [height - ground.height(at, aside) for at, height in points]
    return np.minimum(np.minimum(over[0], over[1]), over[2])


@dataclass(frozen=True, eq=False)
class _Paths:
    """One entry a swing (M,). Times in poses, slopes in units of the whole swing."""

    off: Floats
    duration: Floats
    via: Floats
    along: Floats
    start_mm: Floats
    cos: Floats
    sin: Floats
    start_across: Floats
    end_across: Floats
    start_slope_up: Floats
    end_up: Floats
    end_slope_up: Floats
    top_up: Floats
    top_at: Floats
    start_pitch: Floats
    start_pitch_slope: Floats
    end_pitch: Floats
    travel_rad: Floats
    ahead: Floats
    start_along: Floats
    end_along: Floats
    start_aside: Floats


def _paths(steps: Steps, footfalls: Footfalls, feet: FootMeasures, swing: Whole) -> _Paths:
    legs, own = steps.legs, feet.of(steps.leg[swing])
    left, landing = swing - legs, swing
    off = steps.off[left].astype(float)
    duration = steps.land[swing].astype(float) - off
    roll = steps.toe_roll[swing]
    heel_off = np.where(roll > 0, steps.heel_off_rad[swing], 0.0)
    roll_speed = -heel_off * ROLL_POWER / np.maximum(roll, 1) * duration  # radians a swing
    start_along, start_up = on_ball(own, -heel_off)
    speed_along = -start_up * roll_speed
    speed_up = (start_along - own.ball_ahead) * roll_speed
    strike = np.where(steps.flat_after[landing] > 0, steps.strike_rad[landing], 0.0)
    end_along, end_up = on_heel(own, strike)
    if footfalls.level:

        def on_floor(footfall: Whole, along: Floats) -> Floats:
            heading = footfalls.heading_rad[footfall]
            place = footfalls.place_mm.take(footfall, axis=1)
            place[0] += along * np.cos(heading)
            place[1] += along * np.sin(heading)
            return place

        start, end = on_floor(left, start_along), on_floor(landing, end_along)
        start[2] += start_up
        floor_from, floor_to = footfalls.place_mm[2, left], footfalls.place_mm[2, landing]
    else:
        start = standing(steps, footfalls, own, left, off).ankle_mm
        end = standing(steps, footfalls, own, landing, steps.land[landing].astype(float)).ankle_mm
        slope = footfalls.pitch_rad[left]
        speed_along, speed_up = turned(speed_along, speed_up, slope)
        floor_from, floor_to = start[2] - start_up, end[2] - end_up
    travel_heading = 0.5 * (footfalls.travel_rad[left] + footfalls.travel_rad[landing])
    cos, sin = np.cos(travel_heading), np.sin(travel_heading)
    ahead = (end[0] - start[0]) * cos + (end[1] - start[1]) * sin
    aside = (end[1] - start[1]) * cos - (end[0] - start[0]) * sin
    passing = (steps.start + steps.passing)[swing].astype(float)
    via = (passing - off) / duration
    at_via: Floats = 0.5 * ahead
    if legs == 2:
        other = standing(steps, footfalls, feet.of(steps.leg[swing - 1]), swing - 1, passing).ankle_mm
        beside = (other[0] - start[0]) * cos + (other[1] - start[1]) * sin
        if not steps.even or not footfalls.straight:
            # a foot that steps beside the other, or turns on the spot, has nothing to pass: it is half way then
            np.copyto(at_via, beside, where=(beside > 0.2 * ahead) & (beside < 0.8 * ahead))
        else:
            at_via = beside
    relative = footfalls.heading_rad[left] - travel_heading
    late_speed = (ahead - at_via) / (1.0 - via)
    # a foot that passes early in its swing has time to spare: it goes on moving rather than hover over its print, where
    # its leg would have to reach ahead of the hips
    spare = np.maximum(np.minimum((EARLY_PASSING - via) / 0.06, 1.0), 0.0)
    soft = 0.05 + np.maximum(0.25 * spare, _landing_speed(steps, swing))
    end_speed = np.where(steps.heavy[swing], 0.9, soft) * late_speed
    floor_up = floor_to
    top_at = steps.lift_top[swing]
    flat_up = np.maximum(floor_from, floor_to) + own.ankle_up
    asked = flat_up + steps.lift_mm[swing]
    # A roll of few poses in a long step throws the foot faster than its swing can use; what it cannot use is lost, of
    # all its speeds alike, so that the toe tip still starts from rest.
    room = np.maximum(asked - start[2], 0.25 * np.maximum(start[2] - flat_up, 0.0))
    speeds = np.array((speed_along, speed_up, -roll_speed))
    most = np.array(
        (
            MOST_OF_MEAN * np.maximum(at_via, 0.0) / via,
            3.0 * room / top_at,
            MOST_OVERSHOOT * heel_off * 2.0 / OVERSHOOT,
        )
    )
    too_fast = speeds > most
    used = (np.where(too_fast, most, 1.0) / np.where(too_fast, speeds, 1.0)).min(axis=0)
    speed_along, speed_up, turn_speed = used * speed_along, used * np.maximum(speed_up, 0.0), used * roll_speed
    # a foot that is thrown up faster than it is asked to rise goes on rising: a third of the way on at its speed
    top_up = np.maximum(np.maximum(asked, start[2] + speed_up * top_at / 3.0), floor_up + end_up)
    fall = (top_up - floor_up - end_up) / (1.0 - top_at)
    return _Paths(
        off,
        duration,
        via,
        travel_through(via, speed_along * np.cos(relative), at_via, ahead, end_speed),
        start,
        cos,
        sin,
        speed_along * np.sin(relative),
        aside,
        speed_up,
        floor_up + end_up,
        np.where(steps.heavy[swing], -fall, 0.0),
        top_up,
        top_at,
        -heel_off,
        turn_speed,
        strike,
        travel_heading,
        ahead,
        start_along,
        end_along,
        (start[1] - footfalls.place_mm[1, left]) * cos
        - (start[0] - footfalls.place_mm[0, left]) * sin
        + footfalls.aside_mm[left],
    )


def _landing_speed(steps: Steps, swing: Whole) -> Floats:
    """(M,) how much faster than softly a foot lands that has few poses from passing on, as a share of its mean speed
    there: else it would have to be thrown in between. 0 up to two body moves a pose; the fewer the poses, the less, so
    that the last move stays under .4 of the largest; none for feet that stand for long (four legs)."""
    n, left = steps.poses[swing], (steps.poses - steps.passing)[swing]
    hurried = HURRY * np.maximum(n / left - 2.0, 0.0)
    return np.where(steps.lift_off[swing] < n / 3, np.minimum(hurried, np.maximum(0.46 - 1.4 / left**2, 0.0)), 0.0)


def _ease(x: Floats) -> Floats:
    """0 to 1, starting and stopping softly."""
    return x * x * (3.0 - 2.0 * x)


def _height(path: _Paths, which: Whole, s: Floats) -> Floats:
    """Two pieces a swing: up to the top and down from it."""
    top = path.top_at
    left = 1.0 - top
    pieces = (
        cubic_pieces(0.0, top, path.start_mm[2], path.start_slope_up * top, path.top_up, 0.0),
        cubic_pieces(top, left, path.top_up, 0.0, path.end_up, path.end_slope_up * left),
    )
    return on_pieces(np.concatenate(pieces, axis=1), which + len(top) * (s >= top[which]), s)


def _pitch(path: _Paths, which: Whole, s: Floats) -> Floats:
    """The heel goes on rising a little after lift-off, the foot comes level at LEVEL_AT and meets the floor as it
    will land: three pieces a swing."""
    start, slope, end = path.start_pitch, path.start_pitch_slope, path.end_pitch
    steepest = start + 0.5 * slope * OVERSHOOT
    toe_up = 0.8 * end / (1.0 - LEVEL_AT)
    middle, late = LEVEL_AT - OVERSHOOT, 1.0 - LEVEL_AT
    pieces = (
        cubic_pieces(0.0, OVERSHOOT, start, slope * OVERSHOOT, steepest, 0.0),
        cubic_pieces(OVERSHOOT, middle, steepest, 0.0, 0.0, toe_up * middle),
        cubic_pieces(LEVEL_AT, late, 0.0, toe_up * late, end, 0.0),
    )
    piece = (s >= OVERSHOOT).astype(np.int64) + (s >= LEVEL_AT)
    return on_pieces(np.concatenate(pieces, axis=1), which + len(start) * piece, s)


def _bow(
    steps: Steps,
    footfalls: Footfalls,
    feet: FootMeasures,
    swing: Whole,
    path: _Paths,
    which: Whole,
    s: Floats,
    along: Floats,
    across: Floats,
) -> Floats | None:
    """How far the swing bows outward (A,) so that the soles pass each other with SOLE_GAP_MM; None where no swing
    need. swing and path (M,); which, s and the travel along and across from the swing's start (A,)."""
    foot, other = feet.of(steps.leg[swing]), feet.of(steps.leg[swing - 1])

    def inner(one: FootMeasures, heading: Floats) -> Floats:
        out = one.out_side * (heading - path.travel_rad)
        ahead = one.ball_ahead + one.toe
        return 0.5 * one.width * np.cos(out) + np.maximum(one.heel_behind * np.sin(out), -ahead * np.sin(out))

    side, heading = foot.out_side, footfalls.heading_rad
    own = inner(foot, heading[swing])
    if not footfalls.straight:  # the foot turns while it swings
        left = heading[swing - steps.legs]
        own = np.maximum(own, np.maximum(inner(foot, left), inner(foot, 0.5 * (left + heading[swing]))))
    asked = own + inner(other, heading[swing - 1]) + SOLE_GAP_MM
    stand = footfalls.place_mm.take(swing - 1, axis=1)
    dx, dy = path.start_mm[:2] - stand[:2]
    start_ahead, start_aside = dx * path.cos + dy * path.sin, dy * path.cos - dx * path.sin
    # a cubic stays between its Bezier points, so no swing is nearer to the standing foot than its nearest one
    nearest = np.minimum(np.minimum(side * path.start_across / 3.0, side * path.end_across), 0.0)
    if (side * start_aside + nearest >= asked).all():
        return None
    length = np.maximum(foot.ball_ahead + foot.toe + other.heel_behind, other.ball_ahead + other.toe + foot.heel_behind)
    beside = np.abs(start_ahead[which] + along) < (length + SOLE_GAP_MM)[which]
    lack = np.where(beside, (asked - side * start_aside)[which] - side[which] * across, 0.0)
    if not (lack > 0).any():
        return None
    bump = np.maximum(16.0 * (s * (1.0 - s)) ** 2, 1e-3)
    most = np.zeros(len(swing))
    np.maximum.at(most, which, np.where(lack > 0, lack / bump, 0.0))
    return (side * most)[which] * bump
