"""Small shots and plans for tests, as fixtures that give functions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.model.puppet import Leg, Limits, Puppet
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot
from striderule.model.walk import Walk
from striderule.solve import solve
from striderule.solve.plan import Plan


def _leg(name: str, across: float, limits: Limits) -> Leg:
    return Leg(
        name=name,
        hip_mm=(0.0, across, 0.0),
        thigh_mm=56.4,
        shank_mm=56.6,
        ankle_up_mm=9.0,
        heel_behind_mm=9.0,
        ball_ahead_mm=16.0,
        toe_mm=10.0,
        sole_width_mm=12.7,
        limits=limits,
    )


def _shot(
    names: tuple[str, ...] = ("left", "right"), limits: Limits | None = None, walk: Walk | None = None, **fields
) -> Shot:
    across = np.linspace(11.5, -11.5, len(names))
    legs = tuple(_leg(name, float(y), limits or Limits()) for name, y in zip(names, across, strict=True))
    walk = walk or Walk(steps=2, poses_per_step=6, step_mm=60.0)
    return Shot("made", puppet=Puppet("made", legs), walk=walk, **fields)


def _plan(shot: Shot | None = None, **arrays) -> Plan:
    return replace(solve(shot or _shot()), **arrays)


@pytest.fixture
def made_shot():
    """A function that makes a shot of a small person: made_shot(names=, limits=, walk=, **fields of Shot)."""
    return _shot


@pytest.fixture
def made_plan():
    """A function that solves such a shot and puts other arrays in place of the plan's: made_plan(shot=None,
    **arrays)."""
    return _plan


@pytest.fixture(scope="session")
def starters():
    """The starter shots by name."""
    return {name: load_shot(path) for name, path in starter_paths().items()}


@pytest.fixture
def starter_file():
    """The lamplighter's file."""
    return starter_paths()["lamplighter"]
