"""`striderule retime`, run in this process."""

from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule_blender import cli

BURDENED = starter_paths()["heron-burdened"]


def run(capsys, *arguments):
    """(exit code, standard output, standard error) of one command."""
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_retime_to_a_beat_prints_old_and_new_and_what_the_rounding_costs(capsys):
    code, told, _ = run(capsys, "retime", BURDENED, "--bpm", "100")
    assert code == 0
    assert "poses_per_step       12 -> 7\n" in told
    assert "passing_pose         9 -> 5 (exactly 5.25)\n" in told
    assert "chosen: 7 poses a step take 0.583 s, 16.7 ms (2.8 %) shorter than 0.600 s; over 4 steps 67 ms\n" in told
    assert "next:   8 poses a step take 0.667 s, 66.7 ms (11.1 %) longer than 0.600 s; over 4 steps 267 ms\n" in told
    assert "nothing written" in told


def test_retime_writes_the_persons_own_text_with_the_new_numbers(capsys, tmp_path):
    out = tmp_path / "slow.toml"
    code, _, _ = run(capsys, "retime", BURDENED, "--poses-per-step", "18", "--out", out)
    assert code == 0
    before, after = BURDENED.read_text(encoding="utf-8").split("\n"), out.read_text(encoding="utf-8").split("\n")
    changed = [new for old, new in zip(before, after, strict=True) if old != new]
    assert [line.split("#")[0].strip().split(" = ")[0] for line in changed] == [
        "puppet", "poses_per_step", "passing_pose", "lift_off_poses", "toe_roll_poses"
    ]  # fmt: skip
    walk = load_shot(out).walk
    assert (walk.poses_per_step, walk.passing_pose, walk.lift_off_poses, walk.toe_roll_poses) == (18, 14, 8, 14)


def test_retime_asks_for_exactly_one_pace(capsys):
    assert run(capsys, "retime", BURDENED)[0] == 2
    assert run(capsys, "retime", BURDENED, "--bpm", "100", "--poses-per-step", "6")[0] == 2
    code, _, error = run(capsys, "retime", BURDENED, "--seconds-per-step", "0")
    assert code == 2
    assert "expected a number above 0, given '0'" in error


def test_retime_does_not_overwrite_another_file(capsys, tmp_path):
    out = tmp_path / "mine.toml"
    out.write_text("mine", encoding="utf-8")
    code, _, error = run(capsys, "retime", BURDENED, "--poses-per-step", "18", "--out", out)
    assert code == 3
    assert "--replace" in error
    assert out.read_text(encoding="utf-8") == "mine"
