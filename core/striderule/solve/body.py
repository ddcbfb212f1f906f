"""The trunk: its travel, the hip line's height, sway, turn, drop and lean, and the chest that turns against the
pelvis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.edits import Edits
from ..model.puppet import Puppet
from ..model.track import Track
from .curves import cubic_pieces, monotone_cubics, on_pieces
from .footfalls import Footfalls, hip_centre, sides
from .rotations import on_axes, trunk_axes
from .timing import Steps

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Keys = tuple[Floats, Floats]

DROP_AT, DROP_GONE = 0.2, 0.75
"""Shares of a step at which the free side hangs lowest and is level again (common practice, no source)."""

WEIGHT_OVER = 0.5
"""How far along its way to the standing foot the body is when a heel leaves the floor for a first step: the sine of it
is 71 % of the sway (60 % at least: common practice, no source)."""

HAND_MM = 0.5
"""Smallest move that hands set (common practice, no source): a settling has no smaller ones."""


@dataclass(frozen=True, eq=False)
class Carried:
    """What one group of legs asks of the trunk that it carries, per pose (P,): progress along the track, sway to its
    left, the hip line over the floor and the floor's own height, yaw from the track's heading and roll in radians;
    edited (P,): what edits add to the hip line, or None; moved (2, P): where hand-moved footfalls take it on the stage,
    or None."""

    progress_mm: Floats
    sway_mm: Floats
    hip_line_mm: Floats
    floor_mm: Floats
    yaw_rad: Floats
    roll_rad: Floats
    edited_mm: Floats | None
    moved_mm: Floats | None
    centre_mm: Floats


@dataclass(frozen=True, eq=False)
class Trunk:
    """Per pose: angles (P, 3) yaw, pitch, roll in radians, places (P, 3), axes (P, 3, 3), hip line (P,); heading (P,)
    of the track under it; floor (P,) under the hip line; edited (P,): what edits added to it, or None; track: progress
    (P,), place (2, P) and heading (P,) of the track under the body."""

    body_mm: Floats
    body_rad: Floats
    body_axes: Floats
    reference_mm: Floats
    hip_line_mm: Floats
    heading_rad: Floats
    floor_mm: Floats
    edited_mm: Floats | None
    track: tuple[Floats, Floats, Floats]


def carried_by(steps: Steps, footfalls: Footfalls, puppet: Puppet, edits: Edits, poses: int) -> Carried:
    """What a group of legs (puppet: them alone) asks of the trunk."""
    at = np.arange(poses, dtype=float)
    inside = slice(steps.before - 1, len(steps.leg) - steps.legs)
    now = np.searchsorted(steps.start, np.arange(poses), side="right") - 1
    others = _others(steps, puppet)
    curves = [_turn(steps, inside, puppet), _drop(steps, inside, puppet), _hip_line(steps, inside, poses),
              _sway(steps, inside, np.sign(others))]  # fmt: skip
    if not footfalls.level:
        curves.append(_floor(steps, footfalls, inside))
    if footfalls.moved_mm is not None:
        curves += [_moved(steps, footfalls.moved_mm[i], inside) for i in (0, 1)]
    yaw, roll, height, quarter, *more = monotone_cubics(curves, at)
    # one wave a stride toward the feet that stand: greatest at passing, where it dwells, 0 at contact
    sway = steps.sway[now] * np.abs(others)[now] * np.sin(0.5 * np.pi * quarter)
    floor = np.zeros(poses) if footfalls.level else more[0]
    edited = _edited(edits, at)
    if edited is not None:
        height = height + edited
    return Carried(_travel(steps, footfalls, at), sway, height, floor, yaw, roll, edited,
                   np.array(more[-2:]) if footfalls.moved_mm is not None else None, hip_centre(puppet))  # fmt: skip


def _edited(edits: Edits, at: Floats) -> Floats | None:
    """(P,) what edits add to the hip line; None where there are none."""
    if not edits.body and not edits.hips_up_mm:
        return None
    up = np.zeros(len(at))
    for edit in edits.body:
        away = np.abs(at - (edit.pose - 1)) / (edit.over_poses + 1.0)
        up = up + edit.up_mm * 0.5 * (1.0 + np.cos(np.pi * np.minimum(away, 1.0)))
    count = min(len(edits.hips_up_mm), len(at))
    up[:count] += edits.hips_up_mm[:count]
    return up


def trunk_of(carried: list[Carried], steps: Steps, whole: Puppet, track: Track, poses: int) -> Trunk:
    """The trunk of every pose, carried by its groups of legs, the hindmost first. The reference point moves along the
    track (on curves, of several groups, the middle of their hips); height and sway are the hip lines'."""
    at = np.arange(poses, dtype=float)
    first = carried[0]
    many = len(carried) > 1
    progress, sway = first.progress_mm, first.sway_mm
    up = first.hip_line_mm + first.floor_mm
    body_rad = np.empty((poses, 3))
    yaw, roll = first.yaw_rad, first.roll_rad
    lean = np.interp(at, steps.start, steps.lean_rad)
    centre_all = hip_centre(whole)
    if many:
        # each group asks for a place of its own hips; a stiff trunk lies through them as well as it can
        homes = np.array([one.centre_mm[0] for one in carried])
        spread = homes - homes.mean()
        weight = spread / max(float(spread @ spread), 1e-9)
        lines = np.array([one.hip_line_mm + one.floor_mm - first.floor_mm for one in carried])
        sways = np.array([one.sway_mm for one in carried])
        progress = np.mean([one.progress_mm for one in carried], axis=0)
        up = lines.mean(axis=0) + first.floor_mm
        lean = lean - np.arctan(weight @ (lines + first.floor_mm - lines.mean(axis=0)))
        sway = sways.mean(axis=0)
        yaw = np.mean([one.yaw_rad for one in carried], axis=0) + np.arctan(weight @ sways)
        roll = np.mean([one.roll_rad for one in carried], axis=0)
    length = steps.length_mm[steps.before : steps.before + steps.shown].mean() if not track.straight else 0.0
    by_hips = many and not track.straight
    if by_hips:
        # the middle of all hips goes along the track: a reference point far ahead of it would take the hind legs off it
        x, _, z = centre_all - np.array(whole.body.reference_mm)
        progress = progress + x * np.cos(lean) + z * np.sin(lean)
    heading = track.heading_about(progress, length)
    body_rad[:, 0], body_rad[:, 1], body_rad[:, 2] = heading + yaw, lean, roll
    axes = trunk_axes(body_rad[:, 0], body_rad[:, 1], body_rad[:, 2])
    centre = on_axes(axes, centre_all)
    reference = on_axes(axes, np.array(whole.body.reference_mm))
    level, straight_on = track.on(progress)
    cos, sin = np.cos(heading), np.sin(heading)
    followed = centre if by_hips else reference
    back = followed[:, 0] * cos + followed[:, 1] * sin
    left = sway - (centre[:, 1] * cos - centre[:, 0] * sin)
    body = np.empty((poses, 3))
    body[:, 0] = level[0] - back * cos - left * sin
    body[:, 1] = level[1] - back * sin + left * cos
    body[:, 2] = up - centre[:, 2]
    for one in carried:
        if one.moved_mm is not None:
            body[:, :2] += one.moved_mm.T / len(carried)
    return Trunk(body, body_rad, axes, body + reference, first.hip_line_mm, heading, first.floor_mm,
                 first.edited_mm, (progress, level, straight_on))  # fmt: skip


def _travel(steps: Steps, footfalls: Footfalls, at: Floats) -> Floats:
    """How far the body has come (P,): evenly in an even walk; where steps differ, its speed at a contact is that of the
    step between the feet then; it rests where the walk stands."""
    reached, start, land = footfalls.reached_mm, steps.start.astype(float), steps.land.astype(float)
    if steps.even:
        along = np.interp(at, start, reached)
    else:
        along = _uneven_travel(steps, reached, start, land, at)
    if steps.surge.any():
        now = np.minimum(np.maximum(np.searchsorted(start, at, side="right") - 1, 0), len(start) - 2)
        phase = np.minimum((at - start[now]) / steps.poses[now], 1.0)
        length = reached[now + 1] - reached[now]
        along = along + steps.surge[now] * length / (2.0 * np.pi) * np.sin(2.0 * np.pi * phase)
    return along


def _uneven_travel(steps: Steps, reached: Floats, start: Floats, land: Floats, at: Floats) -> Floats:
    count = len(start)
    step = np.arange(1, count - 1)  # contacts that lie between two steps
    between = 0.5 * (steps.poses[step - 1] + steps.poses[step])
    speed = steps.length_mm[step - 1] / between
    waits = start[step] - land[step - 1]
    stopping = waits > 0
    standing = steps.length_mm[step - 1] == 0
    # a body that stops in mid-walk glides to its place in the first poses of the pause, and out of it in the last
    third = np.maximum(np.floor(steps.poses[step - 1] / 3 + 0.5), 1.0)
    glide = np.where(stopping & ~standing, np.minimum(0.5 * waits, third), 0.0)
    after = step == steps.before
    glides_out = np.where(stopping & ~standing & (steps.length_mm[step] > 0) & ~after, glide, 0.0)
    slow = np.where(glide > 0, 0.5 * speed, 0.0)
    slow_out = np.where(glides_out > 0, 0.5 * speed, 0.0)
    place = reached[step]
    times = np.stack((land[step - 1], land[step - 1] + glide, start[step] - glides_out, start[step]), axis=1).ravel()
    places = np.stack((place - 0.5 * slow * glide, place, place, place + 0.5 * slow_out * glides_out), axis=1).ravel()
    still = np.where(stopping, 0.0, speed)
    slopes = np.stack(
        (np.where(stopping, slow, speed), still, still, np.where(stopping, slow_out, speed)), axis=1
    ).ravel()
    keep = np.ones(len(times), dtype=bool)
    keep[1:] = times[1:] > times[:-1]
    times, places, slopes = times[keep], places[keep], slopes[keep]
    h = np.diff(times)
    secant = np.diff(places) / h
    most = np.full(len(times), np.inf)
    most[1:] = 3.0 * np.abs(secant)
    most[:-1] = np.minimum(most[:-1], 3.0 * np.abs(secant))
    slopes = np.minimum(slopes, most)
    pieces = cubic_pieces(times[:-1], h, places[:-1], slopes[:-1] * h, places[1:], slopes[1:] * h)
    which = np.minimum(np.maximum(np.searchsorted(times, at, side="right") - 1, 0), len(h) - 1)
    along = on_pieces(pieces, which, at)
    last = steps.last
    if steps.stands_last and last + 1 < count:
        along = along + _settling(steps, at, land[last])
    return along


def _settling(steps: Steps, at: Floats, landed: float) -> Floats:
    """The body past its place at a stop: it gets there with the last contact, and comes back in halving moves, none
    smaller than hands can set."""
    last = steps.last
    size = steps.overshoot * float(steps.length_mm[steps.before : last + 1].max())
    count = steps.settle
    while count > 1 and size * 0.5**count / (1.0 - 0.5**count) < HAND_MM:
        count -= 1
    if count < 1 or size * 0.5**count / (1.0 - 0.5**count) < HAND_MM:
        return np.zeros_like(at)
    after = np.minimum(np.maximum(at - landed, 0.0), count)
    back = size * (1.0 - (1.0 - 0.5**after) / (1.0 - 0.5**count))
    into = np.minimum(np.maximum((at - landed) / max(float(steps.poses[last]) / 2, 1.0) + 1.0, 0.0), 1.0)
    return back * into * into * (3.0 - 2.0 * into)


def _keys(steps: Steps, inside: slice, *keys: tuple[Whole | Floats, Floats]) -> Keys:
    """Times and values (K,), rising, of keys that every step has; a key that is not later than the one before it, or
    not before the next contact, is left out (very short steps). Where the walk waits between two steps the first key's
    value holds from the landing on."""
    land, start = steps.land[inside], steps.start[inside]
    times, values = np.empty((len(land), len(keys))), np.empty((len(land), len(keys)))
    for i, (time, value) in enumerate(keys):
        times[:, i], values[:, i] = time[inside], value[inside]
    if (times[:, 1:] > times[:, :-1]).all() and (times[:, -1] < land).all():
        found = times.ravel(), values.ravel()
    else:
        keep = times < land[:, None]
        keep[:, 1:-1] &= times[:, 1:-1] < times[:, 2:]
        keep[:, 1:] &= times[:, 1:] > times[:, :1]
        found = times[keep], values[keep]
    if steps.even:
        return found
    waits = np.flatnonzero(start[1:] > land[:-1])
    return with_keys(found, land[waits].astype(float), values[waits + 1, 0])


def with_keys(keys: Keys, times: Floats, values: Floats) -> Keys:
    """Keys with others put among them, which win where two are at one time."""
    apart = ~np.isin(keys[0], times)
    every, what = np.concatenate((times, keys[0][apart])), np.concatenate((values, keys[1][apart]))
    order = np.argsort(every, kind="stable")
    return every[order], what[order]


def _hip_line(steps: Steps, inside: slice, poses: int) -> Keys:
    """Keys of the hip line: one bottom and one top a step, at its down and up poses."""
    start = steps.start
    keys = _keys(steps, inside, (start, steps.hip_contact_mm), (start + steps.down, steps.hip_down_mm),
                 (start + steps.passing, steps.hip_passing_mm), (start + steps.up, steps.hip_up_mm))  # fmt: skip
    if steps.stands_first:
        # standing, a small sinking before the first heel leaves, and on into the step
        first = steps.before
        begin, leaves = int(steps.start[first]), _leaves(steps)
        still, dip = (
            float(steps.hip_contact_mm[first - 1]),
            float(steps.hip_contact_mm[first - 1]) - steps.anticipation_mm,
        )
        if begin > 0:
            # a standing puppet is as high as it stands; it does not come down to the height of a contact at once
            keys = with_keys(keys, np.array((0.0, float(begin))), np.array((still, dip)))
            if 0 < leaves < begin:
                keys = with_keys(keys, np.array((float(leaves),)), np.array((dip,)))
    if steps.stands_last:
        land = float(steps.land[steps.last])
        still = float(steps.hip_contact_mm[steps.last + 1])
        closing = float(steps.length_mm[steps.last]) == 0.0
        last = float(poses - 1)
        if closing:
            keys = with_keys(keys, np.array((land,)), np.array((min(still, float(steps.hip_down_mm[steps.last])),)))
        if last > land:
            keep = (keys[0] <= land) | (keys[0] > last)
            keys = with_keys((keys[0][keep], keys[1][keep]), np.array((last,)),
                             np.array((still if closing else float(steps.hip_contact_mm[steps.last]),)))  # fmt: skip
    return keys


def _leaves(steps: Steps) -> int:
    """The pose at which the first heel leaves the floor in a start from standing, 1 at least."""
    first = steps.before
    return max(1, int(steps.start[first] + steps.lift_off[first] - steps.toe_roll[first]))


def _sway(steps: Steps, inside: slice, toward: Floats) -> Keys:
    """Keys of the sway: 0 at contact, 1 toward the feet that stand at passing; before a first step from standing the
    weight is over before the heel leaves."""
    keys = _keys(steps, inside, (steps.start, np.zeros(len(toward))), (steps.start + steps.passing, toward))
    if steps.stands_first and steps.start[steps.before] > 0:
        first = steps.before
        begin, side = float(steps.start[first]), float(toward[first])
        keep = (keys[0] <= 0.0) | (keys[0] > begin)
        keys = with_keys((keys[0][keep], keys[1][keep]), np.array((0.0, float(_leaves(steps)))),
                         np.array((0.0, WEIGHT_OVER * side)))  # fmt: skip
    return keys


def _floor(steps: Steps, footfalls: Footfalls, inside: slice) -> Keys:
    """Keys of the floor under the body: at a contact half way between the feet, at passing under those that stand."""
    height = footfalls.place_mm[2]
    stand = _mean_before(height, steps.legs)
    other = _mean_before(height, max(steps.legs - 1, 1))
    return _keys(steps, inside, (steps.start, stand), (steps.start + steps.passing, other))


def _moved(steps: Steps, moved: Floats, inside: slice) -> Keys:
    """Keys of what hand-moved footfalls add to the body's place: their mean at every contact."""
    return _keys(steps, inside, (steps.start, _mean_before(moved, steps.legs)))


def _mean_before(values: Floats, count: int) -> Floats:
    """(E,) mean over the `count` entries before each; at the beginning of what there is."""
    total = np.concatenate(([0.0], values.cumsum()))
    number = np.arange(len(values))
    low = np.maximum(number - count, 0)
    return np.where(number > 0, (total[number] - total[low]) / np.maximum(number - low, 1), values[0])


def _others(steps: Steps, puppet: Puppet) -> Floats:
    """(E,) mean place across, from the middle of the track, of the feet that stand while a step's foot swings."""
    return _mean_before(0.5 * sides(puppet)[steps.leg] * steps.width_mm, max(steps.legs - 1, 1))


def _turn(steps: Steps, inside: slice, puppet: Puppet) -> Keys:
    """Keys of the pelvis yaw: at every contact the side of the foot that just landed is forward."""
    landed = np.empty(len(steps.leg))
    landed[1:] = sides(puppet)[steps.leg[:-1]] * steps.turn_rad[:-1]
    landed[0] = 0.0
    return _keys(steps, inside, (steps.start, -landed))


def _drop(steps: Steps, inside: slice, puppet: Puppet) -> Keys:
    """Keys of the body roll: the side of the free leg drops early in its swing and is level again before it lands."""
    side = sides(puppet)[steps.leg]
    start, n = steps.start, steps.poses
    level = np.zeros(len(start))
    return _keys(steps, inside, (start, level), (start + DROP_AT * n, -side * steps.drop_rad),
                 (start + DROP_GONE * n, level))  # fmt: skip
