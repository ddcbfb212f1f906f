"""Variants made, edited and taken away."""

from __future__ import annotations

from dataclasses import replace

import pytest

from striderule.adjust.variants import duplicated, with_edited, without
from striderule.errors import ModelError
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import dump_shot, load_shot, parse_shot
from striderule.model.variant import Variant


@pytest.fixture
def shot():
    """The heron with one variant, which says a length that is the main walk's own as well."""
    heron = load_shot(starter_paths()["heron"])
    return replace(
        heron, variants=(Variant.of("slow", {"step_mm": 80.0, "poses_per_step": 9}, title="Slow", fps="12"),)
    )


def test_a_duplicate_is_a_last_variant_of_a_name_that_was_free(shot):
    one, name = duplicated(shot)
    assert name == "walk-2"
    assert one.with_variant(name).walk == shot.walk
    two, name = duplicated(one, "slow")
    assert name == "walk-3"
    assert [variant.name for variant in two.variants] == ["slow", "walk-2", "walk-3"]
    assert two.with_variant(name).walk == shot.with_variant("slow").walk
    assert two.variants[2].title == ""
    assert duplicated(without(two, "walk-2"))[1] == "walk-2"
    assert parse_shot(dump_shot(two), "x") == two


def test_an_edited_variant_holds_what_differs_and_what_it_said_before(shot):
    walk = replace(shot.with_variant("slow").walk, lift_mm=30.0, lean_deg=None)
    edited = replace(shot.with_variant("slow"), walk=walk, frames_per_pose=2)
    new = with_edited(shot, "slow", edited)
    (variant,) = new.variants
    assert dict(variant.values) == {"step_mm": 80.0, "poses_per_step": 9, "lift_mm": 30.0}
    assert (variant.opened, variant.frames_per_pose, variant.fps, variant.title) == (("lean_deg",), 2, "12", "Slow")
    assert new.with_variant("slow").walk == walk
    assert new.walk == shot.walk
    assert parse_shot(dump_shot(new), "x") == new


def test_an_edit_back_to_the_main_walk_leaves_the_variant_bare(shot):
    bare, name = duplicated(shot)
    longer = with_edited(bare, name, replace(shot, walk=replace(shot.walk, step_mm=70.0), fps="24"), "Long")
    assert longer.variants[1] == Variant.of(name, {"step_mm": 70.0}, title="Long", fps="24")
    assert with_edited(longer, name, shot, "").variants[1] == Variant(name)


def test_an_unknown_variant_is_refused(shot):
    for change in (lambda: without(shot, "x"), lambda: duplicated(shot, "x"), lambda: with_edited(shot, "x", shot)):
        with pytest.raises(ModelError, match="variant: expected one of slow, given 'x'"):
            change()
