"""Poses files, and `striderule read`, run in this process."""

import pytest

from striderule.errors import FileError
from striderule.model.posesfile import load_poses, parse_poses
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import solve
from striderule_blender import cli

SHOT = starter_paths()["lamplighter"]
POSES = SHOT.parent / "poses" / "lamplighter.toml"
PUPPET = load_shot(SHOT).puppet
HEAD = 'kind = "poses"\nformat = 1\n'


def run(capsys, *arguments):
    """(exit code, standard output, standard error) of one command."""
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_the_starters_poses_file_holds_all_three_poses():
    poses = load_poses(POSES, PUPPET)
    assert poses.contact is not None
    assert poses.passing is not None
    assert poses.first is not None
    assert poses.contact.foot("left").at_mm == (49.0, 8.0)
    assert poses.contact.foot("right").tilt_deg == -10.0
    assert (poses.passing.passing_pose, poses.passing.foot("right").ankle_up_mm) == (3, 20.0)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        (HEAD, 0, "at least one of [contact], [passing] and [first]"),
        (HEAD + "[contact]\nhip = 4\n", 4, 'Write "hip_mm".'),
        (HEAD + "[contact]\nahead = 'middle'\n", 4, "a leg of the puppet: left, right"),
        (HEAD + "[contact.leg.middle]\n", 3, "a leg of the puppet: left, right"),
        (HEAD + "[contact.leg.left]\nheel_mm = [1, 2]\ntoe_mm = [1, 2]\n", 5, "a foot's place by one point of it"),
        (HEAD + '[contact.leg.left]\nstate = "heel"\nfoot_pitch_deg = -3\n', 5, "above 0 (toe up)"),
        (HEAD + '[contact.leg.left]\nstate = "planted"\nfoot_pitch_deg = -3\n', 5, "0 (it lies flat)"),
        (HEAD + "[passing]\npassing_pose = 0\n", 4, "from 1 to 239"),
        (HEAD + "[first]\nfree = 'left'\n", 4, "a known key"),
        ('kind = "shot"\nformat = 1\n', 1, '"poses"'),
    ],
)
def test_what_is_wrong_with_a_poses_file_is_told_with_its_line(text, line, said):
    with pytest.raises(FileError) as refused:
        parse_poses(text, "my.toml", PUPPET)
    assert refused.value.line in (line, line or 1)
    assert said in str(refused.value)


def test_read_keeps_what_is_typed_and_writes_nothing_without_out(capsys):
    code, told, _ = run(capsys, "read", POSES, "--shot", SHOT)
    assert code == 0
    assert "step_mm              60 stays as typed (the poses have 58; --reopen step_mm)\n" in told
    assert "contact  right toe along      measured 26.00, solved 24.00 mm, -2.00 mm off\n" in told
    assert "nothing written" in told


def test_read_writes_what_the_poses_show_into_the_persons_own_text(capsys, tmp_path):
    out = tmp_path / "new.toml"
    code, told, _ = run(capsys, "read", POSES, "--shot", SHOT, "--reopen", "every", "--out", out)
    assert code == 0
    assert "heel_strike_deg      11 -> 12\n" in told
    assert "stage.start_mm       [0, 0] -> [226.68, 30]\n" in told
    text = out.read_text(encoding="utf-8")
    assert "heel_strike_deg = 12              # toe raised when the heel meets the floor\n" in text
    shot = load_shot(out)
    assert (shot.walk.step_mm, shot.walk.width_mm, shot.walk.first_foot) == (58.0, 16.0, "right")
    assert shot.stage.start_mm == (226.68, 30.0)


def test_read_twice_changes_nothing_more(capsys, tmp_path):
    one, two = tmp_path / "one.toml", tmp_path / "two.toml"
    run(capsys, "read", POSES, "--shot", SHOT, "--reopen", "every", "--out", one)
    run(capsys, "read", POSES, "--shot", one, "--reopen", "every", "--out", two)
    assert load_shot(one).walk == load_shot(two).walk
    assert one.read_bytes() == two.read_bytes()


def test_read_refuses_an_unknown_name_to_reopen(capsys):
    code, _, error = run(capsys, "read", POSES, "--shot", SHOT, "--reopen", "speed")
    assert code == 2
    assert "stage.start_mm" in error


def test_a_hook_up_writes_edits_into_the_persons_own_text_and_says_so(capsys, tmp_path):
    """Feet of pose 1 that are 6 mm nearer to each other than the walk's own step."""
    measured = tmp_path / "poses.toml"
    text = POSES.read_text(encoding="utf-8")
    measured.write_text(text.replace("toe_mm = [226, 22]", "toe_mm = [232, 22]"), encoding="utf-8")
    out = tmp_path / "hooked.toml"
    code, told, _ = run(capsys, "read", measured, "--shot", SHOT, "--reopen", "every", "--out", out)
    assert "edit: Step -1: pinned at 206, 22 mm" in told
    assert "and 1 edit written" in told
    new = load_shot(out)
    plan = solve(new)
    rear = plan.legs.index("right")
    assert plan.toe_mm[0, rear, :2] == pytest.approx((232, 22), abs=0.02)
    written = out.read_text(encoding="utf-8")
    assert written.count("[[edit.footfall]]") == 1
    assert "# The lamplighter's plain walk:" in written, "a person's own comments stay"
    assert code in (0, 1)
