"""Our leg and our walk against measured walking: an adult on a treadmill, two strides at 100 Hz.

Source: GaitAnalysisToolKit 0.2.0 (Apache-2.0), test data of its two-dimensional inverse dynamics; the extract in
data/treadmill_two_strides.csv names archive, checksum and what was changed. Windows for walks are common practice
where no other source is named.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import solve
from striderule.solve.feet import FootTurn
from striderule.solve.legs import LegMeasures, Reach, reach
from striderule.solve.plan import Plan
from striderule.solve.rotations import swung, tilted_out, trunk_axes

DATA = Path(__file__).with_name("data") / "treadmill_two_strides.csv"
BELT_MM_S = 990.0
TOUCHING_N = 30.0
THIGH_MM, SHANK_MM = 404.8, 441.7
"""Mean distances between the markers over the whole recording of 301 frames."""


@dataclass(frozen=True)
class Walker:
    """Measured frames (F,): places (F, 2) in mm on the belt, forward and up; angles in radians, signs of the house."""

    touches: np.ndarray
    hip: np.ndarray
    knee: np.ndarray
    ankle: np.ndarray
    heel: np.ndarray
    toe: np.ndarray
    lean: np.ndarray
    hip_swing: np.ndarray
    knee_bend: np.ndarray
    ankle_bend: np.ndarray

    @property
    def landings(self) -> np.ndarray:
        """Frames at which the foot lands: the first, and every one that follows a frame without load."""
        return np.concatenate(([0], 1 + np.flatnonzero(~self.touches[:-1] & self.touches[1:])))

    @property
    def stances(self) -> list[float]:
        """Share of each stride for which the foot carries load."""
        leaves = 1 + np.flatnonzero(self.touches[:-1] & ~self.touches[1:])
        return ((leaves - self.landings[:-1]) / np.diff(self.landings)).tolist()

    @property
    def foot_pitch(self) -> np.ndarray:
        """Of the line from heel to toe, radians."""
        sole = self.toe - self.heel
        return np.arctan2(sole[:, 1], sole[:, 0])

    @property
    def step_mm(self) -> float:
        """Mean step: half a stride of the hip over the belt."""
        return float(np.diff(self.hip[self.landings, 0]).mean() / 2)

    def at(self, values: np.ndarray, shares: np.ndarray) -> np.ndarray:
        """Values (F,) at shares of a stride from landing, the mean of both strides."""
        spans = zip(self.landings[:-1], self.landings[1:], strict=True)
        frames = np.arange(len(values))
        return np.mean([np.interp(first + shares * (last - first), frames, values) for first, last in spans], axis=0)


@pytest.fixture(scope="module")
def walker() -> Walker:
    rows = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    table = list(csv.DictReader(rows))
    time = np.array([float(row["time"]) for row in table])

    def column(name: str) -> np.ndarray:
        seen = np.array([row[name] != "" for row in table])
        return np.interp(time, time[seen], [float(row[name]) for row in table if row[name]])

    def place(name: str) -> np.ndarray:
        return np.stack((1e3 * column(f"{name}_x") + BELT_MM_S * (time - time[0]), 1e3 * column(f"{name}_y")), axis=1)

    trunk = place("shoulder") - place("hip")
    return Walker(
        column("force_up") > TOUCHING_N,
        *(place(name) for name in ("hip", "knee", "ankle", "heel", "toe")),
        np.arctan2(trunk[:, 0], trunk[:, 1]),
        column("ref_hip"),
        column("ref_knee"),
        -column("ref_ankle") - np.pi / 2,  # theirs: toe down positive, -pi/2 = square
    )


@pytest.fixture(scope="module")
def reached(walker: Walker) -> Reach:
    """Our inverse kinematics from the measured hip, trunk lean, ankle and foot pitch."""
    leg = LegMeasures(
        np.zeros((3, 1, 1)),
        np.array([[THIGH_MM]]),
        np.array([[SHANK_MM]]),
        np.array([[1.0]]),
        np.array([[-1.0]]),
        None,
    )
    pitch = walker.foot_pitch
    zero = np.zeros_like(pitch)
    return reach(
        leg,
        np.stack((walker.hip[:, 0], zero, walker.hip[:, 1]), axis=1),
        trunk_axes(zero, walker.lean, zero),
        np.stack((walker.ankle[:, 0], zero, walker.ankle[:, 1]))[:, None],
        FootTurn.of(zero[None], pitch[None]),
    )


@pytest.fixture(scope="module")
def lamplighter() -> Plan:
    return solve(load_shot(starter_paths()["lamplighter"]))


def test_measured_hip_and_joint_angles_lead_to_the_measured_ankle_within_15_mm(walker):
    zero = np.zeros_like(walker.lean)
    thigh = swung(tilted_out(trunk_axes(zero, walker.lean, zero), zero), walker.hip_swing)
    shank = swung(thigh, -walker.knee_bend)
    ankle = walker.hip - THIGH_MM * thigh[:, [0, 2], 2] - SHANK_MM * shank[:, [0, 2], 2]
    away = np.linalg.norm(ankle - walker.ankle, axis=1)
    assert away.max() < 15
    assert away.mean() < 6


def test_no_measured_frame_is_out_of_reach(reached, walker):
    assert len(walker.touches) == 240
    np.testing.assert_array_equal(reached.gap_mm, 0)


def test_measured_hip_and_ankle_lead_to_the_reference_knee_within_6_degrees(reached, walker):
    off = np.degrees(reached.knee_rad[0] - walker.knee_bend)
    assert np.abs(off).max() < 6
    assert np.sqrt(np.mean(off**2)) < 3


def test_measured_hip_and_ankle_lead_to_the_reference_hip_and_ankle_angles_within_6_degrees(reached, walker):
    """With them the signs of lean, hip swing and ankle are those of the literature: flexion forward, toe up."""
    assert np.degrees(np.abs(reached.swing_rad[0] - walker.hip_swing)).max() < 6
    assert np.degrees(np.abs(reached.ankle_rad[0] - walker.ankle_bend)).max() < 6


def test_the_extract_still_says_what_was_measured(walker):
    """Stance 64 % of the stride, hip .897 to .931 m in stance, knee 3.6 to 65.2 degrees."""
    np.testing.assert_allclose(walker.stances, (0.642, 0.639), atol=0.001)
    hip_up = walker.hip[walker.touches, 1]
    np.testing.assert_allclose((hip_up.min(), hip_up.max()), (897, 931), atol=0.5)
    thigh, shank = walker.knee - walker.hip, walker.ankle - walker.knee
    knee = np.degrees(np.arctan2(thigh[:, 0], -thigh[:, 1]) - np.arctan2(shank[:, 0], -shank[:, 1]))
    np.testing.assert_allclose((knee.min(), knee.max()), (3.6, 65.2), atol=0.1)


def test_the_lamplighters_feet_stand_for_as_much_of_a_stride_as_measured_within_6_percent(lamplighter, walker):
    stride = 2 * lamplighter.shot.walk.poses_per_step
    shares = (lamplighter.footing.last - lamplighter.footing.first) / stride
    np.testing.assert_allclose(shares, np.mean(walker.stances), atol=0.06)


def one_stride(plan: Plan) -> slice:
    """The poses of the stride that begins with the first landing of leg 0 inside the shot."""
    stride = 2 * plan.shot.walk.poses_per_step
    first = int(plan.footing.first[(plan.footing.leg == 0) & (plan.footing.first > 0)][0])
    return slice(first, first + stride)


def shares_of(plan: Plan) -> np.ndarray:
    stride = 2 * plan.shot.walk.poses_per_step
    return np.arange(stride) / stride


def test_the_lamplighters_knee_bends_as_a_persons_within_10_degrees(lamplighter, walker):
    ours = lamplighter.knee_deg[one_stride(lamplighter), 0]
    theirs = np.degrees(walker.at(walker.knee_bend, shares_of(lamplighter)))
    assert np.abs(ours - theirs).max() < 10
    assert np.corrcoef(ours, theirs)[0, 1] > 0.95


def test_the_lamplighters_foot_pitches_in_the_order_of_a_persons(lamplighter, walker):
    """The toe is up at landing, flat in mid-stance, the heel up before half the stride and steepest early in the swing;
    a puppet's foot is turned less than a person's."""
    shares = shares_of(lamplighter)
    theirs = np.degrees(walker.at(walker.foot_pitch, shares))
    theirs -= theirs[2:5].mean()  # the heel's marker sits higher than the toe's
    ours = lamplighter.foot_pitch_deg[one_stride(lamplighter), 0]
    assert np.corrcoef(ours, theirs)[0, 1] > 0.85
    for pitch in (ours, theirs):
        assert pitch[0] > 9
        assert np.abs(pitch[2:5]).max() < 3
        assert pitch[6] < -5
        assert 0.55 < shares[pitch.argmin()] < 0.75
    assert theirs.min() < ours.min() < -25


def test_the_lamplighters_ankle_rises_early_in_the_swing_as_a_persons(lamplighter, walker):
    shares = shares_of(lamplighter)
    theirs = walker.at(walker.ankle[:, 1], shares)
    ours = lamplighter.ankle_mm[one_stride(lamplighter), 0, 2]
    assert np.corrcoef(ours, theirs)[0, 1] > 0.9
    assert abs(shares[ours.argmax()] - shares[theirs.argmax()]) <= shares[1] + 1e-9


def test_the_lamplighters_ankle_is_spaced_as_a_persons_against_the_body(lamplighter, walker):
    """One peak of 2.6 to 3.4 times the body's move, late in the swing; hardly a move in stance."""
    stride = one_stride(lamplighter)
    shares = np.append(shares_of(lamplighter), 1.0)
    places = walker.at(walker.ankle[:, 0], shares)
    theirs = np.diff(places) * len(shares[1:]) / (places[-1] - places[0])
    moved = np.diff(lamplighter.ankle_mm[stride.start : stride.stop + 1, 0, 0])
    ours = moved / lamplighter.shot.walk.step_mm * lamplighter.shot.walk.poses_per_step
    assert np.corrcoef(ours, theirs)[0, 1] > 0.9
    for spacing in (ours, theirs):
        assert 2.6 < spacing.max() < 3.4
        assert 0.7 < shares[spacing.argmax()] + shares[1] / 2 < 0.92
        assert np.abs(spacing[1:5]).max() < 0.25


def test_hips_rise_by_the_same_share_of_the_inverted_pendulum_as_a_persons(lamplighter, walker):
    """.5 to .75 of step^2 / (8 leg), the rise of a straight leg over a step, which no leg that yields reaches."""
    leg = lamplighter.shot.puppet.legs[0]
    ours = np.ptp(lamplighter.hip_line_mm) / (lamplighter.shot.walk.step_mm**2 / (8 * (leg.thigh_mm + leg.shank_mm)))
    hip_up = walker.hip[walker.touches, 1]
    theirs = np.ptp(hip_up) / (walker.step_mm**2 / (8 * (THIGH_MM + SHANK_MM)))
    assert 0.5 < ours < 0.75
    assert 0.5 < theirs < 0.75
