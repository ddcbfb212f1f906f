"""Odd but valid shots through everything that follows a shot: nothing but a clear refusal may come of any of them."""

from __future__ import annotations

import random

import numpy as np
import pytest

from striderule.camera.framing import framing_findings
from striderule.camera.placing import views_of
from striderule.check import findings_of
from striderule.draw.layers import ShotDrawings
from striderule.draw.raster import render
from striderule.errors import StrideruleError
from striderule.model.puppet import Body, Leg, Puppet
from striderule.model.shot import Shot
from striderule.model.view import CameraSetup
from striderule.model.walk import Hips, Walk
from striderule.solve import solve

CAMERAS = (
    (),
    (CameraSetup("mine", (0.0, 0.0, 10.0), (100.0, 0.0, 100.0), lens_mm=1.0),),
    (CameraSetup("mine", (0.0, 0.0, 3000.0), (0.0, 0.0, 0.0), lens_mm=2000.0, resolution=(16, 16)),),
    (CameraSetup("mine", (5.0, 5.0, 5.0), (5.0, 5.0, 5.0001)),),
)


def odd_shot(dice: random.Random) -> Shot:
    """A shot of measures and wishes that no sane person has, and some do. Raises ModelError where they contradict."""
    pick = dice.choice
    leg = Leg(
        "left", (dice.uniform(-50, 50), pick([0.0, 1.0, 12.0, 200.0]), dice.uniform(-50, 50)),
        pick([1.0, 60.0, 5000.0]), pick([1.0, 60.0, 4000.0]), pick([0.0, 9.0, 300.0]), pick([0.0, 10.0]),
        pick([1.0, 16.0, 400.0]), pick(["forward", "backward"]), pick([0.0, 10.0, 90.0]), pick([0.5, 12.0, 300.0]),
    )  # fmt: skip
    walk = Walk(
        steps=pick([1, 2, 5]), poses_per_step=pick([2, 3, 6, 12, 60]), step_mm=pick([None, 0.0, 5000.0]),
        width_mm=pick([None, 0.0, 500.0]), heel_off_deg=pick([None, 0.0, 85.0]), heel_strike_deg=pick([None, 45.0]),
        lift_mm=pick([None, 0.0, 900.0]), clearance_mm=pick([None, 0.0, 200.0]), lean_deg=pick([None, -60.0, 60.0]),
        sway=pick([None, 0.0, 1.0]), landing=pick(["soft", "heavy"]), toe_out_deg=pick([None, -45.0, 60.0]),
        hips=pick([Hips(), Hips(contact_mm=1.0), Hips(passing_mm=5000.0)]),
    )  # fmt: skip
    body = Body(reference_mm=(pick([0.0, 4000.0]), 0.0, pick([0.0, -800.0])))
    return Shot("odd", puppet=Puppet("odd", (leg, leg.mirrored("right")), body), walk=walk, cameras=pick(CAMERAS),
                frames_per_pose=pick([1, 100]))  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_an_odd_shot_is_refused_clearly_or_goes_through_to_its_pictures(seed: int) -> None:
    dice = random.Random(seed)
    try:
        shot = odd_shot(dice)
        plan = solve(shot)
        findings = findings_of(plan)
        views = views_of(plan)
        assert len(findings) + len(framing_findings(plan, list(views))) <= 40
        view = dice.choice(views)
        drawings = ShotDrawings(plan, view)
        for pose in {0, plan.poses // 2, plan.poses - 1}:
            drawing = drawings.drawing(pose)
            pixels = render(drawing.layers, min(view.width, 320), min(view.height, 180)).rgba8()
            assert np.isfinite(pixels).all()
    except StrideruleError:
        return  # refused in its own words


def test_most_of_the_odd_shots_are_not_refused() -> None:
    """Else the test above would look at nothing."""
    through = 0
    for seed in range(60):
        try:
            views_of(solve(odd_shot(random.Random(seed))))
            through += 1
        except StrideruleError:
            continue
    assert through >= 30
