"""Shot -> Plan. `solve(shot)` is the one entry point; it neither fits nor snaps, and is a pure function of the shot."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from ..model.groups import Group, edits_of, groups_of
from ..model.puppet import Puppet
from ..model.shot import Shot
from ..model.track import track_of
from .arms import ArmAngles, arm_angles
from .band import band_of
from .body import Carried, Trunk, carried_by, trunk_of
from .ceiling import open_hips, under_ceiling
from .feet import FootTurn, foot_measures, soles, standing
from .footfalls import footfall_of_pose, footfalls_of, footing_of, sides
from .ground import ground_of, over_ground
from .legs import leg_measures, on_parts, reach
from .loose import Moving
from .moving_floor import floor_shift, on_still_floor
from .plan import STATE_NAMES, Band, Footing, FootState, Plan, Stance, Stop
from .spine import bent
from .swing import swinging
from .timing import Steps, frames, key_names, step_of_pose, steps_of
from .upper import Asked, Upper, asked_of

Floats = npt.NDArray[np.float64]

__all__ = ["STATE_NAMES", "Band", "FootState", "Plan", "Stance", "Stop", "solve"]


def solve(shot: Shot) -> Plan:
    """Solve a walk: every pose's trunk, feet and joints, and its working band.

    Vectorised over poses. An unreachable foot gives a straight leg toward it and a gap; nothing is ever NaN.
    Raises ModelError where typed values contradict each other.
    """
    puppet, poses, walk = shot.puppet, shot.poses, shot.settled_walk
    spot = (walk.step_mm or 0.0) / (walk.turn_per_step_deg or 1.0)
    track, ground = track_of(shot.path, shot.stage.start_mm, spot), ground_of(shot.floor)
    feet, legs = foot_measures(puppet), leg_measures(puppet)
    groups = groups_of(puppet, walk)
    shape = (len(puppet.legs), poses)
    ankle = np.empty((3, *shape))
    state = np.empty(shape, dtype=np.int8)
    heading, pitch, roll, toe = np.empty(shape), np.empty(shape), np.empty(shape), np.empty(shape)
    no_roll = np.zeros((1, poses))
    pose = np.arange(poses, dtype=float)
    every: list[Steps] = []
    carried: list[Carried] = []
    footings: list[Footing] = []
    mean_delay = sum(group.delay for group in groups) / len(groups)
    for group in groups:
        steps = steps_of(shot, group)
        delays, edits = (group.delay, mean_delay), edits_of(shot.edits.footfalls, group, groups)
        footfalls = footfalls_of(steps, group.puppet, shot, track, ground, puppet, delays, edits)
        every.append(steps)
        carried.append(carried_by(steps, footfalls, group.puppet, shot.edits, poses))
        footings.append(footing_of(steps, footfalls, poses, group.legs))
        footfall = footfall_of_pose(steps, poses)
        own = feet if len(groups) == 1 else feet.of(np.array(group.legs))
        stand = standing(steps, footfalls, own.column(), footfall, pose)
        of_ankle, of_pitch, of_state = stand.ankle_mm, stand.pitch_rad, stand.state
        of_heading = footfalls.heading_rad[footfall]
        rolled, of_roll = of_pitch, no_roll
        if stand.roll_rad is not None:
            of_roll = stand.roll_rad
            rolled = rolled - footfalls.pitch_rad[footfall]
        of_toe = np.where(of_state == int(FootState.TOE), -rolled, 0.0)  # numpy compares with a plain int much faster
        free = pose > steps.off[footfall]
        if free.any():
            at = free.nonzero()[1]
            flight = swinging(steps, footfalls, own, ground, footfall[free] + steps.legs, pose[at])
            of_ankle[:, free] = flight.ankle_mm
            of_pitch[free], of_heading[free], of_toe[free] = flight.pitch_rad, flight.heading_rad, flight.toe_rad
            if flight.roll_rad is not None:
                of_roll[free] = flight.roll_rad
            of_state[free] = FootState.AIR
        rows = list(group.legs)
        ankle[:, rows], state[rows], heading[rows] = of_ankle, of_state, of_heading
        pitch[rows], roll[rows], toe[rows] = of_pitch, of_roll, of_toe
    steps = every[0]
    step = step_of_pose(steps, poses)
    trunk, asked = trunk_of(carried, steps, puppet, track, poses), asked_of(steps, step)
    if puppet.bends:
        trunk, chest = bent(carried, groups, steps, puppet, track, trunk)
        asked = replace(asked, chest_deg=np.degrees(chest))
    shift = floor_shift(shot, steps, trunk.body_mm) if walk.on_the_spot else None
    if shift is not None:
        ankle += shift.T[:, None]
        trunk = replace(trunk, body_mm=trunk.body_mm + shift, reference_mm=trunk.reference_mm + shift)
    if not (steps.even and track.straight and ground.flat and len(groups) == 1) and open_hips(shot):
        trunk = under_ceiling(shot, trunk, legs, ankle, *_carriers(puppet, trunk, asked))
    each = feet.column()
    toe = np.where(each.toe > 0, toe, 0.0)
    turn = FootTurn.of(heading, pitch, None if ground.flat else roll)
    sole = soles(each, ankle, turn, pitch + toe)
    body_mm, body_axes = _carriers(puppet, trunk, asked)
    reached = reach(legs, body_mm, body_axes, ankle, turn)
    band = band_of(puppet, legs, reached, body_axes, state, trunk.hip_line_mm)

    first, last = frames(shot, steps, step)
    return Plan(
        shot=shot,
        first_frame=first,
        last_frame=last,
        step=step - steps.before + 1,
        keys=key_names(steps, (state == int(FootState.TOE)).any(axis=0)),
        swing_leg=np.array(groups[0].legs)[steps.leg[step]],
        body_mm=trunk.body_mm,
        body_deg=np.degrees(trunk.body_rad),
        body_axes=trunk.body_axes,
        heading_deg=np.degrees(trunk.heading_rad),
        reference_mm=trunk.reference_mm,
        hip_line_mm=trunk.hip_line_mm,
        floor_mm=trunk.floor_mm if shift is None else trunk.floor_mm + shift[:, 2],
        floor_shift_mm=np.zeros((poses, 3)) if shift is None else shift,
        asked=asked,
        arm_angles=_arms(puppet, every[-1], groups[-1], poses),
        moving=_moving(shot, trunk, len(groups[0].legs), groups[-1].delay, shift),
        state=state.T,
        footing=_in_order(footings),
        foot_heading_deg=np.degrees(heading).T,
        foot_pitch_deg=np.degrees(pitch).T,
        foot_roll_deg=np.degrees(roll).T,
        hip_mm=_by_pose(reached.hip_mm),
        knee_mm=_by_pose(reached.knee_mm),
        hock_mm=_by_pose(reached.ankle_mm if reached.hock_mm is None else reached.hock_mm),
        ankle_mm=_by_pose(reached.ankle_mm),
        heel_mm=_by_pose(sole.heel_mm),
        ball_mm=_by_pose(sole.ball_mm),
        toe_mm=_by_pose(sole.toe_mm),
        over_floor_mm=_by_pose(over_ground(ground, on_still_floor(sole, shift), *trunk.track)),
        hip_swing_deg=np.degrees(reached.swing_rad).T,
        hip_out_deg=np.degrees(reached.out_rad).T,
        knee_deg=np.degrees(reached.knee_rad).T,
        hock_deg=np.zeros((poses, shape[0])) if reached.hock_rad is None else np.degrees(reached.hock_rad).T,
        ankle_deg=np.degrees(reached.ankle_rad).T,
        toe_deg=np.degrees(toe).T,
        gap_mm=reached.gap_mm.T,
        band=band,
    )


def _carriers(puppet: Puppet, trunk: Trunk, asked: Asked) -> tuple[Floats, Floats]:
    """Places and axes of what carries the legs, as `legs.reach` takes them: the body, or each leg's own part."""
    if asked.chest_deg is None:
        return trunk.body_mm, trunk.body_axes
    heading = np.degrees(trunk.heading_rad)
    upper = Upper(puppet.body, trunk.body_mm, np.degrees(trunk.body_rad), trunk.body_axes, heading, asked)
    return on_parts(puppet, (trunk.body_mm, trunk.body_axes), upper.chest_frame)


def _arms(puppet: Puppet, steps: Steps, group: Group, poses: int) -> ArmAngles | None:
    """The arms go with the foremost legs, which are nearest to them."""
    return arm_angles(steps, sides(group.puppet), puppet.arms, poses) if puppet.arms else None


def _moving(shot: Shot, trunk: Trunk, legs: int, delay: int, shift: npt.NDArray[np.float64] | None) -> Moving:
    """shift: of a floor that moves back, with all that stands on it."""
    laid = shot.laid_out
    progress, (x, y), _ = trunk.track
    stride = legs * laid.walk.poses_per_step
    next_one = int(laid.start[legs]) if len(laid.start) > legs else int(laid.land[-1])
    track = np.stack((x, y, trunk.floor_mm), axis=1)
    return Moving(
        progress_mm=progress if shift is None else progress + shift[:, 0],
        track_mm=track if shift is None else track + shift,
        heading_rad=trunk.heading_rad,
        stride=stride,
        repeats=laid.walk.start == "walking" and next_one == stride,
        stood=laid.walk.start == "standing",
        stopped=int(laid.land[-1]) + delay if laid.walk.stop != "walking" else None,
    )


def _in_order(footings: list[Footing]) -> Footing:
    """The footfalls of all groups in order of landing."""
    if len(footings) == 1:
        return footings[0]
    names = [part.name for part in fields(Footing)]
    rows: dict[str, npt.NDArray[Any]] = {
        name: np.concatenate([getattr(one, name) for one in footings]) for name in names
    }
    order = np.argsort(rows["first"], kind="stable")
    return Footing(**{name: values[order] for name, values in rows.items()})


def _by_pose(places: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """(3, L, P) -> (P, L, 3), as a view."""
    return places.transpose(2, 1, 0)
