"""The plan: a solved walk. Frozen arrays, one entry per pose; nothing downstream changes it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ..model.fields import Triple
from ..model.shot import Shot
from .arms import ArmAngles, ArmPlaces, arm_places
from .loose import LoosePlaces, Moving, loose_places
from .rotations import foot_axes, swung, tilted_out
from .upper import Asked, Upper

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
    HOCK_LEAST = 9
    HOCK_MOST = 10


@dataclass(frozen=True)
class Stance:
    """One footfall, which ends `step`: `leg` (index) stands from pose `first` to pose `last` (indices from 0,
    inclusive, may lie outside the shot). place_mm: the point of the floor under the ankle of the flat foot; heading,
    and the floor's pitch and roll under it, in degrees."""

    leg: int
    first: int
    last: int
    place_mm: tuple[float, float, float]
    heading_deg: float
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    step: int = 0


@dataclass(frozen=True, eq=False)
class Footing:
    """The shot's footfalls as arrays (F,), in order of landing: leg, first and last pose (from 0, may lie outside the
    shot), place (F, 3), heading, the sole's pitch and roll on the floor, and the step that ends in it (from 1; 0 and
    less: feet that stand at pose 1). `Plan.stances` is the same as objects."""

    leg: Whole
    first: Whole
    last: Whole
    place_mm: Floats
    heading_deg: Floats
    pitch_deg: Floats
    roll_deg: Floats
    step: Whole


@dataclass(frozen=True, eq=False)
class Band:
    """Working band: hip-line heights in mm in which every joint of every touching leg stays inside its limits.

    lowest, highest: (poses,); lowest > highest where no height fits. *_leg (poses,) leg index and *_stop (poses,)
    Stop say what sets each edge.
    """

    lowest_mm: Floats
    highest_mm: Floats
    lowest_leg: Whole
    highest_leg: Whole
    lowest_stop: Whole
    highest_stop: Whole


@dataclass(frozen=True, eq=False)
class Plan:
    """A solved walk of P poses and L legs (legs in the puppet's order). Stage axes, mm and degrees, signs of
    DEVELOPERS.md.

    Pose index k counts from 0 here; people, files and frames count from 1 (pose k + 1). Axes of parts follow from the
    angles and are worked out when first asked for.
    """

    shot: Shot
    # time
    first_frame: Whole  # (P,) film frames, from 1
    last_frame: Whole  # (P,)
    step: Whole  # (P,) step number from 1; the last contact belongs to the last step
    keys: tuple[str, ...]  # (P,) of timing.KEYS: contact | down | passing | up | toe roll | in-between | ...
    swing_leg: Whole  # (P,) leg that swings in the pose's step
    # trunk
    body_mm: Floats  # (P, 3) the body's centre
    body_deg: Floats  # (P, 3) yaw, pitch, roll
    body_axes: Floats  # (P, 3, 3) columns = body axes on the stage
    heading_deg: Floats  # (P,) of the track under the body, + to the left
    reference_mm: Floats  # (P, 3)
    hip_line_mm: Floats  # (P,) height of the hip line over the floor
    floor_mm: Floats  # (P,) height of the floor that the hip line is measured from
    floor_shift_mm: Floats  # (P, 3) how far the floor has moved since pose 1, under a puppet that walks on the spot
    # upper body
    asked: Asked  # what the walk asks of chest and head
    arm_angles: ArmAngles | None  # of every arm; None for a puppet without arms
    moving: Moving  # what loose parts follow
    # feet
    state: npt.NDArray[np.int8]  # (P, L) FootState
    footing: Footing
    foot_heading_deg: Floats  # (P, L)
    foot_pitch_deg: Floats  # (P, L) + toe higher than heel
    foot_roll_deg: Floats  # (P, L) + left edge higher
    hip_mm: Floats  # (P, L, 3)
    knee_mm: Floats  # (P, L, 3)
    hock_mm: Floats  # (P, L, 3)  the ankle, for a leg of two bones
    ankle_mm: Floats  # (P, L, 3)  where the leg really ends
    heel_mm: Floats  # (P, L, 3)  back edge of the heel, on the centre line
    ball_mm: Floats  # (P, L, 3)  toe joint, on the sole
    toe_mm: Floats  # (P, L, 3)  toe tip
    over_floor_mm: Floats  # (P, L, 3) heights of heel, ball and toe tip over the floor under them
    # joints
    hip_swing_deg: Floats  # (P, L)
    hip_out_deg: Floats
    knee_deg: Floats
    hock_deg: Floats  # 0 for a leg of two bones
    ankle_deg: Floats
    toe_deg: Floats
    gap_mm: Floats  # (P, L) how far the foot is out of the leg's reach; 0 = reached
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

    @cached_property
    def stances(self) -> tuple[Stance, ...]:
        """Every footfall that touches at least one pose, in order of landing."""
        f = self.footing
        rows = zip(
            f.leg.tolist(), f.first.tolist(), f.last.tolist(), f.place_mm.tolist(), f.heading_deg.tolist(),
            f.pitch_deg.tolist(), f.roll_deg.tolist(), f.step.tolist(), strict=True,
        )  # fmt: skip
        return tuple(Stance(leg, first, last, (x, y, z), *rest) for leg, first, last, (x, y, z), *rest in rows)

    @cached_property
    def upper(self) -> Upper:
        """Chest and head, with the angles that waist and neck take."""
        body = self.shot.puppet.body
        return Upper(body, self.body_mm, self.body_deg, self.body_axes, self.heading_deg, self.asked)

    @property
    def chest_deg(self) -> Floats:
        """(P, 3) the chest's own yaw, pitch, roll on the stage."""
        return self.upper.chest_deg

    @property
    def head_deg(self) -> Floats:
        """(P, 3) the head's own yaw, pitch, roll on the stage."""
        return self.upper.head_deg

    @property
    def chest_axes(self) -> Floats:
        """(P, 3, 3) columns = chest axes on the stage."""
        return self.upper.chest_axes

    @property
    def head_axes(self) -> Floats:
        """(P, 3, 3) columns = head axes on the stage."""
        return self.upper.head_axes

    @property
    def waist_mm(self) -> Floats:
        """(P, 3) where the chest turns on the body."""
        return self.upper.waist_mm

    @property
    def neck_mm(self) -> Floats:
        """(P, 3) where the head turns on the chest."""
        return self.upper.neck_mm

    @cached_property
    def arms(self) -> tuple[ArmPlaces, ...]:
        """Every arm of the puppet in all poses."""
        if self.arm_angles is None:
            return ()
        return tuple(
            arm_places(arm, self.arm_angles.deg[:, i], self.on_part(arm.part, np.array(arm.shoulder_mm)),
                       self.part_frame(arm.part)[1])
            for i, arm in enumerate(self.shot.puppet.arms)
        )  # fmt: skip

    @cached_property
    def loose(self) -> tuple[LoosePlaces, ...]:
        """Every loose part of the puppet in all poses."""
        return tuple(
            loose_places(one, self.on_part(one.part, np.array(one.joint_mm)), self.part_frame(one.part)[1], self.moving)
            for one in self.shot.puppet.loose
        )

    def part_frame(self, part: str) -> tuple[Floats, Floats, Triple]:
        """What hangs on a part turns about: its place (P, 3), its axes (P, 3, 3), and the place from the body's centre
        in the zero pose. part: body | chest | head | arm.NAME.upper | arm.NAME.fore | loose.NAME."""
        puppet = self.shot.puppet
        match part.split("."):
            case ["arm", name, bone]:
                i = [arm.name for arm in puppet.arms].index(name)
                arm, had = puppet.arms[i], self.arms[i]
                if bone == "upper":
                    return had.shoulder_mm, had.upper_axes, arm.shoulder_mm
                return had.elbow_mm, had.fore_axes, arm.elbow_mm
            case ["loose", name]:
                i = [one.name for one in puppet.loose].index(name)
                return self.loose[i].joint_mm, self.loose[i].axes, puppet.loose[i].joint_mm
            case ["chest"]:
                return self.waist_mm, self.chest_axes, puppet.body.waist_mm
            case ["head"]:
                return self.neck_mm, self.head_axes, puppet.body.neck_mm
            case _:
                return self.body_mm, self.body_axes, (0.0, 0.0, 0.0)

    def on_part(self, part: str, point_mm: Floats) -> Floats:
        """Stage places (P, ..., 3) of points (..., 3) that are given from the body's centre in the zero pose and hang
        on a part, named as in `part_frame`."""
        origin, axes, at = self.part_frame(part)
        local = np.asarray(point_mm, dtype=float) - np.array(at)
        turned = np.einsum("pij,...j->p...i", axes, local)
        return origin.reshape(self.poses, *([1] * (local.ndim - 1)), 3) + turned

    @cached_property
    def foot_axes(self) -> Floats:
        """(P, L, 3, 3) columns = foot axes: along the sole, to its left, up from it."""
        return foot_axes(*np.radians((self.foot_heading_deg, self.foot_pitch_deg, self.foot_roll_deg)))

    @cached_property
    def toe_axes(self) -> Floats:
        """(P, L, 3, 3) columns = toe axes: the foot's, bent up at the ball."""
        pitch = self.foot_pitch_deg + self.toe_deg
        return foot_axes(*np.radians((self.foot_heading_deg, pitch, self.foot_roll_deg)))

    @property
    def _carrier_axes(self) -> Floats:
        """(P, 1, 3, 3) body axes, or (P, L, 3, 3) of the part that each leg hangs on."""
        if not self.shot.puppet.bends:
            return self.body_axes[:, None]
        return np.stack([self.carrier_of(leg)[1] for leg in range(len(self.legs))], axis=1)

    def carrier_of(self, leg: int) -> tuple[Floats, Floats]:
        """Place (P, 3) and axes (P, 3, 3) of the body's centre that a leg's hip is measured from: the body's, or of
        that centre carried along by the chest."""
        if self.shot.puppet.legs[leg].part == "chest":
            return self.upper.chest_frame
        return self.body_mm, self.body_axes

    @cached_property
    def thigh_axes(self) -> Floats:
        """(P, L, 3, 3) columns = thigh axes; the thigh hangs along -z from the hip."""
        out = np.radians(self.hip_out_deg) * np.array([leg.outward_side for leg in self.shot.puppet.legs])
        return swung(tilted_out(self._carrier_axes, out), np.radians(self.hip_swing_deg))

    @cached_property
    def shank_axes(self) -> Floats:
        """(P, L, 3, 3) columns = shank axes; the shank hangs along -z from the knee."""
        side = np.array([leg.knee_side for leg in self.shot.puppet.legs])
        return swung(self.thigh_axes, -side * np.radians(self.knee_deg))

    @cached_property
    def cannon_axes(self) -> Floats:
        """(P, L, 3, 3) columns = cannon axes; the cannon hangs along -z from the hock. The shank's for a leg of two
        bones."""
        side = np.array([leg.knee_side for leg in self.shot.puppet.legs])
        return swung(self.shank_axes, side * np.radians(self.hock_deg))

    @cached_property
    def tie_mm(self) -> Floats:
        """(P, L, 3) tie-down point of the sole; one that lies ahead of the ball sits on the toe and bends with it."""
        ties = np.empty_like(self.ankle_mm)
        for i, leg in enumerate(self.shot.puppet.legs):
            ahead, across = leg.tie_mm
            on_toe = ahead > leg.ball_ahead_mm and leg.toe_mm > 0
            axes = self.toe_axes[:, i] if on_toe else self.foot_axes[:, i]
            local = np.array([ahead - leg.ball_ahead_mm, across, 0.0])
            ties[:, i] = self.ball_mm[:, i] + axes @ local
        return ties
