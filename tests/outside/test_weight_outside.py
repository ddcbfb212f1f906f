"""Loads against things outside the project: MuJoCo's inverse dynamics (torques, centres of mass), Shapely (margins) and
SciPy's HiGHS (linear programs).

MuJoCo (Apache-2.0) hangs the puppet on a foot fixed to the world and asks each joint what holds everything beyond it.
Lengths go in as millimetres, masses as grams; its torques are then N mm / 1000 times 1000.
"""

from __future__ import annotations

from dataclasses import replace

import mujoco
import numpy as np
import pytest
import shapely
from scipy.optimize import linprog

from striderule.check.weight import sharing
from striderule.check.weight.least import least
from striderule.check.weight.load import weigh
from striderule.check.weight.sharing import lifts, share_range, shared
from striderule.check.weight.support import hull_margin
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.weight import GRAVITY, Holding
from striderule.solve import solve
from striderule.solve.plan import FootState

HOLDS = Holding(180, 140, 130, 110, 50)


def random_shot(name: str, random: np.random.Generator) -> Shot:
    """A starter with other masses, lengths, holding torques and walk."""
    shot = load_shot(starter_paths()[name])
    legs = tuple(
        replace(
            leg,
            thigh_mm=leg.thigh_mm * random.uniform(0.95, 1.05),
            thigh_g=random.uniform(5, 60), shank_g=random.uniform(5, 40), foot_g=random.uniform(5, 40),
            holding=Holding(*random.uniform(40, 250, 5).tolist()),
        )
        for leg in shot.puppet.legs
    )  # fmt: skip
    centre = tuple(random.uniform(-25, 25, 3).tolist())
    body = replace(
        shot.puppet.body, body_g=random.uniform(50, 300), body_centre_mm=centre, chest_g=random.uniform(0, 90)
    )
    walk = replace(shot.walk, lean_deg=random.uniform(-5, 15), pelvis_turn_deg=random.uniform(0, 8), sway=0.4)
    return replace(shot, walk=walk, puppet=replace(shot.puppet, legs=legs, body=body))


def numbers(values) -> str:
    return " ".join(repr(float(one)) for one in np.ravel(values))


def hinge(name: str, at: np.ndarray, axis) -> str:
    return f'<joint name="{name}" type="hinge" pos="{numbers(at)}" axis="{numbers(axis)}"/>'


def ball(name: str, at: np.ndarray) -> str:
    return f'<joint name="{name}" type="ball" pos="{numbers(at)}"/>'


def weights(pairs) -> str:
    """Point masses of one rigid piece, as tiny bodies welded to it."""
    still = 'diaginertia="1e-6 1e-6 1e-6"'
    return "".join(
        f'<body pos="{numbers(at)}"><inertial pos="0 0 0" mass="{float(max(grams, 1e-9))!r}" {still}/></body>'
        for grams, at in pairs
    )


def chain_of(plan, weight, pose: int, leg: int) -> mujoco.MjModel:
    """The puppet in one pose, standing on one leg: toe fixed, then foot, shank, thigh, and all the rest on the hip."""
    grams = weight.parts.weight_n / GRAVITY * 1000
    places = weight.parts.places_mm[pose]
    own = {weight.parts.masses.parts[i].part: i for i in weight.parts.of_leg(leg, "thigh", "shank", "cannon", "foot")}
    rest = [(grams[i], places[i]) for i in range(len(grams)) if i not in own.values()]
    axis = plan.thigh_axes[pose, leg, :, 1]
    toe_axis = plan.foot_axes[pose, leg, :, 1]

    def piece(part: str) -> str:
        return weights([(grams[own[part]], places[own[part]])])

    at = {key: getattr(plan, f"{key}_mm")[pose, leg] for key in ("ball", "ankle", "hock", "knee", "hip")}
    tiny = '<inertial pos="0 0 0" mass="1e-9" diaginertia="1e-6 1e-6 1e-6"/>'
    cannon = f"{piece('cannon')}<body>{tiny}{hinge('hock', at['hock'], axis)}" if "cannon" in own else "<body>" + tiny
    xml = f"""<mujoco><compiler angle="radian" inertiafromgeom="false"/><option gravity="0 0 {-GRAVITY!r}"/><worldbody>
      <body>{tiny}{hinge("toe", at["ball"], toe_axis)}{piece("foot")}
        <body>{tiny}{ball("ankle", at["ankle"])}{cannon}{piece("shank")}
          <body>{tiny}{hinge("knee", at["knee"], axis)}{piece("thigh")}
            <body>{tiny}{hinge("hip", at["hip"], axis)}
              <body>{tiny}{hinge("hip_out", at["hip"], plan.carrier_of(leg)[1][pose, :, 0])}{weights(rest)}</body>
            </body></body></body></body></body></worldbody></mujoco>"""
    return mujoco.MjModel.from_xml_string(xml)


@pytest.mark.parametrize("name", ["heron", "lamplighter", "tapir"])
def test_torques_and_centres_of_mass_are_those_of_mujoco(name):
    """One foot alone down, or all but one taken away: each leg in turn carries everything."""
    random = np.random.default_rng(5)
    for _ in range(3):
        plan = solve(random_shot(name, random))
        weight = weigh(plan)
        assert weight is not None
        for leg in range(len(plan.legs)):
            down = np.zeros_like(weight.soles.down)
            down[:, leg] = True
            share = shared(weight.standing, down, np.zeros(plan.poses), np.zeros((plan.poses, 2)))
            moments = sharing.moments_nmm(weight.standing, share.push)
            poses = np.flatnonzero(plan.state[:, leg] != int(FootState.AIR))
            for pose in random.choice(poses, 4, replace=False).tolist():
                model = chain_of(plan, weight, pose, leg)
                data = mujoco.MjData(model)
                mujoco.mj_inverse(model, data)
                centre = data.subtree_com[0]
                assert centre == pytest.approx(weight.parts.centre_mm[pose], rel=1e-9, abs=1e-7)
                for joint, mine in zip(weight.joints, moments[pose], strict=True):
                    if joint.leg != leg or (joint.name == "toe" and not joint.bears[pose]):
                        continue
                    begin = model.joint(joint.name).dofadr[0]
                    size = 3 if joint.name == "ankle" else 1
                    force = data.qfrc_inverse[begin : begin + size] / 1000.0  # g to kg
                    if joint.name == "knee" and joint.tied is not None:  # one rod bends both
                        force = force - joint.tied[1] * data.qfrc_inverse[model.joint("hock").dofadr[0]] / 1000.0
                    theirs = np.linalg.norm(force)
                    assert abs(mine) == pytest.approx(theirs, rel=1e-9, abs=2e-6), (joint.name, pose)


def test_margins_are_those_of_shapely():
    random = np.random.default_rng(6)
    for count in (2, 3, 4, 8, 12, 16):
        points = random.uniform(-50, 50, (60, count, 2)) + random.uniform(-40, 40, (60, 1, 2))
        for mine, corners in zip(hull_margin(points), points, strict=True):
            area = shapely.MultiPoint(corners).convex_hull
            origin = shapely.Point(0, 0)
            inside = area.geom_type == "Polygon" and area.contains(origin)
            theirs = area.boundary.distance(origin) if inside else -area.distance(origin)
            assert mine == pytest.approx(theirs, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("unknowns", "rows"), [(1, 12), (4, 44), (7, 90), (10, 120)])
def test_the_programs_are_solved_as_by_scipy(unknowns, rows):
    random = np.random.default_rng(7)
    factors = random.normal(size=(40, rows, unknowns))
    most = random.uniform(-0.02, 1, (40, rows)) + (np.arange(40) < 30)[:, None] * 0.03  # some have no solution
    box = np.broadcast_to(np.concatenate((np.eye(unknowns), -np.eye(unknowns))), (40, 2 * unknowns, unknowns))
    factors, most = (
        np.concatenate((factors, box), axis=1),
        np.concatenate((most, np.full((40, 2 * unknowns), 9.0)), axis=1),
    )
    for cost in (np.eye(unknowns)[0], -np.eye(unknowns)[0]):
        mine, possible = least(cost, factors, most)
        bounds = [(0, None) if one > 0 else (None, None) for one in cost]
        for k in range(40):
            theirs = linprog(cost, factors[k], most[k], bounds=bounds, method="highs")
            assert (theirs.status == 0) == possible[k]
            if possible[k]:
                assert float(cost @ mine[k]) == pytest.approx(theirs.fun, rel=1e-9, abs=1e-9)


def wrench_program(weight, pose: int, down, margin: float | None):
    """The same question put to SciPy with other unknowns: a push straight up at each corner of each sole, a pull at
    each tie, a lift at the rig's point; for the ratio (margin None) or for the lift."""
    standing, centre = weight.standing, weight.parts.centre_mm[pose, :2]
    whole = weight.parts.whole_n
    legs = np.flatnonzero(down[pose])
    spots, signs, feet, caps = [], [], [], []
    for leg in legs:
        for corner in weight.soles.corners[pose, leg]:
            spots.append(corner - centre), signs.append(1.0), feet.append(leg), caps.append(None)
        pull = standing.pull_n[pose, leg]
        if pull > 0:
            spots.append(standing.tie_mm[pose, leg] - centre), signs.append(-1.0), feet.append(leg)
            caps.append(min(pull, whole) if len(legs) > 1 else None)
    spots, signs, feet = np.array(spots), np.array(signs), np.array(feet)
    push = np.column_stack((signs, signs[:, None] * spots))  # N, X, Y of one newton
    point = np.concatenate(([1.0], weight.lift.point_mm[pose, :2] - centre))
    lift = point if margin is not None else np.zeros(3)
    equal = np.column_stack((lift[:, None], push.T))
    rows, most = [], []
    for joint, every in zip(standing.joints, standing.rows, strict=True):
        if joint.leg not in legs or joint.held_nmm is None:
            continue
        ways, factor = sharing.bounds_of(every[pose : pose + 1])
        for way in ways[0] / (joint.held_nmm * factor):
            row = np.where(feet == joint.leg, push @ way[:3], 0.0)
            for sign in (1.0, -1.0):
                first = 0.0 if margin is not None else -1.0
                rows.append(np.concatenate(([first], sign * row)))
                most.append((1.0 / margin if margin is not None else 0.0) - sign * way[3])
    bounds = [(0, whole if margin is not None else None), *((0, cap) for cap in caps)]
    cost = np.eye(len(bounds))[0]
    return linprog(cost, np.array(rows), most, equal, [whole, 0.0, 0.0], bounds=bounds, method="highs")


@pytest.mark.parametrize("name", ["heron", "lamplighter", "tapir"])
def test_best_shares_and_least_lifts_are_those_of_scipy(name):
    """SciPy is asked with other unknowns (pushes at corners), so that it does not share our reduction."""
    random = np.random.default_rng(8)
    compared = 0
    for _ in range(2):
        plan = solve(random_shot(name, random))
        weight = weigh(plan)
        assert weight is not None
        down, at = weight.soles.down, weight.lift.point_mm[:, :2]
        lift, possible = lifts(weight.standing, down, 1.5, at, most=False)
        polygon = worst_in_polygon(weight)
        for pose in range(0, plan.poses, 3):
            theirs = wrench_program(weight, pose, down, None)
            if down[pose].sum() > 1 and theirs.status == 0:
                assert polygon[pose] == pytest.approx(theirs.fun, rel=1e-8, abs=1e-9)
                compared += 1
            theirs = wrench_program(weight, pose, down, 1.5)
            assert (theirs.status == 0) == possible[pose]
            if possible[pose]:
                assert lift[pose] == pytest.approx(theirs.fun, rel=1e-8, abs=1e-8)
                compared += 1
    assert compared > 10


def worst_in_polygon(weight) -> np.ndarray:
    """(P,) the worst ratio as the programs see it: a ball joint's circle is a polygon there."""
    worst = np.zeros(weight.plan.poses)
    for joint, rows in zip(weight.joints, weight.standing.rows, strict=True):
        if joint.held_nmm is None:
            continue
        every, factor = sharing.bounds_of(rows)
        push = np.concatenate((weight.push[:, joint.leg], np.ones((len(worst), 1))), axis=1)
        ratio = np.abs(np.einsum("pki,pi->pk", every, push)).max(axis=1) / (joint.held_nmm * factor)
        worst = np.maximum(worst, ratio * weight.soles.down[:, joint.leg])
    return worst


def test_the_range_of_a_share_is_where_the_feet_still_balance():
    """By Shapely: with foot A at its greatest share the other foot's push is at the edge of its sole."""
    plan = solve(load_shot(starter_paths()["heron"]))
    weight = weigh(plan)
    assert weight is not None
    ranges = share_range(weight.standing, weight.soles.down)
    both = np.flatnonzero(weight.soles.down.all(axis=1) & (weight.margin_mm > 0.5))
    assert len(both) > 3
    for pose in both.tolist():
        centre = shapely.Point(weight.parts.centre_mm[pose, :2])
        soles = [shapely.Polygon(weight.soles.corners[pose, leg]) for leg in (0, 1)]
        for share in (*ranges[pose, 0], 0.5 * sum(ranges[pose, 0])):
            inner = min(max(share, 1e-9), 1 - 1e-9)
            mixed = [inner * a + (1 - inner) * b for a in np.array(soles[0].exterior.coords)
                     for b in np.array(soles[1].exterior.coords)]  # fmt: skip
            assert shapely.MultiPoint(mixed).convex_hull.distance(centre) < 1e-6
        # what one foot has at most leaves the other its least
        assert ranges[pose, 0, 1] + ranges[pose, 1, 0] == pytest.approx(1.0, abs=1e-9)
        assert ranges[pose, 1, 1] + ranges[pose, 0, 0] == pytest.approx(1.0, abs=1e-9)
