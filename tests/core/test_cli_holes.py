"""`striderule holes`, run in this process."""

from __future__ import annotations

import tomllib

import pytest

from striderule.adjust.holes import snap_to_holes
from striderule.model.edits import FootfallEdit
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.toml_rows import Row, with_rows
from striderule_blender import cli

GRID = "\n[grid]                            # my board\npitch_mm = 25\n"
PIN = "\n[[edit.footfall]]                 # beside the lamp\nstep = 3\nat_mm = [290, 20]\n"


def run(capsys, *arguments):
    code = cli.main([str(one) for one in arguments])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def walk(tmp_path):
    """A function that writes the heron's shot over a grid, with other text, and names its file."""

    def written(more=GRID, **values):
        source = starter_paths()["heron"]
        text = source.read_text(encoding="utf-8").replace("puppets/", f"{source.parent.as_posix()}/puppets/")
        (tmp_path / "puppets").mkdir(exist_ok=True)
        puppet = source.parent / "puppets" / "heron.toml"
        (tmp_path / "puppets" / "heron.toml").write_bytes(puppet.read_bytes())
        text = text.replace(f"{source.parent.as_posix()}/", "").replace(
            "steps = 6 ", f"steps = {values.get('steps', 6)} "
        )
        path = tmp_path / "my.toml"
        path.write_text(text + more, encoding="utf-8")
        return path

    return written


def test_every_footfall_is_told_with_its_hole_and_written_as_an_edit(capsys, walk):
    path = walk()
    out = path.with_name("new.toml")
    code, told, _ = run(capsys, "holes", path, "--out", out)
    assert code == 0
    assert "step 1   left  hole 7L1    123.2, 19.0 -> 136.1, 22.3 mm, step -5.0 mm, turned 4 degrees left" in told
    assert told.splitlines()[-1].startswith(f"{out}: 8 footfalls of Heron over holes, steps -5 to +0 mm; ")
    assert load_shot(out) == snap_to_holes(load_shot(path)).shot
    text = out.read_text(encoding="utf-8")
    assert "[[edit.footfall]]                 # left foot, hole 7L1\nstep = 1\n" in text
    # all else is as it was, comments too
    assert text.startswith(path.read_text(encoding="utf-8").rstrip("\n"))
    again = out.with_name("again.toml")
    assert run(capsys, "holes", out, "--out", again)[0] == 0
    assert again.read_bytes() == out.read_bytes()


def test_a_persons_own_rows_stay_where_they_are(capsys, walk):
    path = walk(GRID + PIN)
    out = path.with_name("new.toml")
    code, told, _ = run(capsys, "holes", path, "--out", out, "--uneven")
    assert code == 0
    assert "step 3   left  pinned at 290.0, 20.0 mm" in told
    text = out.read_text(encoding="utf-8")
    assert PIN in text
    assert load_shot(out).edits.footfalls[0] == FootfallEdit(3, at_mm=(290, 20))
    run(capsys, "holes", out, "--out", out, "--replace", "--uneven")
    assert out.read_text(encoding="utf-8") == text


def test_a_walk_that_would_limp_is_not_written_until_a_choice_is_taken(capsys, walk):
    path = walk(steps=40)
    out = path.with_name("new.toml")
    code, told, _ = run(capsys, "holes", path, "--out", out)
    assert code == 1
    assert not out.exists()
    assert "    try: --step 75    every step 75 mm in 6 poses, 6.25 % slower\n" in told
    assert "    try: --step 100 --poses-per-step 8    every step 100 mm in 8 poses, 6.25 % slower\n" in told
    assert "--even-speed    these steps, with poses of their own: steps 7, " in told
    assert "nothing written: Heron, steps would limp, by 30.9 %; choose one of the above" in told
    code, _, _ = run(capsys, "holes", path, "--out", out, "--step", "75")
    assert code == 0
    assert load_shot(out).walk.step_mm == 75
    assert "step_mm = 75                      # contact to contact, ankle to ankle" in out.read_text(encoding="utf-8")
    code, _, _ = run(capsys, "holes", path, "--out", out, "--step", "100", "--poses-per-step", "8", "--replace")
    assert code == 0
    assert (load_shot(out).walk.step_mm, load_shot(out).walk.poses_per_step) == (100, 8)
    code, told, _ = run(capsys, "holes", path, "--out", out, "--even-speed", "--replace")
    assert code == 0
    assert "poses of steps: steps 7, " in told
    assert tomllib.loads(out.read_text(encoding="utf-8"))["step"]["7"]["poses_per_step"] == 7
    assert "# What follows is off" in out.read_text(encoding="utf-8")
    code, _, _ = run(capsys, "holes", path, "--out", out, "--uneven", "--replace")
    assert code == 0
    assert load_shot(out) == snap_to_holes(load_shot(path)).shot


def test_without_a_grid_there_is_nothing_to_do(capsys, walk):
    path = walk("")
    code, told, _ = run(capsys, "holes", path, "--out", path.with_name("new.toml"))
    assert code == 0
    assert told.startswith("nothing to do: Heron has no [grid]. Magnets hold anywhere")
    assert not path.with_name("new.toml").exists()


def test_where_nothing_fits_it_says_which_foot_and_what_can_be_done(capsys, walk):
    path = walk(GRID + "\n[stage]\nacross_mm = [-10, 10]\n")
    code, told, _ = run(capsys, "holes", path, "--out", path.with_name("new.toml"))
    assert code == 1
    assert "No hole is left for the left foot of step -1: the nearest ones are missing, over the stage's edge" in told
    assert "Nothing near it fits either" in told
    assert not path.with_name("new.toml").exists()


def test_a_bad_option_and_a_file_in_the_way_are_refused(capsys, walk):
    path = walk()
    assert run(capsys, "holes", path, "--step", "0")[0] == 2
    assert run(capsys, "holes", path, "--uneven", "--even-speed")[0] == 2
    code, _, err = run(capsys, "holes", path, "--out", path)
    assert code == 3
    assert "is there already" in err
    code, _, err = run(capsys, "holes", path, "--poses-per-step", "1")
    assert code == 2
    assert "poses_per_step" in err


def test_rows_of_a_list_are_written_anew_and_a_persons_stay():
    text = "a = 1\n\n[[edit.footfall]] # mine\nstep = 2\nlater_poses = 1\n# end\n\n[ edit ]\nhips_up_mm = [1]\n"
    mine, ours = FootfallEdit(2, later_poses=1), FootfallEdit(3, at_mm=(1.0, 2.5), hole_turn_deg=0.0)
    new = with_rows(text, "edit.footfall", [Row(mine, "", False), Row(ours, "left", True)])
    assert new.startswith(text)
    assert new.endswith("\n\n[[edit.footfall]]                 # left\nstep = 3\nat_mm = [1, 2.5]\nhole_turn_deg = 0\n")
    assert with_rows(new, "edit.footfall", [Row(mine, "", False), Row(ours, "left", True)]) == new
    assert with_rows(new, "edit.footfall", [Row(mine, "", False)]) == text
    assert with_rows(text, "edit.footfall", []) == "a = 1\n# end\n\n[ edit ]\nhips_up_mm = [1]\n"
