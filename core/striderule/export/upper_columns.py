"""Columns of poses.csv for chest, head, arms and loose parts; none for a puppet without them. They follow the legs'."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from ..solve.plan import Plan

Floats = npt.NDArray[np.float64]

TURNS = ("yaw", "pitch", "roll")
JOINT = ("turn", "lean", "tilt")


def upper_columns(plan: Plan) -> tuple[tuple[str, ...], Floats]:
    """Names (n,) and numbers (poses, n).

    chest_*, head_*: their own angles on the stage. waist_*, neck_*: where they turn, and how the joint is set: the
    chest against the body, the head against the chest. <arm>_*, <loose part>_*: joint angles and places.
    """
    names: list[str] = []
    columns: list[Floats] = [np.empty((plan.poses, 0))]
    for one, values in _blocks(plan):
        names += one
        columns.append(values)
    return tuple(names), np.concatenate(columns, axis=1)


def _blocks(plan: Plan) -> Iterator[tuple[list[str], Floats]]:
    puppet, upper = plan.shot.puppet, plan.upper
    if puppet.has_part("chest"):
        yield [f"chest_{turn}_deg" for turn in TURNS], upper.chest_deg
        yield _place("waist", upper.waist_mm)
        yield [f"waist_{turn}_deg" for turn in JOINT], upper.waist_deg
    if puppet.has_part("head"):
        yield [f"head_{turn}_deg" for turn in TURNS], upper.head_deg
        yield _place("neck", upper.neck_mm)
        yield [f"neck_{turn}_deg" for turn in JOINT], upper.neck_deg
    for i, (arm, places) in enumerate(zip(puppet.arms, plan.arms, strict=True)):
        assert plan.arm_angles is not None
        yield [f"{arm.name}_{joint}_deg" for joint in ("swing", "out", "elbow")], plan.arm_angles.deg[:, i]
        yield _place(f"{arm.name}_shoulder", places.shoulder_mm)
        yield _place(f"{arm.name}_elbow", places.elbow_mm)
        yield _place(f"{arm.name}_hand", places.hand_mm)
    for one, where in zip(puppet.loose, plan.loose, strict=True):
        yield [f"{one.name}_swing_deg", f"{one.name}_side_deg"], np.stack((where.swing_deg, where.side_deg), axis=1)
        yield _place(f"{one.name}_joint", where.joint_mm)
        yield _place(f"{one.name}_end", where.end_mm)


def _place(name: str, places_mm: Floats) -> tuple[list[str], Floats]:
    return [f"{name}_{axis}_mm" for axis in "xyz"], places_mm
