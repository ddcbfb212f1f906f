"""The columns of poses.csv that tell of weight, for puppets whose parts were weighed."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..check.weight.load import weigh
from ..solve.plan import Plan

Floats = npt.NDArray[np.float64]


def weight_columns(plan: Plan) -> tuple[tuple[str, ...], Floats]:
    """Names and values (poses, n): centre of mass, how far it is inside the area of support, the least lift of a rig in
    grams, and what each measured joint carries over what it holds, without a rig. NaN where there is none. No columns
    where a part's mass is not known."""
    weight = weigh(plan)
    if weight is None:
        return (), np.empty((plan.poses, 0))
    names = ["com_x_mm", "com_y_mm", "com_z_mm", "support_margin_mm"]
    margin: Floats = np.where(np.isfinite(weight.margin_mm), weight.margin_mm, np.nan)
    values = [weight.parts.centre_mm, margin[:, None]]
    if weight.measured:
        least: Floats = np.where(weight.lift.helps, weight.lift.least_g, np.nan)
        names.append("rig_g")
        values.append(least[:, None])
    for j, joint in enumerate(weight.joints):
        if joint.held_nmm is not None:
            names.append(f"{plan.legs[joint.leg]}_{joint.name}_load")
            values.append(weight.ratio[:, j, None])
    return tuple(names), np.concatenate(values, axis=1)
