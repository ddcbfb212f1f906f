"""`striderule compare` and --variant, run in this process without Blender."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from striderule.draw.png import decode
from striderule.model.seeds import starter_paths
from striderule_blender import cli
from striderule_blender.cli_starters import copies_of

ADDON = str(Path(cli.__file__).parents[1])
VARIANTS = """
[variant.slow]
title = "Slower"
[variant.slow.walk]
poses_per_step = 9

[variant.long.walk]
step_mm = 110
"""


@pytest.fixture
def shots(tmp_path):
    """A folder with the starters; lamplighter.toml has two variants, "long" an impossible one."""
    folder = tmp_path / "shots"
    for target, data in copies_of(list(starter_paths().values()), folder).items():
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    path = folder / "lamplighter.toml"
    path.write_text(path.read_text(encoding="utf-8") + VARIANTS, encoding="utf-8")
    return folder


def run(capsys, *arguments):
    """(exit code, standard output, standard error) of one command."""
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_compare_of_one_file_puts_its_variants_beside_its_main_walk(capsys, shots, tmp_path):
    out = tmp_path / "out"
    code, told, _ = run(capsys, "compare", shots / "lamplighter.toml", "--out", out, "--no-preview")
    assert code == 0, "an impossible variant is a result of a comparison, not its end"
    assert sorted(path.name for path in out.iterdir()) == ["compare.csv", "compare.png", "compare.svg"]
    assert (out / "compare.csv").read_text(encoding="utf-8").startswith("what,unit,main,slow,long\n")
    assert "slow: Slower" in told
    assert told.splitlines()[-1] == f"{out}: 3 walks compared, 3 files: compare.csv, compare.svg, compare.png"
    picture = decode((out / "compare.png").read_bytes())
    assert picture.shape[1] == 1600
    assert len({tuple(pixel) for row in picture[::7, ::7] for pixel in row.tolist()}) > 3
    assert "<title>slow: Slower</title>" in (out / "compare.svg").read_text(encoding="utf-8")


def test_compare_of_several_files_takes_the_main_walk_of_each(capsys, shots, tmp_path):
    files = [shots / f"{name}.toml" for name in ("heron", "heron-burdened", "lamplighter")]
    code, told, _ = run(capsys, "compare", *files, "--out", tmp_path / "out", "--no-preview")
    assert code == 0
    assert (
        (tmp_path / "out/compare.csv")
        .read_text(encoding="utf-8")
        .startswith("what,unit,heron,heron-burdened,lamplighter\npuppet,,Marsh heron,Marsh heron,Lamplighter\n")
    )
    assert "lamplighter: Lamplighter" in told


def test_compare_again_brings_its_own_files_up_to_date_and_refuses_others(capsys, shots, tmp_path):
    out, path = tmp_path / "out", shots / "lamplighter.toml"
    run(capsys, "compare", path, "--out", out, "--no-preview")
    before = (out / "compare.csv").read_bytes()
    (out / "compare.mp4").write_bytes(b"a film of the walks as they are now")
    path.write_text(path.read_text(encoding="utf-8").replace("steps = 6", "steps = 4"), encoding="utf-8")
    assert run(capsys, "compare", path, "--out", out, "--no-preview")[0] == 0
    after = (out / "compare.csv").read_bytes()
    assert after != before
    assert not (out / "compare.mp4").exists(), "no film tells of what has changed since"
    other = ("compare", path, shots / "heron.toml", "--out", out, "--no-preview")
    code, _, err = run(capsys, *other)
    assert code == 3
    assert "is no comparison of these walks" in err
    assert (out / "compare.csv").read_bytes() == after
    assert run(capsys, *other, "--replace")[0] == 0
    (out / "compare.csv").unlink()
    assert run(capsys, *other)[0] == 3, "a picture without its table may be anybody's"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("heron.toml",), "compare: expected several shot files, or one with variants"),
        (("heron.toml", "lamplighter.toml", "--view", "aside"), "view: expected one of side-on, "),
        (("heron.toml", "nowhere.toml"), "nowhere.toml: expected a shot file"),
    ],
)
def test_compare_refuses_before_it_writes(capsys, shots, tmp_path, arguments, words):
    files = [shots / one if one.endswith(".toml") else one for one in arguments]
    code, _, err = run(capsys, "compare", *files, "--out", tmp_path / "out", "--no-preview")
    assert code == 2
    assert words in err
    assert not (tmp_path / "out").exists()


def test_compare_without_a_preview_never_imports_blender(shots, tmp_path):
    script = (
        "import sys\n"
        "sys.modules['bpy'] = None\n"  # an import of bpy would now fail
        "from striderule_blender.cli import main\n"
        f"sys.exit(main(['compare', {str(shots / 'lamplighter.toml')!r}, '--out', {str(tmp_path / 'out')!r}, "
        "'--no-preview']))\n"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([ADDON, *sys.path])}
    done = subprocess.run([sys.executable, "-c", script], env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_check_and_size_take_a_variant(capsys, shots, tmp_path):
    path = shots / "lamplighter.toml"
    code, told, _ = run(capsys, "check", path, "--variant", "slow", "--json", tmp_path / "a.json")
    assert code == 0
    assert told.splitlines()[-1].startswith("Lamplighter, Slower: 55 poses")
    assert json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))["shot"] == "Lamplighter, Slower"
    assert run(capsys, "check", path, "--variant", "long")[0] == 1
    assert run(capsys, "check", path, "--variant", "main")[1] == run(capsys, "check", path)[1]
    assert "9 planned" in run(capsys, "size", path, "--hip", "1m", "--variant", "slow")[1]
    code, _, err = run(capsys, "check", path, "--variant", "quick")
    assert code == 2
    assert "expected one of main, slow, long, given 'quick'" in err


def test_prepare_of_a_variant_is_another_shots_work(capsys, shots, tmp_path):
    path, out = shots / "lamplighter.toml", tmp_path / "out"
    plain = ("--no-blend", "--no-preview", "--no-sheets", "--views", "side-on", "--layers", "all", "--out", out)
    assert run(capsys, "prepare", path, "--variant", "slow", *plain)[0] == 0
    assert json.loads((out / "manifest.json").read_text(encoding="utf-8"))["shot"]["name"] == "Lamplighter, Slower"
    assert len(list((out / "overlay/side-on/all").iterdir())) == 55
    code, _, err = run(capsys, "prepare", path, *plain)
    assert code == 3
    assert "holds what was made from the shot 'Lamplighter, Slower'" in err
