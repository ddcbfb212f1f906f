"""Random puppets and walks that the model accepts: every value of a shot that the solver looks at, each now and then.

`random_shot(seed)` gives the same shot for the same seed. Most are walks that a person might ask for; some are wild.
"""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from striderule.errors import ModelError
from striderule.model.edits import BodyEdit, Edits, FootfallEdit, Hold
from striderule.model.floor import Floor, Kerb, Raised, Stairs
from striderule.model.path import PathPiece
from striderule.model.puppet import Body, Leg, Limits, Puppet
from striderule.model.shot import Shot
from striderule.model.stage import Stage
from striderule.model.step_change import StepChange
from striderule.model.walk import Hips, Walk

Rng = random.Random

FRONT_TO_BACK = ("fore", "middle", "hind")


def random_shot(seed: int | str, legs: int | None = None) -> Shot:
    """A shot of its seed alone. legs: 2, 3, 4 or 6, or any of them."""
    rng = random.Random(seed)
    while True:
        try:
            return _shot(rng, random_puppet(rng, legs))
        except ModelError:  # values that contradict each other: drawn anew
            continue


def random_puppet(rng: Rng, legs: int | None = None) -> Puppet:
    """A puppet of 2, 3, 4 or 6 legs, mostly the same on both sides."""
    count = legs or rng.choice((2, 2, 2, 2, 2, 2, 3, 4, 4, 6))
    length = rng.uniform(50, 400)
    apart = length * rng.uniform(0.02, 0.3)
    along = length * rng.uniform(-0.1, 0.2)
    made: list[Leg] = []
    if count == 3:
        sides = [("left", 0.0, apart), ("right", 0.0, -apart), ("prop", -length * rng.uniform(0, 0.6), 0.0)]
        made = [_leg(rng, name, (x, y, 0.0), length) for name, x, y in sides]
    else:
        pairs = count // 2
        names = ("",) if pairs == 1 else tuple(f"{one}-" for one in (FRONT_TO_BACK if pairs == 3 else ("fore", "hind")))
        one = None
        for k, name in enumerate(names):
            place = (along - k * length * rng.uniform(0.8, 1.5), apart, 0.0)
            if one is None or rng.random() < 0.5:
                up = length * (1.0 if k == 0 else rng.uniform(0.9, 1.1))  # in the zero pose all feet are on the floor
                one = _leg(rng, f"{name}left", (place[0], apart, up - length), up)
            else:
                one = replace(one, name=f"{name}left", hip_mm=place)
            other = one.mirrored(f"{name}right")
            if rng.random() < 0.1:
                other = replace(other, thigh_mm=one.thigh_mm * rng.uniform(0.95, 1.05))
            made += [one, other]
    if count in (4, 6) and rng.random() < 0.4:  # a spine that bends
        made = [replace(leg, part="chest") if leg.name.startswith("fore") else leg for leg in made]
    up = length * rng.uniform(0.0, 0.4)
    body = Body(
        reference_mm=(along + length * rng.uniform(-0.2, 0.2), rng.choice((0.0, 0.0, 4.0)), up),
        waist_mm=(along - 0.3 * length, 0.0, 0.5 * up) if made[0].part == "chest" else (0.0, 0.0, 0.5 * up),
        neck_mm=(0.0, 0.0, up),
    )
    return Puppet("random", tuple(made), body)


def _leg(rng: Rng, name: str, hip: tuple[float, float, float], length: float) -> Leg:
    thigh = rng.uniform(0.38, 0.62)
    ankle = rng.uniform(0.02, 0.14)
    backward = rng.random() < 0.35
    limits = Limits()
    if rng.random() < 0.5:
        limits = Limits(
            hip_swing_deg=(rng.uniform(-90, -15), rng.uniform(20, 110)),
            hip_out_deg=(rng.uniform(-30, -4), rng.uniform(4, 40)),
            knee_deg=(rng.choice((0.0, rng.uniform(0, 25))), rng.uniform(50, 150)),
            ankle_deg=(rng.uniform(-90, -20), rng.uniform(10, 60)),
            toe_deg=(rng.choice((0.0, -10.0)), rng.uniform(20, 70)),
        )
    leg = Leg(
        name,
        hip,
        length * (1 - ankle) * thigh,
        length * (1 - ankle) * (1 - thigh),
        length * ankle,
        length * rng.choice((0.0, rng.uniform(0.02, 0.15))),
        length * rng.uniform(0.04, 0.22),
        knee="backward" if backward else "forward",
        toe_mm=length * rng.choice((0.0, rng.uniform(0.02, 0.14))),
        sole_width_mm=max(length * rng.uniform(0.04, 0.14), 1.0),
        tie_mm=(length * rng.uniform(0, 0.2), 0.0),
        limits=limits,
    )
    if rng.random() < 0.1:  # three bones
        share = rng.uniform(0.2, 0.35)
        bones = {"thigh_mm": leg.thigh_mm * (1 - share), "shank_mm": leg.shank_mm * (1 - share)}
        ratio = rng.choice((1.0, rng.uniform(0.4, 1.6)))
        leg = replace(leg, **bones, cannon_mm=(leg.thigh_mm + leg.shank_mm) * share, hock_ratio=ratio)
    if rng.random() < 0.1:  # a ruler instead of angles
        whole, shortest = leg.bones_mm, leg.folded_mm
        ruler = (shortest + rng.uniform(0.2, 0.5) * (whole - shortest), whole * rng.uniform(0.97, 1.0))
        leg = replace(leg, limits=replace(limits, hip_to_ankle_mm=ruler))
    return leg


def _some(rng: Rng, chance: float, values: dict[str, Any]) -> dict[str, Any]:
    """Each of the values with that chance; the draws are the same whatever is left out."""
    return {key: value for key, value in values.items() if rng.random() < chance}


def step_values(rng: Rng, length: float, n: int) -> dict[str, Any]:
    """Values that a walk or a single step may have, of a puppet whose legs are so long. n: poses a step."""
    return {
        "step_mm": length * rng.choice((rng.uniform(0.2, 0.7), rng.uniform(0, 1.1))),
        "width_mm": length * rng.uniform(0.0, 0.5),
        "passing_pose": rng.randint(1, max(n - 1, 1)),
        "lift_off_poses": rng.randint(0, max(n // 3, 1)),
        "toe_roll_poses": rng.randint(0, n),
        "heel_off_deg": rng.choice((0.0, rng.uniform(0, 60))),
        "heel_strike_deg": rng.choice((0.0, rng.uniform(0, 30))),
        "flat_after_poses": rng.randint(0, max(n // 2, 1)),
        "lift_mm": length * rng.uniform(0, 0.3),
        "lift_top": rng.uniform(0.1, 0.9),
        "clearance_mm": length * rng.uniform(0, 0.1),
        "landing": rng.choice(("soft", "heavy")),
        "sway": rng.uniform(0, 1),
        "pelvis_turn_deg": rng.uniform(0, 15),
        "pelvis_drop_deg": rng.uniform(0, 10),
        "lean_deg": rng.uniform(-20, 30),
        "toe_out_deg": rng.uniform(-15, 40),
        "surge": rng.uniform(-0.6, 0.6),
        "drag": rng.uniform(0, 0.5),
        "pause_poses": rng.randint(0, 5),
        "chest_counter_turn": rng.uniform(0, 2),
    }


def _walk(rng: Rng, puppet: Puppet) -> Walk:
    length = min(leg.straight_mm for leg in puppet.legs)
    n = rng.choice((2, 3, 4, 5, 6, 6, 7, 8, 9, 10, 12, 15))
    wild = rng.choice((0.05, 0.2, 0.5))
    values = _some(rng, wild, step_values(rng, length, n)) | _some(rng, wild, {
        "first_foot": rng.choice(puppet.leg_names),
        "lead_in_poses": rng.randint(0, 8),
        "first_step": rng.uniform(0.1, 1.5),
        "last_step": rng.uniform(0.1, 1.5),
        "anticipation_mm": length * rng.uniform(0, 0.05),
        "settle_poses": rng.randint(0, 6),
        "overshoot": rng.uniform(0, 0.3),
        "turn_per_step_deg": rng.uniform(5, 60),
        "gait": rng.choice(("pace", "lateral-sequence", "trot", "diagonal-sequence")),
        "phase": rng.uniform(0, 1),
        "duty": rng.uniform(0.5, 0.9),
        "start": rng.choice(("walking", "standing")),
        "stop": rng.choice(("walking", "standing", "apart")),
    })  # fmt: skip
    if rng.random() < 0.25:
        keys = ("contact_mm", "down_mm", "passing_mm", "up_mm")
        at = length * rng.uniform(0.8, 1.0)
        values["hips"] = Hips(**{key: at * rng.uniform(0.98, 1.02) for key in keys if rng.random() < 0.7})
    if rng.random() < 0.9:
        values["steps"] = rng.randint(1, 7)
    if rng.random() < 0.1:
        values["on_the_spot"] = True
    if rng.random() < 0.15:
        values["distance_mm"] = length * rng.uniform(0.2, 5)
        values.pop(rng.choice(("steps", "step_mm")), None)
    return Walk(poses_per_step=n, **values)


def _path(rng: Rng, length: float) -> tuple[PathPiece, ...]:
    pieces: list[PathPiece] = []
    for _ in range(rng.randint(1, 3)):
        kind = rng.randrange(5)
        angle = rng.choice((-1, 1)) * rng.uniform(5, 180)
        if kind == 0:
            pieces.append(PathPiece(straight_mm=length * rng.uniform(0.1, 3)))
        elif kind == 1:
            pieces.append(PathPiece(turn_deg=angle, radius_mm=length * rng.uniform(0.3, 4)))
        elif kind == 2:
            pieces.append(PathPiece(turn_deg=angle, radius_mm=0.0))
        elif kind == 3:
            pieces.append(PathPiece(turn_deg=angle))
        else:
            x = y = 0.0
            points: list[tuple[float, float]] = []
            for _ in range(rng.randint(1, 3)):
                x, y = x + length * rng.uniform(0.3, 2), y + length * rng.uniform(-1, 1)
                points.append((x, y))
            pieces.append(PathPiece(points_mm=tuple(points)))
    return tuple(pieces)


def _floor(rng: Rng, length: float) -> Floor:
    first = length * rng.uniform(0.1, 1.5)
    chances = (0.35, 0.35, 0.3, 0.3, 0.2, 0.2)
    yes = [rng.random() < chance for chance in chances]
    sole = 0.4 * length
    heights = sorted(first + length * rng.uniform(-1, 3) for _ in range(rng.randint(2, 5)))
    if rng.random() < 0.3:
        heights[1] = heights[0]  # an edge
    return Floor(
        slope_deg=rng.uniform(-20, 20) if yes[0] else 0.0,
        side_slope_deg=rng.uniform(-12, 12) if yes[1] else 0.0,
        stairs=Stairs(first, rng.uniform(0.5, 2) * sole, length * rng.uniform(-0.12, 0.12), rng.randint(1, 5),
                      rng.choice(("one", "both"))) if yes[2] else None,
        plank=Raised(first, first + length * rng.uniform(0.1, 2), length * rng.uniform(-0.1, 0.1)) if yes[3] else None,
        kerb=Kerb(first + length * rng.uniform(-1, 2), length * rng.uniform(-0.1, 0.1)) if yes[4] else None,
        heights_mm=tuple((x, length * rng.uniform(-0.1, 0.1)) for x in heights) if yes[5] else (),
    )  # fmt: skip


def _step_changes(rng: Rng, puppet: Puppet, walk: Walk, length: float) -> tuple[StepChange, ...]:
    steps = walk.steps or 2
    found: dict[str, StepChange] = {}
    for _ in range(rng.randint(1, 3)):
        n = rng.choice((walk.poses_per_step, rng.randint(2, 12)))
        values = _some(rng, 0.15, step_values(rng, length, n))
        if n != walk.poses_per_step:
            values["poses_per_step"] = n
        if rng.random() < 0.2:
            values["frames_per_pose"] = rng.randint(1, 3)
        if rng.random() < 0.2:
            values["hips.up_mm"] = length * rng.uniform(0.85, 1.0)
        first = rng.randint(1, steps)
        which = rng.choice((str(first), f"{first}-{rng.randint(first, steps)}", rng.choice(puppet.leg_names)))
        if values:
            found[which] = StepChange(which, tuple(sorted(values.items())))
    return tuple(found.values())


def _edits(rng: Rng, walk: Walk, length: float) -> Edits:
    steps = walk.steps or 2
    falls: list[FootfallEdit] = []
    for step in rng.sample(range(-1, steps + 1), min(rng.randint(0, 3), steps)):
        values = _some(rng, 0.4, {
            "turn_deg": rng.uniform(-30, 30), "later_poses": rng.randint(-2, 2) if step > 0 else None,
        })  # fmt: skip
        if rng.random() < 0.6:
            along, left = length * rng.uniform(-0.15, 0.15), length * rng.uniform(-0.1, 0.1)
            key = rng.choice(("move_mm", "move_mm", "at_mm"))
            values[key] = (along + (step * length * 0.5 if key == "at_mm" else 0.0), left)
        falls.append(FootfallEdit(step, **values))
    poses = walk.poses_per_step * steps
    body = [
        BodyEdit(rng.randint(1, poses), length * rng.uniform(-0.03, 0.03), rng.uniform(0, 6))
        for _ in range(rng.choice((0, 0, 1, 2)))
    ]
    up = tuple(round(rng.uniform(-1, 1), 2) for _ in range(rng.randint(1, poses + 3))) if rng.random() < 0.2 else ()
    return Edits(tuple(falls), tuple(body), up)


def _shot(rng: Rng, puppet: Puppet) -> Shot:
    length = min(leg.straight_mm for leg in puppet.legs)
    walk = _walk(rng, puppet)
    poses = walk.poses_per_step * (walk.steps or 2)
    path, floor = _path(rng, length), _floor(rng, length)
    changes, edits = _step_changes(rng, puppet, walk, length), _edits(rng, walk, length)
    holds = {rng.randint(1, poses): rng.randint(1, 6) for _ in range(rng.randint(1, 3))}
    places = tuple(Hold(pose, frames) for pose, frames in sorted(holds.items()))
    more = {
        "path": (0.3, path),
        "floor": (0.35, floor),
        "step_changes": (0.3, changes),
        "edits": (0.3, edits),
        "holds": (0.2, places),
        "stage": (0.3, Stage((length * rng.uniform(-2, 2), length * rng.uniform(-1, 1)))),
        "frames_per_pose": (0.3, rng.randint(1, 3)),
        "fps": (0.2, rng.choice(("24", "25", "30000/1001"))),
    }
    given = {key: value for key, (chance, value) in more.items() if rng.random() < chance}
    return Shot("random", puppet=puppet, walk=walk, **given)
