"""Loose parts: they arrive some poses later than what carries them, in closed form.

A part's end is where a stiff part's end was `late_poses` ago, seen by somebody who walks along: what the carrier did
then, smoothed over three poses (1, 2, 1), so that the delay is exactly that and small jerks are damped. Along the
track it is where the body would be, had it gone on as it did then: it lags at a start, overtakes at a stop, and hangs
straight at an even pace. Behind a stop what is left swings out in halves. What stands still long enough is at rest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.upper import Loose
from .rotations import on_axes, turned_by, upright

Floats = npt.NDArray[np.float64]

HAND_MM = 0.5
"""Smallest move that hands set (common practice, no source): a settling has no smaller ones."""

_FREE = 0.6
"""Share of the way to a stop that a part goes without feeling it; the rest gets stiffer and stiffer."""


@dataclass(frozen=True, eq=False)
class Moving:
    """What loose parts are carried by: progress (P,) along the track, the track's place (P, 3) under the body and its
    heading (P,) in radians; stride: poses after which an even walk repeats; repeats: it went on like this before pose
    1, as far as its first stride says; stood: it begins from standing; stopped: the pose from which the walk stands, or
    None."""

    progress_mm: Floats
    track_mm: Floats
    heading_rad: Floats
    stride: int
    repeats: bool
    stood: bool
    stopped: int | None


@dataclass(frozen=True, eq=False)
class LoosePlaces:
    """One loose part: joint and end (P, 3), axes (P, 3, 3) that what hangs on it turns with, swing and side (P,) in
    degrees from its rest."""

    joint_mm: Floats
    end_mm: Floats
    axes: Floats
    swing_deg: Floats
    side_deg: Floats


def loose_places(one: Loose, joint_mm: Floats, carrier: Floats, moving: Moving) -> LoosePlaces:
    """A loose part on its joint (P, 3) and carrier (P, 3, 3)."""
    along = np.array(one.end_mm) - np.array(one.joint_mm)
    level = upright(moving.heading_rad)
    rest = level if one.hangs else carrier
    stiff = joint_mm + on_axes(rest, along)
    lag = np.einsum("pij,pj->pi", level, _lag(one, _seen(stiff, level, moving), moving))
    way = np.einsum("pji,pj->pi", rest, stiff + lag - joint_mm)
    e = along / one.length_mm
    swing_way, side_way = tangents(e)
    away = way - np.outer(way @ e, e)
    size: Floats = np.sqrt((away * away).sum(axis=1))
    turn = np.arctan2(size, way @ e)
    scale = turn / np.maximum(size, 1e-12)
    swing = _stopped(np.degrees(scale * (away @ swing_way)), one.limits.swing_deg)
    side = _stopped(np.degrees(scale * (away @ side_way)), one.limits.side_deg)
    # the way to turn is from the rest toward swing_way and side_way: about e x way
    about = np.outer(np.radians(swing), np.cross(e, swing_way)) + np.outer(np.radians(side), np.cross(e, side_way))
    axes = rest @ turned_by(about)
    return LoosePlaces(joint_mm, joint_mm + on_axes(axes, along), axes, swing, side)


def tangents(e: Floats) -> tuple[Floats, Floats]:
    """Ways (3,), (3,) in which the end of a part that lies along the unit e goes with a positive swing and side: swing
    turns MINUS about +Y, as a leg's; side is to the left (up, for a part that lies across)."""
    across = np.array((0.0, 0.0, 1.0)) if abs(e[1]) > 0.9 else np.array((0.0, 1.0, 0.0))
    side = across - (across @ e) * e
    side /= np.linalg.norm(side)
    return np.cross(e, side), side


def _seen(places: Floats, level: Floats, moving: Moving) -> Floats:
    """Places (P, 3) ahead of, left of and over the point of the track under the body."""
    return np.einsum("pji,pj->pi", level, places - moving.track_mm)


def _lag(one: Loose, seen: Floats, moving: Moving) -> Floats:
    """(P, 3) how far the end is from a stiff part's end: ahead, left, up."""
    late = one.late_poses
    lag = 0.25 * _earlier(seen, late - 1, moving, False) + 0.25 * _earlier(seen, late + 1, moving, False)
    lag += 0.5 * _earlier(seen, late, moving, False) - seen
    progress = moving.progress_mm[:, None]
    then, before = _earlier(progress, late, moving, True), _earlier(progress, late + 1, moving, True)
    lag[:, :1] += then + late * (then - before) - progress
    lag *= one.much
    stopped = moving.stopped
    if stopped is not None and stopped < len(lag):
        lag[stopped:] = (
            lag[stopped] * swing_out(len(lag) - stopped, late, float(np.sqrt((lag[stopped] ** 2).sum())))[:, None]
        )
    return lag


def _earlier(values: Floats, by: int, moving: Moving, goes_on: bool) -> Floats:
    """Values (P, n) as they were `by` poses before. Before pose 1 a walk is taken to have gone on as its first stride
    does, if that is an even one; all else to have stood. goes_on: they grow evenly where they do not repeat."""
    if by == 0:
        return values
    count, back = len(values), np.arange(-by, 0)
    if moving.repeats and count > moving.stride:
        stride = moving.stride
        before = values[back % stride] + (back // stride)[:, None] * (values[stride] - values[0])
    elif goes_on and not moving.stood and count > 1:
        before = values[0] + back[:, None] * (values[1] - values[0])
    else:
        before = np.broadcast_to(values[0], (by, values.shape[1]))
    return np.concatenate((before, values[: max(count - by, 0)]))[:count]


def swing_out(poses: int, late: int, size_mm: float) -> Floats:
    """(poses,) how a lag of size_mm dies away: to the other side in `late` poses, each time half as far; moves that
    hands cannot set are left out, and the part is at rest then."""
    share = np.zeros(poses)
    if size_mm < HAND_MM:
        return share
    share[0] = 1.0
    begin, now = 0, 1.0
    while begin < poses - 1:
        then = -0.5 * now
        slowest = 0.5 * (1.0 - math.cos(math.pi / late))  # the first and the last move of a half swing
        within = late
        if abs(then - now) * slowest * size_mm < HAND_MM or abs(then) * size_mm < HAND_MM:
            then = 0.0
            while within > 1 and abs(now) * 0.5 * (1.0 - math.cos(math.pi / within)) * size_mm < HAND_MM:
                within -= 1
        k = np.arange(1, min(within, poses - 1 - begin) + 1)
        share[begin + k] = now + (then - now) * 0.5 * (1.0 - np.cos(np.pi * k / within))
        begin, now = begin + within, then
        if then == 0.0:
            break
    return share


def _stopped(angle: Floats, limits: tuple[float, float]) -> Floats:
    """Angles that come to a joint's stops softly and never pass them; unchanged up to _FREE of the way."""
    stop = np.where(angle < 0, -limits[0], limits[1])
    free, room = _FREE * stop, np.maximum((1.0 - _FREE) * stop, 1e-12)
    over = np.maximum(np.abs(angle) - free, 0.0)
    return np.sign(angle) * np.where(over > 0, free + (1.0 - _FREE) * stop * np.tanh(over / room), np.abs(angle))
