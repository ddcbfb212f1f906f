"""Where every part's centre of mass is in every pose, and that of the whole puppet. The one place that knows which
parts a puppet has: what else reads masses reads them here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...model.weight import GRAVITY
from ...solve.plan import Plan
from .masses import CENTRE_SHARE, Masses, centre_of, masses_of, shapes_centre

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Parts:
    """K parts of a puppet in P poses. weight_n (K,) newtons, places_mm (P, K, 3) on the stage, centre_mm (P, 3) of the
    whole puppet."""

    masses: Masses
    weight_n: Floats
    places_mm: Floats
    centre_mm: Floats

    @property
    def whole_n(self) -> float:
        """The puppet's weight, newtons."""
        return float(self.weight_n.sum())

    def of_leg(self, leg: int, *parts: str) -> list[int]:
        """Indices of these parts of a leg."""
        return [i for i, one in enumerate(self.masses.parts) if one.leg == leg and one.part in parts]


def parts_of(plan: Plan) -> Parts | None:
    """Every part of the plan's puppet; None where a mass is not known, or all are 0."""
    masses = masses_of(plan.shot.puppet)
    grams = [one.grams for one in masses.parts if one.grams is not None]
    if len(grams) < len(masses.parts) or sum(grams) <= 0:
        return None
    weight = np.array(grams) / 1000.0 * GRAVITY
    limbs = _limbs(plan)
    places = np.empty((plan.poses, len(grams), 3))
    for i, one in enumerate(masses.parts):
        places[:, i] = limbs[one.part][:, one.leg] if one.leg >= 0 else _hung(plan, one.part)
    centre = np.einsum("k,pki->pi", weight / weight.sum(), places)
    return Parts(masses, weight, places, centre)


def _limbs(plan: Plan) -> dict[str, Floats]:
    """(P, L, 3) centres of all thighs, shanks, cannons and feet. A foot's lies between the ankle and its ball, at half
    the ankle's height over the sole."""
    ends = {
        "thigh": (plan.hip_mm, plan.knee_mm),
        "shank": (plan.knee_mm, plan.hock_mm),
        "cannon": (plan.hock_mm, plan.ankle_mm),
        "foot": (plan.ankle_mm, plan.ball_mm),
    }
    return {part: near + CENTRE_SHARE[part] * (far - near) for part, (near, far) in ends.items()}


def _hung(plan: Plan, part: str) -> Floats:
    """(P, 3) centre of a part of the trunk, of an arm, of a loose part."""
    puppet = plan.shot.puppet
    match part.split("."):
        case ["arm", name, bone]:
            had = plan.arms[[arm.name for arm in puppet.arms].index(name)]
            if bone == "hand":
                return had.hand_mm
            near, far = (had.shoulder_mm, had.elbow_mm) if bone == "upper" else (had.elbow_mm, had.wrist_mm)
            return near + CENTRE_SHARE[bone] * (far - near)
        case ["loose", name]:
            one = puppet.loose[[one.name for one in puppet.loose].index(name)]
            own = shapes_centre(puppet, part)
            middle = tuple((a + b) / 2 for a, b in zip(one.joint_mm, one.end_mm, strict=True))
            return plan.on_part(part, np.array(middle if own is None else own))
        case _:
            return plan.on_part(part, np.array(centre_of(puppet, part)))
