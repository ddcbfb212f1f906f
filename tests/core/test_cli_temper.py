"""`striderule temper` and `striderule size`, run in this process."""

import pytest

from striderule.draw.contact_sheet import CELL, STRIP_HEIGHT, TITLE_HEIGHT, WIDTH
from striderule.draw.png import decode
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule_blender import cli

BARE = """kind = "shot"
format = 1
name = "Mine"
puppet = "puppets/lamplighter.toml"   # as measured

[walk]
steps = 3                         # to the lamp
lean_deg = 1
"""


@pytest.fixture
def bare(tmp_path):
    """A shot of three lines of walk beside the lamplighter's puppet file."""
    source = starter_paths()["lamplighter"].parent / "puppets" / "lamplighter.toml"
    (tmp_path / "puppets").mkdir()
    (tmp_path / "puppets" / "lamplighter.toml").write_bytes(source.read_bytes())
    (tmp_path / "bare.toml").write_text(BARE, encoding="utf-8")
    return tmp_path / "bare.toml"


def run(capsys, *arguments):
    """(exit code, standard output, standard error) of one command."""
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_temper_prints_old_and_new_and_writes_the_shot_with_its_comments(capsys, bare):
    out = bare.with_name("new.toml")
    code, told, _ = run(capsys, "temper", bare, "--as", "burdened", "--out", out)
    assert code == 0
    assert "poses_per_step       6 -> 12\n" in told
    assert "lean_deg             1 stays as typed (burdened has 10)\n" in told
    text = out.read_text(encoding="utf-8")
    assert text.startswith(BARE)
    assert "poses_per_step = 12               # Poses per step (burdened)\n" in text
    walk = load_shot(out).walk
    assert (walk.steps, walk.lean_deg, walk.poses_per_step, walk.landing) == (3, 1.0, 12, "heavy")


def test_temper_in_another_folder_names_the_puppet_from_there(capsys, bare, tmp_path):
    out = tmp_path / "far" / "away" / "new.toml"
    code, _, _ = run(capsys, "temper", bare, "--as", "proud", "--out", out)
    assert code == 0
    assert 'puppet = "../../puppets/lamplighter.toml"   # as measured' in out.read_text(encoding="utf-8")
    assert load_shot(out).puppet == load_shot(bare).puppet


@pytest.mark.parametrize("walk", ["walk = {steps = 3}", "walk.steps = 3\nwalk.hips.up_mm = 117"])
def test_temper_writes_a_shot_of_an_unusual_layout_anew(capsys, bare, walk):
    bare.write_text(BARE[: BARE.index("[walk]")] + walk + "\n", encoding="utf-8")
    out = bare.with_name("new.toml")
    assert run(capsys, "temper", bare, "--as", "hurried", "--out", out)[0] == 0
    new = load_shot(out)
    assert (new.walk.steps, new.walk.poses_per_step, new.puppet) == (3, 4, load_shot(bare).puppet)


def test_temper_overwrites_no_file_that_is_different_unless_asked_to(capsys, bare):
    code, _, err = run(capsys, "temper", bare, "--as", "even", "--out", bare)
    assert code == 3
    assert "is there already" in err
    assert bare.read_text(encoding="utf-8") == BARE
    assert run(capsys, "temper", bare, "--as", "even", "--out", bare, "--replace")[0] == 0
    assert load_shot(bare).walk.step_mm == 61.0
    again = run(capsys, "temper", bare, "--as", "proud", "--out", bare.with_name("b.toml"))[1]
    assert "step_mm              61 stays as typed (proud has 62.2)" in again


def test_temper_may_write_typed_values_where_they_are_reopened(capsys, bare):
    out = bare.with_name("new.toml")
    told = run(capsys, "temper", bare, "--as", "very-old", "--reopen", "lean_deg", "--out", out)[1]
    assert "lean_deg             1 -> 18\n" in told
    assert load_shot(out).walk.lean_deg == 18
    code, _, err = run(capsys, "temper", bare, "--as", "even", "--reopen", "steps")
    assert code == 2
    assert err.startswith("striderule: --reopen: expected values of [walk] out of ")


def test_temper_refuses_a_walk_that_a_variant_of_it_does_not_go_with(capsys, bare):
    bare.write_text(BARE + "[variant.late.walk]\npassing_pose = 5\n", encoding="utf-8")
    out = bare.with_name("new.toml")
    code, _, err = run(capsys, "temper", bare, "--as", "hurried", "--out", out)
    assert code == 2
    assert "variant.late.walk.passing_pose: expected a pose from 1 to 3" in err
    assert not out.exists()
    assert run(capsys, "temper", bare, "--as", "proud", "--out", out)[0] == 0
    assert load_shot(out).variants == load_shot(bare).variants


def test_temper_without_out_writes_nothing(capsys, bare, tmp_path):
    before = sorted(tmp_path.rglob("*"))
    code, told, _ = run(capsys, "temper", bare, "--as", "proud", "--quiet")
    assert code == 0
    assert told.startswith("nothing written (--out NEW.toml does): proud, ")
    assert sorted(tmp_path.rglob("*")) == before


def test_temper_ends_with_1_where_the_walk_is_impossible_and_writes_it(capsys, bare):
    bare.write_text(BARE + "step_mm = 110\n", encoding="utf-8")
    out = bare.with_name("new.toml")
    code, told, _ = run(capsys, "temper", bare, "--as", "proud", "--out", out)
    assert code == 1
    assert "impossible: " in told
    assert load_shot(out).walk.step_mm == 110


def test_a_limp_writes_the_steps_of_the_sound_leg_as_a_table_of_their_own(capsys, bare):
    out = bare.with_name("new.toml")
    code, told, _ = run(capsys, "temper", bare, "--as", "limp", "--leg", "left", "--out", out)
    assert code == 0
    assert "step.right.poses_per_step    4\n" in told
    text = out.read_text(encoding="utf-8")
    assert text.startswith(BARE)
    assert "[step.right]\nstep_mm = " in text
    assert "poses_per_step = 4                # Poses per step (limp)\n" in text
    assert "[step.right.hips]" in text
    assert dict(load_shot(out).step_changes[0].values)["poses_per_step"] == 4


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (("--as", "odd"), "temperament: expected one of even, "),
        (("--as", "limp", "--leg", "middle"), "--leg: expected a leg that leads: left, right, given 'middle'"),
        (("--as", "proud", "--leg", "left"), "--leg: expected a temperament that spares a leg (limp), given proud"),
        ((), "temper: expected SHOT --as NAME, given no --as."),
    ],
)
def test_temper_refuses_with_what_was_expected(capsys, bare, arguments, expected):
    code, out, err = run(capsys, "temper", bare, *arguments)
    assert (code, out) == (2, "")
    assert expected in err


def test_the_list_names_each_temperament_and_pictures_show_each(capsys, bare, tmp_path):
    code, told, _ = run(capsys, "temper", "--list")
    names = [line.split()[0] for line in told.splitlines()]
    assert (code, names) == (0, ["even", "burdened", "stealthy", "proud", "hurried", "very-old", "limp"])
    code, _, _ = run(capsys, "temper", bare, "--pictures", tmp_path / "pictures", "--quiet")
    assert code == 0
    sheets = {path.stem: decode(path.read_bytes()) for path in (tmp_path / "pictures").iterdir()}
    assert sorted(sheets) == sorted(names)
    cells = {name: sheet[TITLE_HEIGHT : TITLE_HEIGHT + CELL[1]] for name, sheet in sheets.items()}
    for name, sheet in sheets.items():
        rows = 2 if name == "limp" else 1  # its steps differ
        assert sheet.shape == (TITLE_HEIGHT + rows * CELL[1] + STRIP_HEIGHT, WIDTH, 3)
        for k in range(WIDTH // CELL[0]):  # a puppet in every cell, clear of its edges
            cell = cells[name][: int(0.9 * CELL[1]), k * CELL[0] : (k + 1) * CELL[0]]
            inked = (cell != cell[0, 0]).any(axis=-1)
            assert inked.sum() > 2000
            assert not inked[: int(0.5 * CELL[1]), [0, -1]].any()
    assert not any((cells[a] == cells[b]).all() for a in names for b in names if a != b)


def test_size_prints_suggestion_froude_number_and_warning(capsys):
    code, told, _ = run(capsys, "size", starter_paths()["lamplighter"], "--hip", "9m")
    assert code == 0
    assert "suggested: 19 poses a step, 1.58 s, 2.87 m/s, Froude number 0.09, from 19.0 by the pendulum rule" in told
    assert "warning: 6 poses a step would be a run" in told
    assert told.splitlines()[-1] == (
        "Lamplighter: 19 poses a step suggested at 12 fps on ones, 6 planned, which would be a run"
    )


@pytest.mark.parametrize("hip", ["900mm", "90 cm", ".9m", "0.9 m"])
def test_size_reads_heights_in_mm_cm_and_m(capsys, hip):
    told = run(capsys, "size", starter_paths()["lamplighter"], "--hip", hip)[1]
    assert told.startswith("hips at 0.9 m, ")


@pytest.mark.parametrize("hip", ["1.2", "-1m", "0m", "2km", "101m", "m", "1e3mm", "nan m"])
def test_size_refuses_a_height_without_unit_or_out_of_range(capsys, hip):
    code, out, err = run(capsys, "size", starter_paths()["lamplighter"], f"--hip={hip}")
    assert (code, out) == (2, "")
    assert err.startswith("striderule: --hip: expected a height with its unit from 1mm to 100m, such as 1.2m, given ")
