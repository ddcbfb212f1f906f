"""The plan: a solved walk. Frozen arrays, one entry per pose; nothing downstream changes it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from ..model.shot import Shot

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]


class FootState(IntEnum):
    """How a foot meets the floor."""

    PLANTED = 0
    HEEL = 1
    TOE = 2
    AIR = 3


STATE_NAMES = tuple(state.name.lower() for state in FootState)


class Stop(IntEnum):
    """What ends a working band: a joint at one end of its range, the length of the straight leg, or the floor."""

    NONE = 0
    KNEE_LEAST = 1
    KNEE_MOST = 2
    HIP_BACK = 3
    HIP_FORWARD = 4
    HIP_IN = 5
    HIP_OUT = 6
    ANKLE_DOWN = 7
    ANKLE_UP = 8


@dataclass(frozen=True)
class Stance:
    """One footfall: `leg` (index) stands from pose `first` to pose `last` (indices from 0, inclusive, may lie outside the
    shot). place_mm: the point of the floor under the ankle of the flat foot; heading, slope pitch and roll in degrees."""

    leg: int
    first: int
    last: int
    place_mm: tuple[float, float, float]
    heading_deg: float
    pitch_deg: float = 0.0
    roll_deg: float = 0.0


@dataclass(frozen=True, eq=False)
class Band:
    """Working band: hip-line heights in mm in which every joint of every touching leg stays inside its limits.

    lowest, highest: (poses,); lowest > highest where no height fits. *_leg (poses,) leg index and *_stop (poses,) Stop
    say what sets each edge.
    """

    lowest_mm: Floats
    highest_mm: Floats
    lowest_leg: Whole
    highest_leg: Whole
    lowest_stop: Whole
    highest_stop: Whole


@dataclass(frozen=True, eq=False)
class Plan:
    """A solved walk of P poses and L legs (legs in the puppet's order). Stage axes, mm and degrees, signs of DEVELOPERS.md.

    Pose index k counts from 0 here; people, files and frames count from 1 (pose k + 1).
    """

    shot: Shot
    # time
    first_frame: Whole          # (P,) film frames, from 1
    last_frame: Whole           # (P,)
    step: Whole                 # (P,) step number from 1; the last contact belongs to the last step
    keys: tuple[str, ...]       # (P,) contact | down | passing | up | in-between
    swing_leg: Whole            # (P,) leg that swings in the pose's step
    # trunk
    body_mm: Floats             # (P, 3) the body's centre
    body_deg: Floats            # (P, 3) yaw, pitch, roll
    chest_deg: Floats           # (P, 3) the chest's own yaw, pitch, roll on the stage
    head_deg: Floats            # (P, 3)
    body_axes: Floats           # (P, 3, 3) columns = body axes on the stage
    chest_axes: Floats          # (P, 3, 3)
    head_axes: Floats           # (P, 3, 3)
    waist_mm: Floats            # (P, 3) where the chest turns
    neck_mm: Floats             # (P, 3) where the head turns
    reference_mm: Floats        # (P, 3)
    hip_line_mm: Floats         # (P,) height of the hip line over the floor
    # feet
    state: npt.NDArray[np.int8]  # (P, L) FootState
    stances: tuple[Stance, ...]
    foot_heading_deg: Floats    # (P, L)
    foot_pitch_deg: Floats      # (P, L) + toe higher than heel
    hip_mm: Floats              # (P, L, 3)
    knee_mm: Floats             # (P, L, 3)
    ankle_mm: Floats            # (P, L, 3)  where the leg really ends
    heel_mm: Floats             # (P, L, 3)  back edge of the heel, on the centre line
    ball_mm: Floats             # (P, L, 3)  toe joint, on the sole
    toe_mm: Floats              # (P, L, 3)  toe tip
    tie_mm: Floats              # (P, L, 3)  tie-down point of the sole
    foot_axes: Floats           # (P, L, 3, 3) columns = foot axes on the stage
    toe_axes: Floats            # (P, L, 3, 3) columns = toe axes (the foot's, bent at the ball)
    thigh_axes: Floats          # (P, L, 3, 3) columns; the thigh hangs along -z
    shank_axes: Floats          # (P, L, 3, 3)
    # joints
    hip_swing_deg: Floats       # (P, L)
    hip_out_deg: Floats
    knee_deg: Floats
    ankle_deg: Floats
    toe_deg: Floats
    gap_mm: Floats              # (P, L) how far the foot is out of the leg's reach; 0 = reached
    band: Band

    @property
    def poses(self) -> int:
        return len(self.first_frame)

    @property
    def legs(self) -> tuple[str, ...]:
        return self.shot.puppet.leg_names

    @property
    def frames(self) -> int:
        """Film frames of the whole shot."""
        return int(self.last_frame[-1])
