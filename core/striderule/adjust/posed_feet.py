"""Feet of posed puppets: which foot is which, and the footfall under each."""

from __future__ import annotations

import math

from ..errors import ModelError
from ..model.fields import Pair
from ..model.poses import Contact, Passing, PosedFoot
from ..model.puppet import Leg, Puppet


def leg_named(puppet: Puppet, name: str) -> Leg:
    """A leg by its name. Raises KeyError."""
    return {leg.name: leg for leg in puppet.legs}[name]


def other_leg(puppet: Puppet, name: str) -> str:
    """The other one of two legs."""
    return next(leg for leg in puppet.leg_names if leg != name)


def footfall(leg: Leg, foot: PosedFoot, toe_out_deg: float) -> Pair | None:
    """The floor under the ankle of the foot laid flat where it is: (along, across) in mm; None where the foot has no
    place. A foot with its toe up turns on the heel's back edge, one with its heel up on the ball, its toe flat.

    toe_out_deg: how the foot is turned where its own angle was not measured.
    """
    if foot.at_mm is None:
        return None
    along = _from_footfall(leg, foot.point or "", math.radians(foot.tilt_deg))
    out = toe_out_deg if foot.toe_out_deg is None else foot.toe_out_deg
    heading = leg.outward_side * math.radians(out)
    return foot.at_mm[0] - along * math.cos(heading), foot.at_mm[1] - along * math.sin(heading)


def _from_footfall(leg: Leg, point: str, pitch: float) -> float:
    """mm along the foot from its footfall to a point of it, tilted by `pitch` radians on its heel or its ball."""
    if point == "toe_mm" and pitch < 0:
        return leg.ball_ahead_mm + leg.toe_mm
    pivot = -leg.heel_behind_mm if pitch > 0 else leg.ball_ahead_mm
    along, up = {
        "ankle_mm": (0.0, leg.ankle_up_mm),
        "heel_mm": (-leg.heel_behind_mm, 0.0),
        "toe_mm": (leg.ball_ahead_mm + leg.toe_mm, 0.0),
    }[point]
    return pivot + (along - pivot) * math.cos(pitch) - up * math.sin(pitch)


def front_leg(puppet: Puppet, pose: Contact, toe_out_deg: float, where: str) -> str:
    """The leg that is ahead at a contact, by name or by the feet's places.

    where: the pose's table, for messages. Raises ModelError where neither says it, and where they say different legs.
    """
    one, two = puppet.leg_names
    places = [footfall(leg, pose.foot(leg.name), toe_out_deg) for leg in puppet.legs]
    if places[0] is None or places[1] is None:
        if pose.ahead is None:
            raise ModelError(f"{where}.ahead", f"the leg that is ahead: {one} or {two}", "feet without places",
                             "Name the leg, or give both feet a place.")  # fmt: skip
        return pose.ahead
    apart = places[0][0] - places[1][0]
    if abs(apart) < 1.0:
        raise ModelError(f"{where}.leg", "one foot ahead of the other", f"feet {abs(apart):.1f} mm apart along",
                         "A walk's values are read from a contact; feet side by side are a stand.")  # fmt: skip
    ahead = one if apart > 0 else two
    if pose.ahead not in (None, ahead):
        raise ModelError(f"{where}.ahead", f"the leg whose foot is ahead, {ahead} by {abs(apart):.1f} mm",
                         repr(pose.ahead))  # fmt: skip
    return ahead


def free_leg(puppet: Puppet, passing: Passing, behind: str | None) -> str:
    """The leg in the air at a passing: as named, the one whose foot's state is air, the one whose ankle alone has a
    height over the floor, or the one that was behind at contact. Raises ModelError where none of these tells it."""
    in_air = [foot.leg for foot in passing.feet if foot.state == "air"]
    high = [foot.leg for foot in passing.feet if foot.ankle_up_mm is not None]
    free = passing.free or next(iter(in_air), None) or (high[0] if len(high) == 1 else behind)
    if free is None:
        raise ModelError("passing.free", "the leg in the air: " + " or ".join(puppet.leg_names), "nothing")
    if len(in_air) > 1 or (in_air and in_air[0] != free):
        raise ModelError("passing.free", "one leg in the air, the other on the floor", " and ".join({*in_air, free}))
    return free
