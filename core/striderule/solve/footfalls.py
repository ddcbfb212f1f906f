"""Where the feet stand: one place, heading and slope for every step's landing, how far the body has come at every
contact, and which footfall each leg is at in each pose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import ModelError
from ..model.defaults import feet_ahead
from ..model.edits import FootfallEdit
from ..model.floor import Stairs
from ..model.puppet import Puppet
from ..model.shot import Shot
from ..model.track import Track
from ..model.walk import Walk
from .ground import Ground
from .plan import Footing
from .timing import Steps
from .turning import beside, kept_clear, turning

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Footfalls:
    """Footfall v is where step v's foot lands. place_mm (3, E): the floor under the ankle of the flat foot; heading_rad
    (E,): the foot's; pitch_rad, roll_rad (E,): of the floor under it; travel_rad (E,): the track's there.

    progress_mm, aside_mm (E,): how far along the track it is, and to its left. reached_mm (E,): how far the body has
    come at the step's start. moved_mm (2, E): how far edits and stairs took it from where the walk would have put it;
    None = nowhere. level: all of the floor is. straight: all of the track is.
    """

    place_mm: Floats
    heading_rad: Floats
    pitch_rad: Floats
    roll_rad: Floats
    travel_rad: Floats
    progress_mm: Floats
    aside_mm: Floats
    reached_mm: Floats
    moved_mm: Floats | None
    level: bool
    straight: bool


def sides(puppet: Puppet) -> Floats:
    """(L,) +1 where a leg's outward side is the puppet's left, -1 where it is its right."""
    return np.array([float(leg.outward_side) for leg in puppet.legs])


def hip_centre(puppet: Puppet) -> Floats:
    """(3,) middle of all hip pivots from the body's centre."""
    legs = puppet.legs
    return np.array([sum(leg.hip_mm[i] for leg in legs) / len(legs) for i in range(3)])


def footfalls_of(
    steps: Steps,
    puppet: Puppet,
    shot: Shot,
    track: Track,
    ground: Ground,
    whole: Puppet,
    delays: tuple[int, float],
    edits: tuple[FootfallEdit, ...] = (),
) -> Footfalls:
    """Footfalls of a group of legs along the track: every foot stands half of its stance ahead of its hip and half
    behind, but for what `feet_ahead` says.

    puppet: the group alone; whole: all of it. delays: how many poses after the first group's its steps begin, and the
    mean of all groups'; edits: of the group's feet. The reference point stands over the start at pose 0; with a lean
    it is not above the hips, and the feet are placed for the hips.
    """
    length = steps.length_mm
    foot = length.cumsum()
    # the body is in the middle of the feet that stand at a contact
    reached = np.empty_like(foot)
    reached[1:] = foot[:-1]
    reached[0] = foot[0] - length[0]
    if steps.legs > 1:
        window = np.concatenate((foot[0] - length[0] * np.arange(steps.legs, 0, -1), foot))
        total = np.concatenate(([0.0], window.cumsum()))
        number = np.arange(len(foot))
        reached = (total[number + steps.legs] - total[number]) / steps.legs
    first = steps.before
    delay, mean_delay = delays
    begun = 0.0
    if delay and not steps.stands_first:
        begun = length[first] / steps.poses[first] * delay
    shift = begun - reached[first]
    foot, reached = foot + shift, reached + shift
    if mean_delay:
        later = _of_delay(steps, shot.settled_walk, delay - mean_delay)
        foot = foot + later
        reached[1:] += _mean_of_last(later, steps.legs)[:-1]
    if track.spot_deg:
        foot = turning(foot, sides(puppet)[steps.leg], track)
        reached[1:] = _mean_of_last(foot, steps.legs)[:-1]
    centre = hip_centre(whole)
    from_reference = centre - np.array(whole.body.reference_mm)
    lean = steps.lean_rad
    hips_ahead = from_reference[0] * np.cos(lean) + from_reference[2] * np.sin(lean)
    home = np.array([leg.hip_mm[0] for leg in puppet.legs]) - centre[0]
    side = sides(puppet)[steps.leg]
    ahead = feet_ahead(steps.lift_off, steps.poses, len(whole.legs) > len(puppet.legs)) * length
    if steps.stands_last and length[steps.last] == 0:  # a closing foot comes to stand beside the other
        ahead[steps.last] = ahead[steps.last - 1]
    progress = foot + ahead + hips_ahead + home[steps.leg]
    soles = np.array([(leg.heel_behind_mm, leg.ball_ahead_mm + leg.toe_mm) for leg in puppet.legs])[steps.leg].T
    nominal = progress
    if shot.floor.stairs is not None:
        progress = _on_treads(progress, soles, shot.floor.stairs)
    aside = 0.5 * side * steps.width_mm
    level, travel = beside(track, progress, home[steps.leg], aside)
    moved = None
    if progress is not nominal:
        moved = level - beside(track, nominal, home[steps.leg], aside)[0]
    heading = travel + side * steps.toe_out_rad
    by_hand_or_clear = False
    if not track.straight and steps.legs == 2:
        width = np.array([leg.sole_width_mm for leg in puppet.legs])[steps.leg]
        clear = kept_clear(level, heading, travel, side, soles, width)
        if clear.any():
            level = level + clear
            moved = clear if moved is None else moved + clear
            by_hand_or_clear = True
    if edits:
        level, heading, moved = _edited(edits, puppet, steps, level, heading, travel, moved)
        by_hand_or_clear = True
    if by_hand_or_clear and moved is not None:  # the floor is looked up where the foot really is
        along = moved[0] * np.cos(travel) + moved[1] * np.sin(travel)
        progress = nominal + along
        aside = aside + moved[1] * np.cos(travel) - moved[0] * np.sin(travel)
    place = np.zeros((3, len(foot)))
    place[:2] = level
    pitch = np.zeros(len(foot))
    roll = pitch
    if not ground.flat:
        place[2], pitch, roll = _on_ground(ground, progress, aside, soles, heading - travel)
    return Footfalls(place, heading, pitch, roll, travel, progress, aside, reached, moved, ground.flat, track.straight)


def _of_delay(steps: Steps, walk: Walk, delay: float) -> Floats:
    """(E,) how much further a group's feet land than those of a group without delay, as the body has gone on meanwhile.
    From standing and to standing, where all feet are under their hips, its first step is so much longer and its last
    one shorter. delay: in poses, from the groups' mean."""
    later = np.zeros(len(steps.leg))
    by = (walk.step_mm or 0.0) / walk.poses_per_step * delay
    if steps.stands_first:
        later[steps.before :] = by
    if steps.stands_last:
        closing = float(steps.length_mm[steps.last]) == 0.0
        later[max(steps.last - closing, steps.before) :] -= by
    return later


def _mean_of_last(values: Floats, count: int) -> Floats:
    """(E,) mean of each and the count - 1 before it."""
    window = np.concatenate((np.full(count - 1, values[0]), values))
    return np.convolve(window, np.full(count, 1.0 / count), mode="valid")


def _on_ground(
    ground: Ground, progress: Floats, aside: Floats, soles: Floats, turned: Floats
) -> tuple[Floats, Floats, Floats]:
    """Height under the ankle, pitch and roll of soles that lie on the ground. soles (2, E): heel behind, toe ahead."""
    back, front = progress - soles[0], progress + soles[1]
    grade = ground.grade(back, front)
    along = grade * np.cos(turned) + ground.across * np.sin(turned)
    across = ground.across * np.cos(turned) - grade * np.sin(turned)
    pitch = np.arctan(along)
    roll = np.arctan(across * np.cos(pitch))
    heel = ground.height(back, aside)
    height = heel + grade * soles[0]
    over = ground.edge_between(back, front)
    if over.any():  # over an edge a sole lies on the higher side, level
        higher = np.maximum(heel, np.maximum(ground.height(front, aside), ground.height(progress, aside)))
        height = np.where(over, higher, height)
    return height, pitch, roll


def _on_treads(progress: Floats, soles: Floats, stairs: Stairs) -> Floats:
    """The same footfalls, those on stairs in the middle of their treads: one foot on each, or both."""
    middle = 0.5 * (soles[1] - soles[0])  # of the sole, ahead of the ankle
    both = stairs.feet_per_tread == "both"
    centre = progress + middle
    on = np.flatnonzero(centre > stairs.first_edge_mm - 0.5 * stairs.tread_mm)
    if not len(on):
        return progress
    first = int(on[0])
    number = np.arange(len(progress)) - first
    tread = number // 2 if both else number
    climbing = (number >= 0) & (tread < stairs.count)
    placed = stairs.first_edge_mm + (tread + 0.5) * stairs.tread_mm - middle
    moved = np.where(climbing, placed, progress)
    last = first + stairs.count * (2 if both else 1) - 1
    if last < len(progress):
        # behind the last riser the walk goes on from where the stairs left it
        moved[last + 1 :] += placed[last] - progress[last]
    return np.asarray(moved, dtype=np.float64)


def _edited(
    edits: tuple[FootfallEdit, ...],
    puppet: Puppet,
    steps: Steps,
    level: Floats,
    heading: Floats,
    travel: Floats,
    moved: Floats | None,
) -> tuple[Floats, Floats, Floats | None]:
    level, heading = level.copy(), heading.copy()
    moved = np.zeros_like(level) if moved is None else moved.copy()
    for edit in edits:
        at = steps.before + edit.step - 1
        if not 0 <= at < len(heading):
            raise ModelError("edit.footfall.step", f"a step from {1 - steps.before} on", str(edit.step))
        lands = puppet.leg_names[int(steps.leg[at])]
        if edit.leg not in (None, lands):
            raise ModelError("edit.footfall.leg", f"the leg that step {edit.step} is of, {lands}", repr(edit.leg))
        turn = (edit.turn_deg or 0.0) + (edit.hole_turn_deg or 0.0)
        if turn:
            heading[at] += np.radians(turn)
        if edit.at_mm is not None:
            by = np.array(edit.at_mm) - level[:, at]
        elif edit.move_mm is not None:
            along, left = edit.move_mm
            c, s = np.cos(travel[at]), np.sin(travel[at])
            by = np.array((along * c - left * s, along * s + left * c))
        else:
            continue
        level[:, at] += by
        moved[:, at] += by
    return level, heading, moved if moved.any() else None


def footfall_of_pose(steps: Steps, poses: int) -> Whole:
    """(L, P) the footfall each leg stands on or has last left."""
    pose = np.arange(poses)
    found = np.empty((steps.legs, poses), dtype=np.int64)
    land = steps.land[: steps.stances]
    for leg in range(steps.legs):
        own = np.flatnonzero(steps.leg[: steps.stances] == leg)
        found[leg] = own[np.searchsorted(land[own], pose, side="right") - 1]
    return found


def footing_of(steps: Steps, footfalls: Footfalls, poses: int, legs: tuple[int, ...]) -> Footing:
    """The footfalls that touch at least one pose of the shot, in order of landing. legs: the group's, in the puppet."""
    off, land = steps.off, steps.land[: steps.stances]
    touching = np.flatnonzero((off >= 0) & (land < poses))
    return Footing(
        np.array(legs)[steps.leg[touching]],
        land[touching],
        off[touching],
        footfalls.place_mm.take(touching, axis=1).T,
        np.degrees(footfalls.heading_rad[touching]),
        np.degrees(footfalls.pitch_rad[touching]),
        np.degrees(footfalls.roll_rad[touching]),
        touching - steps.before + 1,
    )
