"""`striderule range`, run in this process."""

import csv

import pytest

from striderule.draw.png import decode
from striderule.model.seeds import starter_paths
from striderule_blender import cli

LAMPLIGHTER = starter_paths()["lamplighter"]
PUPPET = LAMPLIGHTER.parent / "puppets" / "lamplighter.toml"


def run(capsys, *arguments):
    """(exit code, standard output, standard error) of one command."""
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


@pytest.fixture
def measured_file(tmp_path):
    """A puppet file with measurements of a leg whose shank is 1.8 mm longer than written."""
    rows = [(0, 112.6, 123.7), (15, 102.0, 122.7), (30, 82.0, 119.7), (45, 86.1, 114.5), (-16, 117.7, 122.6)]
    lines = [f"\n[[leg.left.measured]]\nfoot_mm = {u}\nlowest_mm = {a}\nhighest_mm = {b}\n" for u, a, b in rows]
    path = tmp_path / "mine.toml"
    path.write_text(PUPPET.read_text(encoding="utf-8") + "".join(lines), encoding="utf-8")
    return path


@pytest.mark.parametrize("path", [LAMPLIGHTER, PUPPET])
def test_a_shot_and_a_puppet_give_the_same_sheet_on_standard_output(capsys, path):
    code, out, err = run(capsys, "range", path)
    assert (code, err) == (0, "")
    assert out.startswith("Range test: Lamplighter.")
    assert "  30 behind" not in out
    assert ["under", "the", "hip", "111.5", "______", "ankle's", "toe-up", "stop", "25"] in [
        line.split()[:9] for line in out.splitlines()
    ]
    assert out.splitlines()[-1] == "Lamplighter: 1 leg to measure, none measured yet"


def test_measurements_in_the_file_name_what_is_off(capsys, measured_file):
    code, out, _ = run(capsys, "range", measured_file)
    assert code == 0
    assert "shank measures 1.8 mm longer than written: 58.4" in out
    assert out.splitlines()[-1].endswith("2 legs to measure, 1 measured, 1 value off")


def test_sheets_are_written_as_text_csv_and_svg(capsys, tmp_path):
    for name in ("sheet.txt", "sheet.csv", "sheet.svg"):
        assert run(capsys, "range", PUPPET, "--out", tmp_path / "a" / name)[0] == 0
    text = (tmp_path / "a" / "sheet.txt").read_bytes()
    assert b"\r" not in text
    assert text.decode().startswith("Range test: Lamplighter.")
    rows = list(csv.DictReader((tmp_path / "a" / "sheet.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 2 + 2 * 9
    assert (tmp_path / "a" / "sheet.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_a_folder_gets_the_band_of_every_leg_as_svg_and_png(capsys, tmp_path):
    code, out, _ = run(capsys, "range", LAMPLIGHTER, "--out", tmp_path / "bands")
    assert code == 0
    names = sorted(path.name for path in (tmp_path / "bands").iterdir())
    assert names == ["band_left.png", "band_left.svg", "band_right.png", "band_right.svg"]
    assert decode((tmp_path / "bands" / "band_left.png").read_bytes()).shape == (1080, 1600, 3)
    assert "passing" in (tmp_path / "bands" / "band_left.svg").read_text(encoding="utf-8")
    assert "4 files" in out
    assert run(capsys, "range", LAMPLIGHTER, "--out", tmp_path / "bands")[0] == 0


def test_a_sheet_that_somebody_wrote_on_is_not_overwritten_unless_asked(capsys, tmp_path):
    sheet = tmp_path / "sheet.txt"
    sheet.write_text("my measurements", encoding="utf-8")
    code, _, err = run(capsys, "range", PUPPET, "--out", sheet)
    assert code == 3
    assert "--replace" in err
    assert sheet.read_text(encoding="utf-8") == "my measurements"
    assert run(capsys, "range", PUPPET, "--out", sheet, "--replace")[0] == 0
    assert sheet.read_text(encoding="utf-8").startswith("Range test")


def test_what_is_neither_a_sheet_nor_a_folder_is_refused(capsys, tmp_path):
    code, _, err = run(capsys, "range", PUPPET, "--out", tmp_path / "sheet.pdf")
    assert code == 2
    assert ".txt, .csv, .svg, or a folder" in err
    assert list(tmp_path.iterdir()) == []
    code, _, err = run(capsys, "range", tmp_path / "none.toml")
    assert code == 2
    assert "does not exist" in err


def test_the_band_shows_the_variant_that_was_asked_for(capsys, tmp_path):
    shot = tmp_path / "varied.toml"
    more = "\n[variant.low.walk.hips]\ncontact_mm = 116.5\n"
    text = LAMPLIGHTER.read_text(encoding="utf-8").replace("puppets/", "p/") + more
    (tmp_path / "p").mkdir()
    (tmp_path / "p" / "lamplighter.toml").write_bytes(PUPPET.read_bytes())
    shot.write_text(text, encoding="utf-8")
    for name, more in (("main", ()), ("low", ("--variant", "low"))):
        assert run(capsys, "range", shot, *more, "--out", tmp_path / name)[0] == 0
    drawn = [(tmp_path / name / "band_left.svg").read_bytes() for name in ("main", "low")]
    assert drawn[0] != drawn[1]
    code, _, err = run(capsys, "range", PUPPET, "--variant", "low")
    assert code == 2
    assert "--variant: expected a shot file" in err
