"""How long a walk takes to solve, beside a general library's inverse kinematics of one leg, in one run on one
machine.

Run by name: `python tests/benchmarks/bench_solve.py` prints a table; `pytest tests/benchmarks/bench_solve.py` asserts
the goals. Each time is the best of several runs, once by the wall clock and once in processor time; goals are held to
processor time, which other work on the machine disturbs less.

The peer is Pinocchio (`pin`): damped least squares in a Python loop, full steps, ankle place only, without limits,
band or feet. It takes any chain of joints, which is what its time buys.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pinocchio
import pytest

from striderule.adjust.fit import fit
from striderule.check import findings_of
from striderule.model.edits import BodyEdit, Edits, FootfallEdit
from striderule.model.floor import Floor
from striderule.model.path import PathPiece
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.step_change import StepChange
from striderule.model.walk import Walk
from striderule.solve import solve

MOST_US_A_POSE = 3.0
LEAST_RATIO = 10.0
MOST_MS_FOR_96_POSES = 2.0
UNEVEN_MOST_MS = {"solve": 5.0, "check": 5.0, "check and cures": 300.0, "fit, hopeless": 200.0}
"""A walk of 240 poses with a path, a slope, standing at both ends, steps of their own and edits."""
MOST_IMPORT_S = 0.1
PEER_WITHIN_M = 1e-6


@dataclass(frozen=True)
class Cost:
    """Seconds of one run: the least of several, by the wall and of the processor."""

    wall: float
    cpu: float


def best(work: Callable[..., object], given: Iterable[object]) -> Cost:
    """The quickest of running `work` on each of `given`."""
    wall, cpu = [], []
    for one in given:
        begin, begin_cpu = time.perf_counter(), time.process_time()
        work(one)
        cpu.append(time.process_time() - begin_cpu)
        wall.append(time.perf_counter() - begin)
    return Cost(min(wall), min(cpu))


def shots(name: str, steps: int, poses_per_step: int, count: int) -> list[Shot]:
    """Shots that differ a little in their step. At most 100: a shot fills in its walk's defaults when it is made, and a
    few hundred later ones would push them out again."""
    base = load_shot(starter_paths()[name])
    walk = replace(base.walk, steps=steps, poses_per_step=poses_per_step, passing_pose=None, lift_off_poses=None)
    lengths = base.walk.step_mm * (1 + 1e-6 * np.arange(count))
    return [replace(base, walk=replace(walk, step_mm=float(length))) for length in lengths]


@cache
def long_walk(name: str) -> Cost:
    """One solve of 10,000 poses: all legs, limits and band."""
    given = shots(name, 1111, 9, 25)
    assert given[0].poses == 10_000
    return best(solve, given)


@cache
def short_walk(name: str) -> Cost:
    """One solve of 96 poses."""
    given = shots(name, 19, 5, 100)
    assert given[0].poses == 96
    return best(solve, given * 5)


@cache
def uneven_walk() -> dict[str, Cost]:
    """One walk of 240 poses with everything that is not even, straight and flat: solved, checked without and with
    cures; and a hopeless one of as many poses fitted."""
    base = load_shot(starter_paths()["lamplighter"])
    walk = Walk(steps=38, start="standing", stop="standing", surge=0.1)
    path = (
        PathPiece(straight_mm=500),
        PathPiece(turn_deg=60, radius_mm=400),
        PathPiece(points_mm=((1200, 500), (1500, 900))),
    )
    steps = (
        StepChange("5", (("poses_per_step", 9),)),
        StepChange("8-10", (("lift_mm", 16.0),)),
        StepChange("left", (("drag", 0.1),)),
    )
    edits = Edits((FootfallEdit(6, move_mm=(3, 2)), FootfallEdit(9, turn_deg=6)), (BodyEdit(40, -2),))
    uneven = replace(base, walk=walk, path=path, step_changes=steps, edits=edits)
    given = [replace(uneven, floor=Floor(slope_deg=3 + 1e-6 * k, side_slope_deg=1)) for k in range(40)]
    assert 235 <= given[0].poses <= 250
    plans = [solve(one) for one in given[:8]]
    assert any(one.cures for one in findings_of(plans[0]))
    arc = (PathPiece(straight_mm=500), PathPiece(turn_deg=60, radius_mm=600))
    hopeless = replace(base, walk=Walk(steps=40, step_mm=140), path=arc)
    assert not fit(hopeless).fits
    return {
        "solve": best(solve, given * 3),
        "check": best(lambda plan: findings_of(plan, with_cures=False), plans),
        "check and cures": best(findings_of, plans),
        "fit, hopeless": best(fit, [hopeless] * 3),
    }


class Peer:
    """One leg of the lamplighter in Pinocchio, metres: hip out, hip swing, knee."""

    def __init__(self) -> None:
        leg = load_shot(starter_paths()["lamplighter"]).puppet.legs[0]
        self.thigh, self.shank = leg.thigh_mm / 1e3, leg.shank_mm / 1e3
        hung = pinocchio.SE3(np.eye(3), np.array((0.0, 0.0, -self.thigh)))
        axes = (np.array((1.0, 0.0, 0.0)), np.array((0.0, -1.0, 0.0)), np.array((0.0, 1.0, 0.0)))
        self.model = pinocchio.Model()
        joint = 0
        for axis, place in zip(axes, (pinocchio.SE3.Identity(), pinocchio.SE3.Identity(), hung), strict=True):
            joint = self.model.addJoint(joint, pinocchio.JointModelRevoluteUnaligned(axis), place, f"joint {joint}")
        ankle = pinocchio.SE3(np.eye(3), np.array((0.0, 0.0, -self.shank)))
        kind = pinocchio.FrameType.OP_FRAME
        self.ankle = self.model.addFrame(pinocchio.Frame("ankle", joint, 0, ankle, kind))
        self.data = self.model.createData()

    def targets(self, count: int) -> np.ndarray:
        """(count, 3) ankle places of random poses inside a person's range."""
        random = np.random.default_rng(7)
        out = random.uniform(-0.25, 0.4, count)
        swing = random.uniform(-0.4, 1.2, count)
        shank = swing - random.uniform(0.1, 1.9, count)
        along = self.thigh * np.sin(swing) + self.shank * np.sin(shank)
        below = self.thigh * np.cos(swing) + self.shank * np.cos(shank)
        return np.stack((along, below * np.sin(out), -below * np.cos(out)), axis=1)

    def solve(self, targets: np.ndarray) -> int:
        """Damped least squares for every target, from one bent pose. Returns how many were not met to PEER_WITHIN_M."""
        model, data, frame = self.model, self.data, self.ankle
        place_frames, jacobian_of = pinocchio.framesForwardKinematics, pinocchio.computeFrameJacobian
        level = pinocchio.ReferenceFrame.LOCAL_WORLD_ALIGNED
        damping = 1e-9 * np.eye(3)
        missed = 0
        for target in targets:
            q = np.array((0.0, 0.5, 1.0))
            for _ in range(60):
                place_frames(model, data, q)
                away = target - data.oMf[frame].translation
                if away @ away < PEER_WITHIN_M**2:
                    break
                jacobian = jacobian_of(model, data, q, frame, level)[:3]
                q = q + jacobian.T @ np.linalg.solve(jacobian @ jacobian.T + damping, away)
            else:
                missed += 1
        return missed


@cache
def peer() -> Cost:
    """Pinocchio's inverse kinematics of one leg for 10,000 random poses."""
    one = Peer()
    targets = one.targets(10_000)
    missed = one.solve(targets)
    assert missed < 0.02 * len(targets), f"{missed} of {len(targets)} poses not found"
    return best(one.solve, [targets] * 3)


@cache
def imports() -> dict[str, Cost]:
    """Of numpy in a fresh interpreter, and of what each import adds to it once numpy is there."""
    core = Path(__file__).resolve().parents[2] / "core"

    def cost(before: str, modules: str) -> Cost:
        code = (
            f"import sys, {before}; from time import perf_counter, process_time; sys.path.insert(0, {str(core)!r})\n"
            f"wall, cpu = perf_counter(), process_time()\nimport {modules}\n"
            "print(perf_counter() - wall, process_time() - cpu)"
        )
        line = [sys.executable, "-c", code]
        runs = [subprocess.run(line, capture_output=True, check=True, text=True).stdout.split() for _ in range(7)]
        return Cost(*(min(float(run[i]) for run in runs) for i in (0, 1)))

    added = ("striderule", "striderule.solve", "striderule.model.shotfile, striderule.solve")
    return {"numpy": cost("os", "numpy")} | {modules: cost("numpy", modules) for modules in added}


def test_10_000_poses_cost_at_most_3_microseconds_each():
    for name in ("lamplighter", "heron"):
        assert long_walk(name).cpu / 10_000 * 1e6 <= MOST_US_A_POSE


def test_a_pose_of_all_legs_costs_at_most_a_tenth_of_pinocchios_one_leg():
    for name in ("lamplighter", "heron"):
        assert peer().cpu / long_walk(name).cpu >= LEAST_RATIO


def test_96_poses_cost_less_than_2_milliseconds():
    for name in ("lamplighter", "heron"):
        assert short_walk(name).cpu * 1e3 < MOST_MS_FOR_96_POSES


@pytest.mark.parametrize("what", UNEVEN_MOST_MS)
def test_240_poses_with_path_slope_start_stop_changes_and_edits_are_solved_checked_and_fitted_in_time(what):
    assert uneven_walk()[what].cpu * 1e3 < UNEVEN_MOST_MS[what]


def test_a_pose_of_the_uneven_walk_costs_at_most_a_third_of_pinocchios_one_leg():
    assert peer().cpu / 10_000 >= 3.0 * uneven_walk()["solve"].cpu / 240


@pytest.mark.parametrize("modules", ["striderule", "striderule.model.shotfile, striderule.solve"])
def test_import_adds_at_most_a_tenth_of_a_second_to_numpys(modules):
    assert imports()[modules].cpu <= MOST_IMPORT_S


def main() -> None:
    print(
        f"Python {sys.version.split()[0]}, numpy {np.__version__}, pin {pinocchio.__version__}; wall / processor time"
    )
    for name in ("lamplighter", "heron"):
        long, short = long_walk(name), short_walk(name)
        print(
            f"{name:12} 10,000 poses {long.wall * 1e2:6.2f} / {long.cpu * 1e2:5.2f} us a pose (goal {MOST_US_A_POSE:g})"
            f"    96 poses {short.wall * 1e3:5.2f} / {short.cpu * 1e3:5.2f} ms (goal {MOST_MS_FOR_96_POSES:g})"
        )
    other = peer()
    for what, cost in uneven_walk().items():
        took = f"{cost.wall * 1e3:6.2f} / {cost.cpu * 1e3:6.2f} ms"
        print(f"uneven, 240 poses: {what:16} {took} (goal {UNEVEN_MOST_MS[what]:g})")
    share = other.cpu / 10_000 / (uneven_walk()["solve"].cpu / 240)
    print(f"  a pose of pin's one leg costs {share:.1f} times a pose of this walk's solve")
    ratio = other.cpu / max(long_walk(name).cpu for name in ("lamplighter", "heron"))
    print(
        f"pin, one leg  10,000 poses {other.wall * 1e2:5.1f} / {other.cpu * 1e2:5.1f} us a pose:"
        f" {ratio:.0f} times ours (goal {LEAST_RATIO:g}); a general solver, which takes any chain"
    )
    for modules, added in imports().items():
        more = "" if modules == "numpy" else " more"
        print(f"import {modules:46} {added.wall * 1e3:6.1f} / {added.cpu * 1e3:6.1f} ms{more}")


if __name__ == "__main__":
    main()
