"""Sheets for the set measured in the files themselves by pypdf and pdfplumber, and against standards.

Sources: ISO 216 (A4 210 x 297 mm, A3 297 x 420 mm); ISO 32000-1, 8.3.2.3 (72 units to an inch) and 12.2
(PrintScaling); the `timecode` package for SMPTE ST 12-1.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date

import numpy as np
import pdfplumber
import pypdf
import pytest
from timecode import Timecode

from striderule.export.poses_csv import poses_csv_text
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.paper.page import Paper
from striderule.paper.sheets import SheetOptions, sheet_files
from striderule.solve import solve

DAY = date(2026, 11, 25)
MM = 25.4 / 72
HUNDRED = 283.4646  # points in 100 mm
# width and height in mm; letter is 8.5 x 11 inches
SIZES = {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4)}


@pytest.fixture(scope="module", params=["heron", "lamplighter", "tapir"])
def starter(request):
    plan = solve(load_shot(starter_paths()[request.param]))
    return plan, sheet_files(plan, f"{request.param}.toml", SheetOptions(DAY))


def opened(data: bytes) -> pdfplumber.PDF:
    return pdfplumber.open(io.BytesIO(data))


@pytest.mark.parametrize("paper", SIZES)
def test_pages_have_the_papers_size_to_a_thousandth_of_a_mm(paper):
    plan = solve(load_shot(starter_paths()["lamplighter"]))
    files = sheet_files(plan, "x.toml", SheetOptions(DAY, Paper(paper)))
    for name in (name for name in files if name.endswith(".pdf")):
        for page in pypdf.PdfReader(io.BytesIO(files[name])).pages:
            size = sorted(float(side) * MM for side in (page.mediabox.width, page.mediabox.height))
            assert size == pytest.approx(SIZES[paper], abs=0.003)  # the box is written to a hundredth of a point


def test_a_viewer_is_asked_to_print_at_100_percent_and_the_date_is_the_given_one(starter):
    for name, data in starter[1].items():
        if name.endswith(".pdf"):
            reader = pypdf.PdfReader(io.BytesIO(data))
            assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
            assert reader.metadata.creation_date.date() == DAY
            assert not any("/XObject" in page.get("/Resources", {}) for page in reader.pages)  # vectors only


def test_every_page_names_file_identity_date_and_its_number(starter):
    from striderule.model.identity import shot_identity

    plan, files = starter
    for name, data in files.items():
        if name.endswith(".pdf"):
            pages = pypdf.PdfReader(io.BytesIO(data)).pages
            for number, page in enumerate(pages, 1):
                text = page.extract_text()
                assert f", {shot_identity(plan.shot)[:12]}, 2026-11-25" in text
                assert f"{number} of {len(pages)}" in text


@pytest.mark.parametrize("name", ["floor.pdf", "gauge.pdf", "edge.pdf"])
def test_control_rulers_are_100_mm_both_ways(starter, name):
    with opened(starter[1][name]) as pdf:
        for page in pdf.pages:
            if "must measure 100 mm" not in page.extract_text():
                assert "Footprints from the datum" in page.extract_text()
                continue
            level = [abs(one["x1"] - one["x0"]) for one in page.lines if abs(one["top"] - one["bottom"]) < 1e-6]
            upright = [abs(one["bottom"] - one["top"]) for one in page.lines if abs(one["x0"] - one["x1"]) < 1e-6]
            for lengths in (level, upright):
                assert min(abs(length - HUNDRED) for length in lengths) < 0.001


def crosses(page) -> dict[str, list[tuple[float, float]]]:
    """Middles in mm of the bold crosses in the overlaps, by the pages that they join."""
    bold = [one for one in page.lines if abs(one["linewidth"] * MM - 0.5) < 0.001]
    level = [one for one in bold if abs(one["x1"] - one["x0"] - 8 / MM) < 0.01]
    found: dict[str, list[tuple[float, float]]] = {}
    for one in level:
        x, y = 0.5 * (one["x0"] + one["x1"]), one["top"]
        near = [word["text"] for word in page.extract_words()
                if 0 < word["x0"] - x < 5 and -14 < word["top"] - y < 0 and "/" in word["text"]]  # fmt: skip
        for pair in near:
            found.setdefault(pair, []).append((x * MM, y * MM))
    return found


def circles(page, radius_mm: float) -> np.ndarray:
    """(n, 2) middles in mm of circles of that radius."""
    found = [
        (0.5 * (one["x0"] + one["x1"]) * MM, 0.5 * (one["top"] + one["bottom"]) * MM)
        for one in page.curves
        if abs((one["x1"] - one["x0"]) * MM - 2 * radius_mm) < 0.01
        and abs((one["bottom"] - one["top"]) * MM - 2 * radius_mm) < 0.01
    ]
    return np.unique(np.round(np.array(found).reshape(-1, 2), 4), axis=0)


def test_ties_on_the_joined_template_are_where_the_plan_has_them(starter):
    """Pages are joined by their crosses alone, as hands do it; each tie-down is then within 0.05 mm of the plan's,
    across every seam."""
    plan, files = starter
    with opened(files["floor.pdf"]) as pdf:
        pages = [page for page in pdf.pages if "Drill" in page.extract_text() and circles(page, 1.6).size]
        shift = {0: np.zeros(2)}
        marks = [crosses(page) for page in pages]
        for k in range(1, len(pages)):
            pair = f"{k}/{k + 1}"
            assert len(marks[k][pair]) == len(marks[k - 1][pair]) == 2
            shift[k] = shift[k - 1] + np.mean(np.array(marks[k - 1][pair]) - np.array(marks[k][pair]), axis=0)
        on_paper = np.concatenate([circles(page, 1.6) + shift[k] for k, page in enumerate(pages)])
        datum = np.concatenate([circles(page, 3.0) + shift[k] for k, page in enumerate(pages)])[0]
    assert len(pages) >= 2
    found = (on_paper - datum) * (1.0, -1.0)
    # from poses.csv alone: a flat foot's tie-down is its ankle's place and what the puppet's file says of its tie
    table = list(csv.DictReader(io.StringIO(poses_csv_text(plan))))
    wanted = {
        (round(float(row[f"{leg.name}_ankle_x_mm"]) + leg.tie_mm[0], 2),
         round(float(row[f"{leg.name}_ankle_y_mm"]) + leg.tie_mm[1], 2))
        for row in table for leg in plan.shot.puppet.legs if row[f"{leg.name}_state"] == "planted"
    }  # fmt: skip
    assert len(wanted) >= 6
    for place in wanted:
        assert np.linalg.norm(found - place, axis=1).min() < 0.05
    for place in found:  # and nothing else is drilled
        assert np.linalg.norm(np.array([one.place_mm[:2] for one in plan.stances]) - place, axis=1).min() < 60


def test_prints_have_the_length_and_width_of_the_puppets_soles(starter):
    plan, files = starter
    legs = plan.shot.puppet.legs
    sizes = {(leg.heel_behind_mm + leg.ball_ahead_mm + leg.toe_mm, leg.sole_width_mm) for leg in legs}
    with opened(files["floor.pdf"]) as pdf:
        shapes = [((one["x1"] - one["x0"]) * MM, (one["bottom"] - one["top"]) * MM)
                  for page in pdf.pages for one in page.curves if len(one["pts"]) > 60]  # fmt: skip
    assert shapes
    for shape in shapes:
        assert min(np.hypot(shape[0] - length, shape[1] - width) for length, width in sizes) < 0.05


def test_marks_of_the_height_gauge_are_at_the_reference_points_heights(starter):
    plan, files = starter
    with opened(files["gauge.pdf"]) as pdf:
        heights: list[float] = []
        for page in pdf.pages:
            bold = [one for one in page.lines if abs(one["linewidth"] * MM - 0.5) < 0.001]
            floor = max(one["top"] for one in bold)
            level = [one for one in page.lines if abs(one["top"] - one["bottom"]) < 1e-6]
            short = [one for one in level if abs((one["x1"] - one["x0"]) * MM - 2.5) < 0.002]
            heights += [(floor - one["top"]) * MM for one in short]
    for height in plan.reference_mm[:, 2]:
        assert np.abs(np.array(heights) - height).min() < 0.051


def test_marks_of_the_edge_strip_are_as_far_apart_as_the_poses(starter):
    plan, files = starter
    with opened(files["edge.pdf"]) as pdf:
        marks = [one for one in pdf.pages[0].lines if abs((one["bottom"] - one["top"]) * MM - 4.0) < 0.002]
    first = min(one["top"] for one in marks)  # of the first piece
    strip = sorted({round(one["x0"] * MM, 3) for one in marks if abs(one["top"] - first) < 1})
    wanted = np.diff(np.sort(plan.reference_mm[:, 0]))[:12]
    np.testing.assert_allclose(np.diff(strip)[:12], wanted, atol=0.01)


@pytest.mark.parametrize("fps", ["12", "24", "25", "30000/1001", "24000/1001"])
def test_timecodes_of_the_exposure_sheet_agree_with_the_timecode_package(fps):
    """29.97 drop-frame included, over the end of a minute, where it drops two numbers."""
    shot = load_shot(starter_paths()["heron"])
    held = 51 if fps == "30000/1001" else 2
    plan = solve(replace(shot, fps=fps, frames_per_pose=held))
    rate = {"30000/1001": "29.97", "24000/1001": "23.976"}.get(fps, fps)
    data = sheet_files(plan, "x.toml", SheetOptions(DAY, only=("exposure",)))["exposure.csv"]
    table = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    assert len(table) == plan.frames
    for row in table:
        code = Timecode(rate, frames=int(row["frame"]))
        assert row["timecode"].replace(";", ":") == str(code).replace(";", ":")
    if fps == "30000/1001":
        assert any(row["timecode"] == "00:01:00;02" for row in table)
        assert not any(row["timecode"] in ("00:01:00;00", "00:01:00;01") for row in table)


def test_the_exposure_sheet_on_paper_has_every_pose_and_timecode_of_the_table(starter):
    plan, files = starter
    table = list(csv.DictReader(io.StringIO(files["exposure.csv"].decode("utf-8-sig"))))
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(files["exposure.pdf"])).pages)
    for row in table:
        assert row["timecode"] in text
        assert f"({row['move along mm']})" in text or row["pose"] == "1"
    assert text.count("\n00:00:") == plan.frames
