"""When two shots are the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from striderule.model.shotfile import (
    parse_shot,
    puppet_identity,
    shot_identity,
)

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")


def test_identity_is_the_same_for_the_same_values_however_they_are_written() -> None:
    shot = parse_shot(SHOT, "x")
    other = replace(
        shot,
        fps="24/2",
        stage=replace(shot.stage, start_mm=(10, -5)),
        walk=replace(shot.walk, step_mm=80, hips=replace(shot.walk.hips, contact_mm=199)),
    )
    assert shot_identity(shot) == shot_identity(other)
    assert len(shot_identity(shot)) == 64
    left = shot.puppet.legs[0]
    minus = replace(shot.puppet, legs=(replace(left, hip_mm=(-0.0, 24.0, -0.0)), shot.puppet.legs[1]))
    assert puppet_identity(minus) == puppet_identity(shot.puppet)


def test_identity_changes_with_every_value_that_changes() -> None:
    shot = parse_shot(SHOT, "x")
    left = shot.puppet.legs[0]
    others = [
        replace(shot, name="other"),
        replace(shot, fps="25"),
        replace(shot, frames_per_pose=1),
        replace(shot, walk=replace(shot.walk, step_mm=80.00000000000001)),
        replace(shot, walk=replace(shot.walk, hips=replace(shot.walk.hips, contact_mm=None))),
        replace(
            shot,
            puppet=replace(
                shot.puppet, legs=(replace(left, limits=replace(left.limits, toe_deg=(0.0, 59.0))), shot.puppet.legs[1])
            ),
        ),
        replace(shot, cameras=())
        if "door" not in shot.overlay.views
        else replace(shot, overlay=replace(shot.overlay, views=("side-on",))),
    ]
    assert len({shot_identity(one) for one in [shot, *others]}) == len(others) + 1


def test_identity_is_pinned() -> None:
    """Pictures on disk are recognised by it: a change here makes every export start anew."""
    assert shot_identity(parse_shot(SHOT, "x")) == IDENTITY


IDENTITY = "bd9a071e1e236933dd921bbcf353f15f7aeb577590cf8ae729a5cacc672783b7"
