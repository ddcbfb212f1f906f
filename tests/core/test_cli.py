"""The command line, run in this process; Blender is never needed here."""

import csv
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from striderule.camera.placing import view_named
from striderule.draw.png import decode
from striderule.export.files import write_bytes
from striderule.model.seeds import starter_paths
from striderule_blender import cli, cli_check, cli_prepare
from striderule_blender.cli_console import Console
from striderule_blender.cli_starters import copies_of

ADDON = str(Path(cli.__file__).parents[1])
PLAIN = ("--no-blend", "--no-preview", "--no-sheets")


@pytest.fixture
def shot_file(tmp_path):
    """A function that makes a quick shot file from a starter: 1 step, one view, small pictures."""

    def made(name="lamplighter", text=lambda text: text, file="mine.toml"):
        for target, data in copies_of([starter_paths()[name]], tmp_path / "shots").items():
            write_bytes(target, data, durable=False)
        path = tmp_path / "shots" / f"{name}.toml"
        body = path.read_text(encoding="utf-8").replace("steps = 6", "steps = 1")
        body += '\n[overlay]\nviews = ["side-on"]\n[view.side-on]\nresolution = [320, 180]\n'
        path.with_name(file).write_text(text(body), encoding="utf-8")
        return path.with_name(file)

    return made


def tree(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def run(capsys, *arguments):
    """(exit code, standard output, standard error) of one command."""
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_check_tells_the_findings_and_ends_with_one_line(capsys):
    code, out, err = run(capsys, "check", starter_paths()["lamplighter"])
    lines = out.splitlines()
    assert code == 0
    assert lines[0].startswith("note: Nothing can be tied down in poses 1, 7")
    assert lines[-1] == "Lamplighter: 37 poses, 37 frames, 3.1 s at 12 fps: 1 note"
    assert err == ""


def test_check_of_an_impossible_walk_ends_with_1_and_offers_cures(capsys, shot_file):
    path = shot_file(text=lambda text: text.replace("step_mm = 60", "step_mm = 90"))
    code, out, _ = run(capsys, "check", path)
    assert code == 1
    assert "impossible: " in out
    assert "    try: step " in out


def test_quiet_leaves_the_last_line_alone(capsys):
    code, out, err = run(capsys, "check", "--quiet", starter_paths()["lamplighter"])
    assert code == 0
    assert len(out.splitlines()) == 1
    assert err == ""


def test_check_writes_its_findings_to_a_file_on_request(capsys, tmp_path):
    run(capsys, "check", starter_paths()["lamplighter"], "--json", tmp_path / "a.json")
    content = json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))
    assert content["counts"] == {"impossible": 0, "risky": 0, "note": 1}
    assert (content["poses"], content["findings"][0]["code"]) == (37, "nothing-tied")


def test_check_never_imports_blender_and_works_well_under_a_second():
    script = (
        "import sys, time, numpy, tomlkit\n"
        "sys.modules['bpy'] = None\n"  # an import of bpy would now fail
        "start = time.process_time()\n"
        "from striderule_blender.cli import main\n"
        f"code = main(['check', {str(starter_paths()['heron'])!r}])\n"
        "took = time.process_time() - start\n"
        "assert took < 1, took\n"
        "sys.exit(code)\n"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([ADDON, *sys.path])}
    done = subprocess.run([sys.executable, "-c", script], env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1].startswith("Heron: 37 poses")


def test_prepare_leaves_pictures_tables_and_the_manifest(capsys, tmp_path, shot_file):
    out = tmp_path / "out"
    code, told, err = run(capsys, "prepare", shot_file(), "--out", out, *PLAIN)
    assert code == 0
    layers = {"floor", "arcs", "ghosts", "pose", "weight", "spacing", "target", "labels", "all"}
    assert {path.name for path in (out / "overlay/side-on").iterdir() if path.is_dir()} == layers
    assert len(list((out / "overlay/side-on/all").iterdir())) == 7
    assert decode((out / "overlay/side-on/all/0001.png").read_bytes()).shape == (180, 320, 4)
    assert (out / "overlay/side-on/floor.png").is_file()
    with (out / "poses.csv").open(encoding="utf-8", newline="") as file:
        assert [row["pose"] for row in csv.DictReader(file)] == [str(k) for k in range(1, 8)]
    views = json.loads((out / "views.json").read_text(encoding="utf-8"))["views"]
    assert {"side-on", "head-on", "following"} <= {view["name"] for view in views}
    manifest = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["shot"]["file"] == "mine.toml"
    written = {*manifest["pictures"], *manifest["files"], "manifest.json"}
    assert written == set(tree(out))
    assert told.splitlines()[-1].startswith(f"{out}: 65 pictures (65 drawn, 0 kept), 3 other files; 1 note")
    assert "overlay side-on 7/7" in err


def test_prepare_twice_gives_the_same_bytes_and_draws_nothing_new(capsys, tmp_path, shot_file):
    out, path = tmp_path / "out", shot_file()
    run(capsys, "prepare", path, "--out", out, *PLAIN)
    before = tree(out)
    _, told, _ = run(capsys, "prepare", path, "--out", out, *PLAIN)
    assert "(0 drawn, 65 kept)" in told
    assert tree(out) == before
    run(capsys, "prepare", path, "--out", tmp_path / "other", *PLAIN)
    assert tree(tmp_path / "other") == before


def test_prepare_of_an_impossible_walk_draws_it_says_so_and_ends_with_1(capsys, tmp_path, shot_file):
    path = shot_file(text=lambda text: text.replace("step_mm = 60", "step_mm = 90"))
    code, told, _ = run(capsys, "prepare", path, "--out", tmp_path / "out", "--layers", "pose", *PLAIN)
    assert code == 1
    assert "IMPOSSIBLE" in told.splitlines()[-1]
    assert (tmp_path / "out/manifest.json").is_file()
    assert (tmp_path / "out/overlay/side-on/pose/0007.png").is_file()


def test_options_choose_views_layers_poses_numbers_and_backdrop(capsys, tmp_path, shot_file):
    out = tmp_path / "out"
    code, _, _ = run(capsys, "prepare", shot_file(), "--out", out, "--views", "low,side-on", "--layers", "target",
                     "--poses", "2-3", "--first-number", "101", "--digits", "6", "--backdrop", "white")  # fmt: skip
    assert code == 0
    names = {name for name in tree(out) if name.endswith(".png")}
    folders = ("overlay/side-on/target", "overlay/side-on/all", "overlay/low/target", "overlay/low/all")
    assert names == {f"{folder}/000{number}.png" for folder in folders for number in (102, 103)}
    assert decode((out / "overlay/side-on/all/000102.png").read_bytes())[0, 0].tolist() == [255, 255, 255]
    assert "manifest_2-3.json" in tree(out)
    assert "manifest.json" not in tree(out)


def test_every_view_can_be_asked_for_at_once(capsys, tmp_path, shot_file):
    run(
        capsys,
        "prepare",
        shot_file(),
        "--out",
        tmp_path / "out",
        "--views",
        "every",
        "--layers",
        "target",
        "--poses",
        "1",
    )
    assert len(list((tmp_path / "out/overlay").iterdir())) == 7


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--views", "sideways"], "side-on"),
        (["--preview-views", "sideways"], "--preview-views"),
        (["--layers", "shadow"], "floor, arcs"),
        (["--poses", "3-99"], "poses 1 to 7"),
        (["--digits", "0"], "digits"),
        (["--first-number", "-4"], "first_number"),
        (["--first-number", "9998"], "at least 5 digits"),
        (["--backdrop", "beige"], "#rrggbb"),
    ],
)
def test_a_wrong_option_is_told_ends_with_2_and_nothing_is_written(capsys, tmp_path, shot_file, arguments, words):
    code, out, err = run(capsys, "prepare", shot_file(), "--out", tmp_path / "out", *arguments)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert words in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("steps = 1", 'steps = "many"'), "steps"),
        (("step_mm", "stepp_mm"), 'Did you mean "step_mm"'),
        (("step_mm = 60", "step_mm = -60"), "given -60"),
        (("step_mm = 60", "step_mm = nan"), "given nan"),
        (("steps = 1", "steps = 900000000"), "given 900000000"),
        (('kind = "shot"', ""), "kind"),
        (('kind = "shot"', "["), "line"),
    ],
)
@pytest.mark.parametrize("command", ["check", "prepare"])
def test_a_bad_shot_file_is_told_in_one_message_and_nothing_is_written(
    capsys, tmp_path, shot_file, command, change, words
):
    path = shot_file(text=lambda text: text.replace(*change))
    more = ["--out", tmp_path / "out"] if command == "prepare" else ["--json", tmp_path / "out"]
    code, out, err = run(capsys, command, path, *more)
    assert (code, out) == (2, "")
    assert str(path) in err
    assert words in err
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("kind", ["missing", "folder", "latin"])
def test_a_file_that_cannot_be_read_as_a_shot_ends_with_2(capsys, tmp_path, kind):
    path = tmp_path / "x.toml"
    if kind == "folder":
        path.mkdir()
    elif kind == "latin":
        path.write_bytes(b'name = "\xe9"')
    code, _, err = run(capsys, "check", path)
    assert code == 2
    assert str(path) in err


def test_wrong_usage_ends_with_2_and_help_with_0(capsys):
    assert run(capsys)[0] == 2
    assert run(capsys, "prepare", "x.toml")[0] == 2
    assert run(capsys, "check", "x.toml", "--colour")[0] == 2
    code, out, _ = run(capsys, "prepare", "--help")
    assert code == 0
    assert "the walk is impossible as it is planned; `prepare` has still drawn everything" in out


def test_another_shot_in_the_folder_is_refused_with_3_until_it_may_be_replaced(capsys, tmp_path, shot_file):
    out = tmp_path / "out"
    run(capsys, "prepare", shot_file(), "--out", out, "--layers", "pose", *PLAIN)
    before = tree(out)
    other = shot_file("heron", file="other.toml")
    code, _, err = run(capsys, "prepare", other, "--out", out, "--layers", "pose", *PLAIN)
    assert code == 3
    assert "'Lamplighter' of mine.toml" in err
    assert tree(out) == before
    code, _, _ = run(capsys, "prepare", other, "--out", out, "--layers", "pose", "--replace", *PLAIN)
    assert code == 0
    assert json.loads((out / "manifest.json").read_text(encoding="utf-8"))["shot"]["name"] == "Heron"


def test_pictures_of_another_shot_are_refused_also_without_a_manifest(capsys, tmp_path, shot_file):
    out = tmp_path / "out"
    run(capsys, "prepare", shot_file(), "--out", out, "--layers", "pose", *PLAIN)
    (out / "manifest.json").unlink()
    before = tree(out)
    code, _, err = run(capsys, "prepare", shot_file("heron", file="other.toml"), "--out", out, *PLAIN)
    assert code == 3
    assert "0001.png" in err
    assert tree(out) == before


def test_a_changed_shot_draws_anew_what_changed_without_being_asked_twice(capsys, tmp_path, shot_file):
    out = tmp_path / "out"
    run(capsys, "prepare", shot_file(), "--out", out, "--layers", "floor,target", *PLAIN)
    path = shot_file(text=lambda text: text.replace("lift_mm = 11", "lift_mm = 14"))
    code, told, _ = run(capsys, "prepare", path, "--out", out, "--layers", "floor,target", *PLAIN)
    assert code == 0
    # The lift moves neither footprints nor the reference point.
    assert "(0 drawn, 22 kept)" in told
    assert json.loads((out / "manifest.json").read_text(encoding="utf-8"))["files"]["poses.csv"]


def test_a_folder_that_is_a_file_ends_with_3(capsys, tmp_path, shot_file):
    (tmp_path / "out").write_text("mine")
    code, _, err = run(capsys, "prepare", shot_file(), "--out", tmp_path / "out", *PLAIN)
    assert code == 3
    assert "expected a folder, found a file" in err
    assert (tmp_path / "out").read_text() == "mine"


def test_an_interrupted_run_ends_with_130_leaves_whole_pictures_and_no_manifest(
    capsys, tmp_path, shot_file, monkeypatch
):
    out, path = tmp_path / "out", shot_file()
    run(capsys, "prepare", path, "--out", tmp_path / "whole", "--layers", "pose", *PLAIN)

    def interrupt(_self, done, _total, _what):
        if done == 3:
            raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Console, "progress", interrupt)
        code, _, err = run(capsys, "prepare", path, "--out", out, "--layers", "pose", *PLAIN)
    assert code == 130
    assert "goes on from there" in err
    cut = tree(out)
    assert cut
    assert cut.items() <= tree(tmp_path / "whole").items()
    assert "manifest.json" not in cut
    assert run(capsys, "prepare", path, "--out", out, "--layers", "pose", *PLAIN)[0] == 0
    assert tree(out) == tree(tmp_path / "whole")


def test_prepare_without_blender_says_what_is_missing_before_it_writes(capsys, tmp_path, shot_file, monkeypatch):
    monkeypatch.setattr(cli_prepare.importlib.util, "find_spec", lambda name: None)
    code, _, err = run(capsys, "prepare", shot_file(), "--out", tmp_path / "out")
    assert code == 2
    assert "--no-blend --no-preview" in err
    assert not (tmp_path / "out").exists()


def test_the_starters_are_listed_and_copied_with_their_puppets(capsys, tmp_path):
    code, out, _ = run(capsys, "starters")
    assert code == 0
    assert "heron: Heron" in out.splitlines()
    code, _, _ = run(capsys, "starters", "--copy", tmp_path, "heron")
    assert code == 0
    assert (tmp_path / "heron.toml").read_bytes() == starter_paths()["heron"].read_bytes()
    assert run(capsys, "check", tmp_path / "heron.toml")[0] == 0
    assert not (tmp_path / "lamplighter.toml").exists()


def test_copying_starters_never_overwrites_what_was_changed(capsys, tmp_path):
    (tmp_path / "heron.toml").write_text("mine")
    code, _, err = run(capsys, "starters", "--copy", tmp_path)
    assert code == 3
    assert "heron.toml" in err
    assert list(tree(tmp_path)) == ["heron.toml"]
    assert run(capsys, "starters", "no-such")[0] == 2


def test_a_mistake_of_our_own_is_not_taken_for_an_impossible_walk(capsys, monkeypatch):
    def broken(*_):
        raise ValueError("unforeseen")

    monkeypatch.setattr(cli_check, "check", broken)
    code, out, err = run(capsys, "check", "any.toml")
    assert code == 70
    assert out == ""
    assert "ValueError: unforeseen" in err
    assert "mistake in Striderule" in err


@pytest.mark.parametrize("command", ["check", "prepare"])
def test_a_report_never_overwrites_a_file_that_is_none(capsys, tmp_path, shot_file, command):
    path = shot_file()
    before = path.read_bytes()
    more = ["--out", tmp_path / "out", *PLAIN] if command == "prepare" else []
    code, out, err = run(capsys, command, path, "--json", path, *more)
    assert (code, out) == (3, "")
    assert "is no report" in err
    assert path.read_bytes() == before
    assert not (tmp_path / "out").exists()


def test_a_report_is_written_again_over_the_one_before(capsys, tmp_path, shot_file):
    for _ in range(2):
        assert run(capsys, "check", shot_file(), "--json", tmp_path / "report.json")[0] == 0


@pytest.mark.parametrize("option", ["--out", "--views", "--layers", "--preview-views", "--json"])
def test_an_option_with_nothing_in_it_is_wrong_usage(capsys, tmp_path, shot_file, monkeypatch, option):
    monkeypatch.chdir(tmp_path)
    path = shot_file()
    before = tree(tmp_path)
    code, out, err = run(capsys, "prepare", path, "--out", "out", *PLAIN, option, "")
    assert (code, out) == (2, "")
    assert f"argument {option}: expected" in err
    assert tree(tmp_path) == before


def test_a_number_of_thousands_of_digits_is_wrong_usage_told_shortly(capsys, tmp_path, shot_file):
    code, _, err = run(capsys, "prepare", shot_file(), "--out", tmp_path / "out", "--digits", "9" * 5000)
    assert code == 2
    assert len(err.splitlines()[-1]) < 200


def test_a_folder_name_that_the_system_refuses_ends_with_3(capsys, tmp_path, shot_file):
    code, _, err = run(capsys, "prepare", shot_file(), "--out", tmp_path / ("x" * 300), *PLAIN)
    assert code == 3
    assert len(err.splitlines()) == 1


def test_large_pictures_are_worked_on_by_fewer_threads(made_plan, monkeypatch):
    made = []
    monkeypatch.setattr(cli_prepare, "ThreadPoolExecutor", lambda threads: made.append(threads) or _NoPool())
    monkeypatch.setattr(cli_prepare.os, "cpu_count", lambda: 16)
    view = view_named(made_plan(), "side-on")
    for size in ((1920, 1080), (8192, 8192), (16384, 16384), (16384, 20000)):
        with cli_prepare._pool((view, replace(view, width=size[0], height=size[1]))):
            pass
    assert made == [8, 4, 1, 1]


class _NoPool:
    map = map

    def shutdown(self, **_):
        pass


@pytest.mark.skipif(os.name != "posix", reason="the shell's own redirections")
@pytest.mark.parametrize(
    ("ending", "code", "told"),
    [
        (">&-", 0, ""),
        ("2>&-", 0, ""),
        ("| true", 0, ""),
        (">/dev/full", 3, "standard output: cannot be written"),
        ("2>/dev/full", 0, ""),
    ],
)
def test_a_check_whose_output_nobody_can_take_still_ends_with_its_own_code(ending, code, told):
    command = "import sys, time; from striderule_blender.cli import main; time.sleep(.2); sys.exit(main(sys.argv[1:]))"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([ADDON, *sys.path])}
    shell = f'set -o pipefail; "$0" -c "$1" check "$2" {ending}'
    done = subprocess.run(["bash", "-c", shell, sys.executable, command, str(starter_paths()["heron"])],
                          env=environment, capture_output=True, text=True, check=False)  # fmt: skip
    assert (done.returncode, "Traceback" in done.stderr) == (code, False), done.stderr
    assert told in done.stderr


def test_a_bad_file_ends_with_2_also_where_no_message_can_be_shown(monkeypatch):
    monkeypatch.setattr(sys, "stderr", None)
    assert cli.main(["check", "no-such.toml"]) == 2
