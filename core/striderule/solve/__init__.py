"""Shot -> Plan. `solve(shot)` is the one entry point; it neither fits nor snaps, and is a pure function of the shot."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.shot import Shot
from .band import band_of
from .body import trunk_of
from .feet import FootTurn, foot_measures, soles, standing
from .footfalls import footfall_of_pose, footfalls_of, footing_of
from .legs import leg_measures, reach
from .plan import STATE_NAMES, Band, FootState, Plan, Stance, Stop
from .swing import swinging
from .timing import frames, key_names, step_of_pose, steps_of

__all__ = ["STATE_NAMES", "Band", "FootState", "Plan", "Stance", "Stop", "solve"]


def solve(shot: Shot) -> Plan:
    """Solve a walk: every pose's trunk, feet and joints, and its working band.

    Vectorised over poses. An unreachable foot gives a straight leg toward it and a gap; nothing is ever NaN.
    Raises ModelError where typed values contradict each other.
    """
    puppet, poses, shown = shot.puppet, shot.poses, shot.walk.steps
    steps = steps_of(shot)
    footfalls = footfalls_of(steps, puppet, shot.stage)
    feet, legs = foot_measures(puppet), leg_measures(puppet)
    trunk = trunk_of(steps, footfalls, puppet, shot.stage, poses)

    footfall = footfall_of_pose(steps, poses)
    pose = np.arange(poses, dtype=float)
    each = feet.column()
    stand = standing(steps, footfalls, each, footfall, pose)
    ankle, pitch, state = stand.ankle_mm, stand.pitch_rad, stand.state
    heading = footfalls.heading_rad[footfall]
    toe = np.where(state == int(FootState.TOE), -pitch, 0.0)  # numpy compares with a plain int much faster
    free = pose > steps.off[footfall]
    if free.any():
        at = free.nonzero()[1]
        flight = swinging(steps, footfalls, feet, footfall[free] + steps.legs, pose[at])
        ankle[:, free] = flight.ankle_mm
        pitch[free], heading[free], toe[free] = flight.pitch_rad, flight.heading_rad, flight.toe_rad
        state[free] = FootState.AIR
    toe = np.where(each.toe > 0, toe, 0.0)
    turn = FootTurn.of(heading, pitch)
    sole = soles(each, ankle, turn, pitch + toe)
    reached = reach(legs, trunk.body_mm, trunk.body_axes, ankle, turn)
    band = band_of(puppet, legs, reached, trunk.body_axes, state, trunk.hip_line_mm)

    step = step_of_pose(steps, poses, shown)
    first, last = frames(poses, shot.frames_per_pose)
    return Plan(
        shot=shot,
        first_frame=first,
        last_frame=last,
        step=step - steps.before + 1,
        keys=key_names(steps, poses, shown),
        swing_leg=steps.leg[step],
        body_mm=trunk.body_mm,
        body_deg=np.degrees(trunk.body_rad),
        body_axes=trunk.body_axes,
        reference_mm=trunk.reference_mm,
        hip_line_mm=trunk.hip_line_mm,
        chest_counter_turn=steps.chest_counter_turn[step],
        state=state.T,
        footing=footing_of(steps, footfalls, poses),
        foot_heading_deg=np.degrees(heading).T,
        foot_pitch_deg=np.degrees(pitch).T,
        hip_mm=_by_pose(reached.hip_mm),
        knee_mm=_by_pose(reached.knee_mm),
        ankle_mm=_by_pose(reached.ankle_mm),
        heel_mm=_by_pose(sole.heel_mm),
        ball_mm=_by_pose(sole.ball_mm),
        toe_mm=_by_pose(sole.toe_mm),
        hip_swing_deg=np.degrees(reached.swing_rad).T,
        hip_out_deg=np.degrees(reached.out_rad).T,
        knee_deg=np.degrees(reached.knee_rad).T,
        ankle_deg=np.degrees(reached.ankle_rad).T,
        toe_deg=np.degrees(toe).T,
        gap_mm=reached.gap_mm.T,
        band=band,
    )


def _by_pose(places: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """(3, L, P) -> (P, L, 3), as a view."""
    return places.transpose(2, 1, 0)
