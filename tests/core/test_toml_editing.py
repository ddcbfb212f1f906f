"""Values written into a person's own shot text."""

import tomllib

import pytest

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import typed_walk_keys
from striderule.model.toml_editing import with_puppet_path, with_values

VALUES = {"walk.step_mm": 48.5, "walk.landing": "heavy", "walk.hips.contact_mm": 110.0, "walk.hips.up_mm": 112.0}


@pytest.mark.parametrize(
    "text",
    [
        starter_paths()["heron"].read_text(encoding="utf-8"),
        'kind = "shot"\nname = "a"\n',
        'kind = "shot"\n[walk]\n[stage]\n# nothing\n',
        'kind = "shot"\n[walk.hips]\nup_mm = 4\n[walk]\nsteps = 4 # four\n\n# about the stage\n[stage]\n',
        'kind = "shot"\n[ walk ]\n  landing="soft"  # softly\n  [ walk . hips ]\n  up_mm=4',
    ],
)
def test_values_are_read_back_and_nothing_else_changes(text):
    before, after = tomllib.loads(text), tomllib.loads(with_values(text, VALUES))
    walk = after.pop("walk")
    old = before.pop("walk", {})
    assert after == before
    assert walk.pop("hips") == {**old.pop("hips", {}), "contact_mm": 110, "up_mm": 112}
    assert walk == {**old, "step_mm": 48.5, "landing": "heavy"}


def test_a_changed_value_keeps_its_line_and_comment_in_their_places():
    text = "[walk]\nsteps = 4\nstep_mm = 80                      # from contact to contact\n# end\n\n[stage]\n"
    assert with_values(text, {"walk.step_mm": 48.5, "walk.sway": 0.5}, {"walk.sway": "Sway (proud)"}) == (
        "[walk]\nsteps = 4\nstep_mm = 48.5                    # from contact to contact\n"
        "sway = 0.5                        # Sway (proud)\n# end\n\n[stage]\n"
    )


def test_a_list_of_numbers_is_changed_in_its_place_and_made_in_a_table_of_its_own():
    text = "[stage]\nstart_mm = [0, 12.5] # from the datum\n"
    assert with_values(text, {"stage.start_mm": (3.0, -4.5)}) == "[stage]\nstart_mm = [3, -4.5] # from the datum\n"
    made = with_values("[walk]\nsteps = 4\n", {"walk.sway": 0.5, "stage.start_mm": (3.0, 0.0)})
    assert made == "[walk]\nsteps = 4\nsway = 0.5\n\n[stage]\nstart_mm = [3, 0]\n"


def test_a_value_of_none_takes_its_line_away():
    text = "[walk]\nsteps = 4\nsway = 0.5 # much\n\n[walk.hips]\nup_mm = 4\n"
    assert with_values(text, {"walk.sway": None, "walk.hips.up_mm": None, "walk.lift_mm": None}) == (
        "[walk]\nsteps = 4\n\n[walk.hips]\n"
    )


def test_the_puppet_s_path_is_changed_and_its_comment_stays():
    text = 'name = "x"\npuppet = "puppets/a.toml"   # beside\n[walk]\n'
    assert with_puppet_path(text, "../b.toml") == 'name = "x"\npuppet = "../b.toml"   # beside\n[walk]\n'


def test_typed_keys_are_those_that_the_text_holds_also_at_their_defaults():
    text = 'kind = "shot"\nformat = 1\n[walk]\nposes_per_step = 6\nlanding = "soft"\nhips.up_mm = 100\n'
    assert typed_walk_keys(text, "x.toml") == {"poses_per_step", "landing", "hips.up_mm"}
    assert typed_walk_keys('kind = "shot"\nformat = 1\n', "x.toml") == frozenset()
