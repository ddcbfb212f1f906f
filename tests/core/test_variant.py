"""Variants: other versions of a shot's walk, a few lines each."""

from __future__ import annotations

import pytest

from striderule.errors import FileError, ModelError
from striderule.model.identity import shot_identity
from striderule.model.seeds import starter_paths
from striderule.model.shot import Shot
from striderule.model.shotfile import dump_shot, parse_shot
from striderule.model.variant import Variant
from striderule.solve import solve

VARIED = """
[variant.burdened]
title = "Carrying"
frames_per_pose = 2
open = ["lift_top"]

[variant.burdened.walk]
step_mm = 48
poses_per_step = 9
passing_pose = 6

[variant.burdened.walk.hips]
contact_mm = 116

[variant.brisk]
fps = 24
[variant.brisk.walk]
step_mm = 66
"""


def parsed(more: str = VARIED) -> Shot:
    """The lamplighter's shot with more lines at its end."""
    path = starter_paths()["lamplighter"]
    return parse_shot(path.read_text(encoding="utf-8") + more, "mine.toml", path.parent)


def test_a_variant_is_the_main_walk_with_its_own_few_values_put_over_it() -> None:
    main, burdened = parsed(""), parsed().with_variant("burdened")
    assert (burdened.walk.step_mm, burdened.walk.poses_per_step, burdened.walk.passing_pose) == (48, 9, 6)
    assert (burdened.walk.hips.contact_mm, burdened.walk.hips.up_mm) == (116, main.walk.hips.up_mm)
    assert (burdened.walk.steps, burdened.walk.lift_mm) == (main.walk.steps, main.walk.lift_mm)
    assert (burdened.frames_per_pose, burdened.fps, burdened.name) == (2, main.fps, "Lamplighter, Carrying")
    assert (main.walk.lift_top, burdened.walk.lift_top) == (0.22, None)
    brisk = parsed().with_variant("brisk")
    assert (brisk.fps, brisk.frames_per_pose, brisk.name) == ("24", 1, "Lamplighter, brisk")
    assert solve(brisk).reference_mm[-1, 0] > solve(burdened).reference_mm[-1, 0] + 50


def test_variants_do_not_change_the_walk_that_they_stand_beside() -> None:
    assert shot_identity(parsed()) == shot_identity(parsed(""))
    assert parsed().with_variant("main") == parsed("")
    assert shot_identity(parsed().with_variant("brisk")) != shot_identity(parsed(""))


def test_a_shot_with_variants_written_and_read_back_is_the_same() -> None:
    shot = parsed()
    text = dump_shot(shot)
    assert parse_shot(text, "x") == shot
    assert dump_shot(parse_shot(text, "x")) == text
    assert '[variant.burdened]\ntitle = "Carrying"                # What the variant' in text


def test_the_variant_between_two_walks_turns_one_into_the_other() -> None:
    shot = parsed()
    for name in ("burdened", "brisk"):
        walk = shot.with_variant(name).walk
        assert Variant.between("x", shot.walk, walk).over(shot.walk) == walk
    assert Variant.between("x", shot.walk, shot.walk) == Variant("x")


LIMPING = """
[step.3]
step_mm = 50
[variant.limping.step.left]
poses_per_step = 4
passing_pose = 2
[variant.limping.step.left.hips]
down_mm = 116.5
[variant.limping.step.3]
lift_mm = 15
"""


def test_a_variant_may_differ_in_some_of_its_steps() -> None:
    shot = parsed(LIMPING)
    told = {one.which: dict(one.values) for one in shot.with_variant("limping").step_changes}
    assert told == {
        "3": {"step_mm": 50, "lift_mm": 15},
        "left": {"poses_per_step": 4, "passing_pose": 2, "hips.down_mm": 116.5},
    }
    assert {one.which: dict(one.values) for one in shot.step_changes} == {"3": {"step_mm": 50}}
    assert parse_shot(dump_shot(shot), "again.toml") == shot
    assert solve(shot.with_variant("limping")).poses < solve(shot).poses


def test_a_variant_s_step_is_refused_at_its_line() -> None:
    with pytest.raises(FileError, match=r"line \d+: variant.limping.step.left.poses_per_step: expected .* from 2"):
        parsed(LIMPING.replace("poses_per_step = 4", "poses_per_step = 1"))
    with pytest.raises(FileError, match=r"variant.limping.step.tail: expected a step's number, .* given"):
        parsed(LIMPING.replace("limping.step.left", "limping.step.tail"))
    with pytest.raises(FileError, match=r"variant.limping.step.left.strength: .*"):
        parsed(LIMPING.replace("passing_pose = 2", "strength = 2"))


def test_an_unknown_variant_is_refused_with_those_that_there_are() -> None:
    with pytest.raises(ModelError, match="expected one of main, burdened, brisk, given 'slow'"):
        parsed().with_variant("slow")
    with pytest.raises(ModelError, match=r"below \[variant.slow.walk\]"):
        parsed("").with_variant("slow")


def test_two_variants_of_one_name_are_refused() -> None:
    with pytest.raises(ModelError, match="variants of different names"):
        Shot("x", puppet=parsed().puppet, variants=(Variant("a"), Variant("a")))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("step_mm = 48", "step_mm = -48 #!", "variant.burdened.walk.step_mm: expected a number in mm from 0 to 5000"),
        ("step_mm = 48", "stp_mm = 48 #!", 'walk.stp_mm: .*Did you mean "step_mm"'),
        ("passing_pose = 6", "passing_pose = 9 #!", "burdened.walk.passing_pose: expected a pose from 1 to 8"),
        ("contact_mm = 116", "contact = 116 #!", 'walk.hips.contact: .*Write "contact_mm"'),
        ("contact_mm = 116", "contact_mm = 0 #!", "variant.burdened.walk.hips.contact_mm: .*given 0"),
        ("step_mm = 66", 'first_foot = "tail" #!', "variant.brisk.walk.first_foot: expected a leg of the puppet"),
        ("fps = 24", "fps = 23.976 #!", "variant.brisk.fps: .*24000/1001"),
        ("fps = 24", "fps = 500 #!", "variant.brisk.fps: expected frames per second from 1 to 240"),
        ("fps = 24", "step_mm = 3 #!", r"variant.brisk.step_mm: .*Write it in \[variant.brisk.walk\]"),
        ("fps = 24", "titel = 3 #!", 'Did you mean "title"'),
        ("frames_per_pose = 2", "frames_per_pose = 0 #!", "variant.burdened.frames_per_pose: .*from 1 to 100, given 0"),
        ("[variant.brisk]", "[variant.main] #!", "variant.main: expected another name than main"),
        ("[variant.brisk]", "[variant.Brisk] #!", "variant.Brisk: expected a name of small letters"),
        ("[variant.brisk]", "[[variant.brisk]] #!", "variant.brisk: expected a table"),
        ('open = ["lift_top"]', 'open = ["lift"] #!', 'variant.burdened.open: .*Did you mean "lift_'),
        ('open = ["lift_top"]', 'open = ["poses_per_step"] #!', "may be left open"),
        ('open = ["lift_top"]', 'open = ["step_mm"] #!', "values that the variant does not set"),
        ('open = ["lift_top"]', 'open = "lift_top" #!', "expected a list of values"),
    ],
)
def test_a_bad_variant_is_one_clear_refusal_with_its_line(old: str, new: str, words: str) -> None:
    text = VARIED.replace(old, new)
    assert text != VARIED
    whole = starter_paths()["lamplighter"].read_text(encoding="utf-8") + text
    line = next(k for k, one in enumerate(whole.split("\n"), 1) if "#!" in one)
    with pytest.raises(FileError, match=words) as caught:
        parse_shot(whole, "mine.toml", starter_paths()["lamplighter"].parent)
    assert caught.value.line == line


def test_a_value_of_the_walk_that_no_longer_goes_with_the_variant_says_where_it_comes_from() -> None:
    text = VARIED.replace("step_mm = 66", "poses_per_step = 3")
    with pytest.raises(FileError, match=r"variant.brisk.walk.passing_pose: expected a pose from 1 to 2 .*given 3. "
                                        r"It comes from \[walk\]: give the variant a value of its own"):  # fmt: skip
        parsed(text)
