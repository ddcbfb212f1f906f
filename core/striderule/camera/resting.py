"""Where a standing puppet's shapes are: arms as they hang at rest, what hangs from them plumb."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..model.puppet import Puppet
from ..solve.arms import arm_places

Floats = npt.NDArray[np.float64]


def resting_mm(puppet: Puppet, part: str, points_mm: Floats) -> Floats:
    """Points (n, 3) on a part, given in the zero pose, where they are at rest; both from the body's centre."""
    kind, _, rest = part.partition(".")
    if kind == "loose":
        one = next(one for one in puppet.loose if one.name == rest)
        joint = np.array([one.joint_mm])
        moved = resting_mm(puppet, one.part, joint)
        if one.hangs:
            return points_mm + moved - joint
        return resting_mm(puppet, one.part, points_mm)
    if kind != "arm":
        return points_mm
    name, _, bone = rest.partition(".")
    arm = next(arm for arm in puppet.arms if arm.name == name)
    angles = np.array([(arm.rest_swing_deg, arm.rest_out_deg, arm.rest_elbow_deg)])
    at = arm_places(arm, angles, np.array([arm.shoulder_mm]), np.eye(3)[None])
    if bone == "upper":
        return at.shoulder_mm + (points_mm - np.array(arm.shoulder_mm)) @ at.upper_axes[0].T
    return at.elbow_mm + (points_mm - np.array(arm.elbow_mm)) @ at.fore_axes[0].T
