import re
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from striderule.errors import ModelError, OutputError
from striderule.model.stage import HoleGrid
from striderule.paper.instructions import instructions_of
from striderule.paper.lettering import width_mm
from striderule.paper.page import PAPERS_MM, POINTS_PER_MM, SHEET_NAMES, Clipped, Paper, Words, box_of
from striderule.paper.sheets import SHEETS, SheetOptions, sheet_files
from striderule.solve import solve
from striderule_blender import cli

DAY = date(2026, 11, 25)
SHARE = {"left": 0.0, "middle": 0.5, "right": 1.0}
ALL = ("exposure.pdf", "exposure.csv", "floor.pdf", "gauge.pdf", "set.html", "chart.pdf", "edge.pdf")


def made(plan, **options):
    return sheet_files(plan, "mine.toml", SheetOptions(DAY, **options))


def run(capsys, *arguments):
    code = cli.main([str(one) for one in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_the_names_that_the_command_line_tells_are_those_of_the_sheets():
    assert tuple(SHEETS) == SHEET_NAMES


def test_the_same_plan_gives_the_same_bytes(starters):
    for shot in starters.values():
        assert made(solve(shot)) == made(solve(shot))


def test_another_day_or_another_shot_is_seen_on_every_sheet(starters):
    plan = solve(starters["lamplighter"])
    first = made(plan)
    later = sheet_files(plan, "mine.toml", SheetOptions(date(2026, 11, 26)))
    other = made(solve(replace(starters["lamplighter"], fps="24")))
    assert all(first[name] != later[name] for name in first)
    assert all(first[name] != other[name] for name in first)


def test_what_is_not_asked_for_is_not_made(starters):
    plan = solve(starters["lamplighter"])
    assert tuple(made(plan)) == ALL
    assert tuple(made(plan, only=("cards", "exposure"))) == ("exposure.pdf", "exposure.csv", "cards.pdf")
    holes = solve(replace(starters["lamplighter"], grid=HoleGrid(25.0)))
    assert tuple(made(holes)) == (*ALL, "underside.pdf")


@pytest.mark.parametrize(
    ("option", "expected"),
    [
        ({"grain_mm": 0.3}, "0.5 or 0.1 mm"),
        ({"drill_mm": 0.0}, "0.1 to 30 mm"),
        ({"minutes_a_pose": 0.0}, "minutes a pose above 0"),
        ({"only": ("floors",)}, "exposure, floor"),
    ],
)
def test_a_wrong_option_is_refused_with_what_was_expected(option, expected):
    with pytest.raises(ModelError, match=expected):
        SheetOptions(DAY, **option)
    with pytest.raises(ModelError, match="a4, letter, a3"):
        Paper("a5")


def test_the_command_writes_the_sheets_and_what_it_wrote(capsys, tmp_path, starter_file):
    out = tmp_path / "paper"
    code, told, _ = run(capsys, "sheets", starter_file, "--out", out, "--date", "2026-11-25", "--paper", "letter")
    assert code == 0
    assert {path.name for path in out.iterdir()} == {*ALL, "manifest_sheets.json"}
    assert told.startswith(f"{out}: 7 files for the set")
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert run(capsys, "sheets", starter_file, "--out", out, "--date", "2026-11-25", "--paper", "letter")[0] == 0
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--date", "25.11.2026"], "a day as 2026-11-25"),
        (["--paper", "foolscap"], "one of a4, letter, a3"),
        (["--round", "2"], "0.5 or 0.1 mm"),
        (["--only", "everything"], "names out of exposure"),
    ],
)
def test_a_wrong_argument_ends_with_2_and_writes_nothing(capsys, tmp_path, starter_file, arguments, said):
    code, out, err = run(capsys, "sheets", starter_file, "--out", tmp_path / "paper", *arguments)
    assert (code, out) == (2, "")
    assert said in err
    assert not (tmp_path / "paper").exists()


def test_a_file_of_someone_else_is_not_overwritten(capsys, tmp_path, starter_file):
    out = tmp_path / "paper"
    out.mkdir()
    (out / "floor.pdf").write_text("mine")
    code, _, err = run(capsys, "sheets", starter_file, "--out", out)
    assert code == OutputError.exit_code
    assert "--replace" in err
    assert [path.name for path in out.iterdir()] == ["floor.pdf"]
    assert run(capsys, "sheets", starter_file, "--out", out, "--replace")[0] == 0


def test_prepare_writes_the_sheets_and_may_leave_them_out(capsys, tmp_path, starter_file):
    plain = ("--no-blend", "--no-preview", "--layers", "target", "--views", "side-on", "--date", "2026-11-25")
    out = tmp_path / "out"
    assert run(capsys, "prepare", starter_file, "--out", out, *plain)[0] == 0
    assert {path.name for path in (out / "sheets").iterdir()} == set(ALL)
    assert '"sheets/exposure.pdf": "' in (out / "manifest.json").read_text(encoding="utf-8")
    assert run(capsys, "prepare", starter_file, "--out", tmp_path / "less", "--no-sheets", *plain)[0] == 0
    assert not (tmp_path / "less" / "sheets").exists()


def test_without_fpdf2_it_says_what_is_missing(capsys, tmp_path, starter_file, monkeypatch):
    monkeypatch.setitem(sys.modules, "fpdf", None)
    code, _, err = run(capsys, "sheets", starter_file, "--out", tmp_path / "paper")
    assert code == 2
    assert "needs 'fpdf2'" in err
    assert not (tmp_path / "paper").exists()


def test_the_core_does_not_import_fpdf2_until_a_sheet_is_made():
    code = "import sys, striderule.paper.sheets, striderule_blender.cli; print('fpdf' in sys.modules)"
    assert subprocess.check_output([sys.executable, "-c", code], text=True).strip() == "False"


def test_no_mark_of_any_sheet_reaches_out_of_its_page(starters, monkeypatch):
    """With names that are too long, on every paper, on twos, and with holes."""
    seen = []
    monkeypatch.setattr("striderule.paper.sheets.pdf_bytes", lambda pages, heading, title: seen.extend(
        (title, page) for page in pages) or b"")  # fmt: skip
    for paper in PAPERS_MM:
        for shot in starters.values():
            long = replace(shot, name="a very long name of a shot " * 7, grid=HoleGrid(25.0), frames_per_pose=2)
            made(solve(long), paper=Paper(paper), only=SHEET_NAMES)
    assert len(seen) > 100
    for title, page in seen:
        for mark in page.marks:
            left, top, right, bottom = box_of(mark)
            if isinstance(mark, Words):
                left = mark.x - width_mm(mark.text, mark.size, mark.bold) * SHARE[mark.side]
                right = left + width_mm(mark.text, mark.size, mark.bold)
            assert left >= 4, (title, mark)
            assert top >= 4, (title, mark)
            assert right <= page.width_mm - 4, (title, mark)
            assert bottom <= page.height_mm - 4, (title, mark)


def test_words_of_a_sheet_do_not_lie_on_each_other(starters, monkeypatch):
    seen = []
    monkeypatch.setattr("striderule.paper.sheets.pdf_bytes", lambda pages, heading, title: seen.extend(
        (title, page) for page in pages) or b"")  # fmt: skip
    for shot in starters.values():
        made(solve(replace(shot, grid=HoleGrid(25.0))), only=SHEET_NAMES)
    for title, page in seen:
        for marks in (page.marks, *(mark.marks for mark in page.marks if isinstance(mark, Clipped))):
            boxes = np.array([ink_box(mark) for mark in marks if isinstance(mark, Words)]).reshape(-1, 4)
            texts = [mark.text for mark in marks if isinstance(mark, Words)]
            for k, (left, top, right, bottom) in enumerate(boxes):
                over = (boxes[:, 0] < right) & (boxes[:, 2] > left) & (boxes[:, 1] < bottom) & (boxes[:, 3] > top)
                over[: k + 1] = False
                assert not over.any(), (title, texts[k], [texts[i] for i in np.flatnonzero(over)])


def ink_box(mark):
    """Left, top, right, bottom of a line of text without the room that only some letters take."""
    wide = width_mm(mark.text, mark.size, mark.bold)
    left = mark.x - wide * SHARE[mark.side]
    return left, mark.y - 0.7 * mark.size / POINTS_PER_MM, left + wide, mark.y


def test_the_set_screen_asks_nothing_of_a_network(starters):
    text = made(solve(starters["heron"]), only=("screen",))["set.html"].decode("utf-8")
    addresses = set(re.findall(r"https?://[^\"'\s]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}  # a name, not a place
    assert "default-src 'none'" in text
    assert "src=" not in text.replace("default-src", "")


def test_a_set_of_200_poses_is_made_in_3_seconds_of_work(starters):
    shot = starters["heron"]
    plan = solve(replace(shot, walk=replace(shot.walk, steps=33)))
    start = time.process_time()
    made(plan)
    assert plan.poses == 199
    assert time.process_time() - start < 3.0


def test_loads_are_charted_with_their_caution_where_they_are_known(starters, monkeypatch):
    seen = []
    monkeypatch.setattr("striderule.paper.sheets.pdf_bytes", lambda pages, heading, title: seen.append(pages) or b"")
    plan = solve(starters["heron"])
    told = instructions_of(plan)
    options = SheetOptions(DAY, only=("chart",))
    for load in ((), tuple(np.linspace(0.5, 1.4, plan.poses))):
        sheet_files(plan, "mine.toml", options, replace(told, load=load))
    without, with_loads = ([mark.text for mark in pages[0].marks if isinstance(mark, Words)] for pages in seen)
    assert not any("load" in text for text in without)
    assert any(text.startswith("load of the joint") for text in with_loads)
    assert any(text.startswith("Loads are estimates.") and "local codes" in text for text in with_loads)
    boxes = np.array([ink_box(mark) for mark in seen[1][0].marks if isinstance(mark, Words)])
    for k, (left, top, right, bottom) in enumerate(boxes):
        over = (boxes[:, 0] < right) & (boxes[:, 2] > left) & (boxes[:, 1] < bottom) & (boxes[:, 3] > top)
        assert over.sum() == 1, with_loads[k]
