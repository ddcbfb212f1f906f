"""Points files, EXIF data, clicks made finer, and the commands of the taking camera."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage
from striderule.camera.match.exif import still_facts
from striderule.camera.match.known_points import KnownPoints
from striderule.camera.match.points_csv import parse_points
from striderule.camera.match.refining import REFINED_PX, refined
from striderule.camera.placing import look_at
from striderule.draw.png import encode
from striderule.errors import FileError
from striderule.model.camerafile import load_camera
from striderule.model.view import View
from striderule_blender.cli import main

SIZE = 1920, 1080
POINTS = np.array(
    [(x, y, 0.0) for x in (-200, -70, 70, 200) for y in (-70, 70)]
    + [(-180.0, 60, 150), (180, 60, 150), (-180, -60, 120), (150, -70, 200)]
)


def camera(azimuth: float = -75.0, focal: float = 1920.0, k1: float = 0.0) -> View:
    """700 mm from the stage's middle, 10 degrees above it."""
    turn, low = np.radians(azimuth), np.radians(10.0)
    target = np.array((0.0, 0.0, 90.0))
    eye = target + 700 * np.array((np.cos(turn) * np.cos(low), np.sin(turn) * np.cos(low), np.sin(low)))
    rotation = look_at(eye, target)
    return View("true", *SIZE, focal, focal, 959.5, 539.5, rotation, -rotation @ eye, (k1, 0.0, 0.0, 0.0, 0.0))


def clicks(view: View, noise: float = 0.0) -> KnownPoints:
    pixels, _ = pixels_from_stage(view, POINTS)
    return KnownPoints.of(POINTS, pixels + np.random.default_rng(1).normal(0, noise, pixels.shape))


HEAD = "name,x_mm,y_mm,z_mm,u_px,v_px"


def points_text(points: KnownPoints, extra: str = "") -> str:
    rows = [
        f"{name},{x:.3f},{y:.3f},{z:.3f},{u:.3f},{v:.3f}"
        for name, (x, y, z), (u, v) in zip(points.names, points.stage_mm.tolist(), points.pixels.tolist(), strict=True)
    ]
    return "\n".join([HEAD, *rows]) + "\n" + extra


# points files


def test_a_points_file_reads_with_any_separator_order_and_comments() -> None:
    text = "# measured on Monday\nname;u_px;v_px;x_mm;y_mm;z_mm;check;sigma_px\n\nnail;10;20;1;2;3;;\n"
    text += "ruler top;30.5;40;5;6;7;x;0.2\n"
    file = parse_points(text, "p.csv")
    assert file.points.names == ("nail", "ruler top")
    assert file.points.stage_mm.tolist() == [[1, 2, 3], [5, 6, 7]]
    assert file.points.pixels.tolist() == [[10, 20], [30.5, 40]]
    assert file.points.check.tolist() == [False, True]
    assert file.points.sigma_px.tolist() == [0.5, 0.2]
    assert file.lines == (4, 5)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("\n\n", "line 1: expected a first line name,x_mm"),
        ("name,x,y,z,u,v\n", r"line 1: expected columns out of .*, given 'x'"),
        ("name,x_mm,y_mm,z_mm,u_px\n", r"line 1: expected the columns .*, given none of the name v_px"),
        (f"{HEAD}\na,1,2,3,4\n", r"line 2: expected 6 values, one for every name of the first line, given 5"),
        (f"{HEAD}\na,1,2,3,4,five\n", r"line 2: v_px: expected a number in pixels, given 'five'"),
        (f"{HEAD}\na,1,2,nan,4,5\n", r"line 2: z_mm: expected a number in mm, given 'nan'"),
        (f"{HEAD}\na,1,2,3,4,5\na,1,2,3,4,6\n", r"line 3: name: expected a name of its own, given 'a' once more"),
        (f"{HEAD},check\na,1,2,3,4,5,maybe\n", r"line 2: check: expected 1 for a point that is kept out"),
    ],
)
def test_a_bad_points_file_is_refused_with_its_line(text: str, message: str) -> None:
    with pytest.raises(FileError, match=message):
        parse_points(text, "p.csv")


# EXIF


def exif(order: str, tags: dict[int, tuple[int, bytes, int]], inner: dict[int, tuple[int, bytes, int]]) -> bytes:
    """A TIFF block after TIFF 6.0: a directory, the EXIF directory, then values that do not fit in four bytes."""
    head = b"II*\0" if order == "<" else b"MM\0*"
    first = 8
    second = first + 2 + 12 * (len(tags) + 1) + 4
    heap = second + 2 + 12 * len(inner) + 4
    out, extra = bytearray(head + struct.pack(order + "I", first)), bytearray()
    for entries, more in ((tags, True), (inner, False)):
        listed = {**entries, 0x8769: (4, struct.pack(order + "I", second), 1)} if more else entries
        out += struct.pack(order + "H", len(listed))
        for tag in sorted(listed):
            kind, value, count = listed[tag]
            if len(value) > 4:
                place = struct.pack(order + "I", heap + len(extra))
                extra += value
            else:
                place = value.ljust(4, b"\0")
            out += struct.pack(order + "HHI", tag, kind, count) + place
        out += struct.pack(order + "I", 0)
    return bytes(out + extra)


def jpeg(block: bytes, width: int, height: int) -> bytes:
    """Markers after ITU-T T.81: SOI, APP1, SOF0, EOI."""
    app1 = b"\xff\xe1" + struct.pack(">H", len(block) + 8) + b"Exif\0\0" + block
    frame = b"\xff\xc0" + struct.pack(">HBHHB", 17, 8, height, width, 3) + b"\1\x22\0\2\x11\1\3\x11\1"
    return b"\xff\xd8" + app1 + frame + b"\xff\xd9"


@pytest.mark.parametrize("order", ["<", ">"])
def test_focal_length_and_sensor_are_read_from_a_jpeg(order: str) -> None:
    inner = {
        0x920A: (5, struct.pack(order + "II", 350, 10), 1),
        0xA20E: (5, struct.pack(order + "II", 60000000, 9150), 1),  # pixels a cm on the sensor
        0xA210: (3, struct.pack(order + "H", 3), 1),
    }
    facts = still_facts(jpeg(exif(order, {}, inner), 6000, 4000))
    assert facts.size == (6000, 4000)
    assert facts.lens_mm == 35
    assert facts.sensor_mm == pytest.approx((9.15, 6.1))
    assert facts.focal_px == pytest.approx(35 / 9.15 * 6000)


def test_the_sensor_follows_from_the_35_mm_equivalent_where_nothing_else_is_said() -> None:
    """CIPA DCG-001: equivalent focal lengths compare diagonals, 43.27 mm for 36 x 24."""
    inner = {0x920A: (5, struct.pack("<II", 25, 1), 1), 0xA405: (3, struct.pack("<H", 50), 1)}
    facts = still_facts(jpeg(exif("<", {}, inner), 4000, 3000))
    assert facts.sensor_mm == pytest.approx((17.31, 12.98), abs=0.01)


def test_a_still_stored_on_its_side_is_upright_in_what_is_said_of_it() -> None:
    tags = {0x0112: (3, struct.pack("<H", 6), 1)}
    inner = {0x920A: (5, struct.pack("<II", 50, 1), 1), 0xA405: (3, struct.pack("<H", 50), 1)}
    facts = still_facts(jpeg(exif("<", tags, inner), 6000, 4000))
    assert facts.size == (4000, 6000)
    assert facts.sensor_mm == pytest.approx((24, 36))


def test_png_and_tiff_are_read_too_and_damaged_files_say_nothing() -> None:
    block = exif("<", {}, {0x920A: (5, struct.pack("<II", 24, 1), 1)})
    data = encode(np.zeros((20, 30, 3), np.uint8))
    chunk = struct.pack(">I4s", len(block), b"eXIf") + block + struct.pack(">I", zlib.crc32(b"eXIf" + block))
    facts = still_facts(data[:33] + chunk + data[33:])
    assert (facts.size, facts.lens_mm) == ((30, 20), 24)
    size = {0x0100: (4, struct.pack("<I", 640), 1), 0x0101: (4, struct.pack("<I", 480), 1)}
    assert still_facts(exif("<", size, {})).size == (640, 480)
    rng = np.random.default_rng(0)
    whole = jpeg(exif("<", size, {0x920A: (5, struct.pack("<II", 24, 1), 1)}), 64, 48)
    for _ in range(300):
        broken = bytearray(whole)
        for place in rng.integers(2, len(whole), 4):
            broken[place] = rng.integers(0, 256)
        still_facts(bytes(broken[: rng.integers(2, len(whole))]))  # never raises
    assert still_facts(b"no picture").size is None


# clicks made finer


def picture(shape: str, at: tuple[float, float]) -> np.ndarray:
    """A 64 x 64 still with a corner or a dark dot at a place between pixels: 16 x 16 samples a pixel, then blurred."""
    fine = (np.arange(64 * 16) + 0.5) / 16 - 0.5
    x, y = fine[None, :] - at[0], fine[:, None] - at[1]
    if shape == "corner":
        inside = (x * 0.97 + y * 0.24 > 0) != (y * 0.97 - x * 0.24 > 0)
    else:
        inside = x**2 + y**2 < 3.5**2
    values = np.where(inside, 60.0, 200.0).reshape(64, 16, 64, 16).mean(axis=(1, 3))
    for axis in (0, 1):
        values = (np.roll(values, 1, axis) + 2 * values + np.roll(values, -1, axis)) / 4
    return values


@pytest.mark.parametrize("kind", ["corner", "dot"])
def test_clicks_are_moved_to_the_middle_of_what_they_lie_on(kind: str) -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        at = rng.uniform(28, 35, 2)
        grey = picture(kind, (at[0], at[1])) + rng.normal(0, 2, (64, 64))
        points = KnownPoints.of([(0, 0, 0)], [at + rng.uniform(-2, 2, 2)])
        found, left = refined(points, grey, kind)
        assert left == []
        assert np.linalg.norm(found.pixels[0] - at) < 0.12
        assert found.sigma_px[0] == REFINED_PX


@pytest.mark.parametrize("kind", ["corner", "dot"])
def test_a_click_on_nothing_is_left_as_it_was(kind: str) -> None:
    rng = np.random.default_rng(8)
    points = KnownPoints.of([(0, 0, 0), (1, 0, 0)], [(30.2, 31.0), (1.0, 2.0)])
    found, left = refined(points, 100 + rng.normal(0, 2, (64, 64)), kind)
    assert left == ["1", "2"]
    assert np.array_equal(found.pixels, points.pixels)
    assert found.sigma_px.tolist() == [0.5, 0.5]


# the commands


def test_match_writes_a_camera_file_that_a_shot_can_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    view = camera(k1=-0.03, focal=1960)
    (tmp_path / "p.csv").write_text(points_text(clicks(view, 0.3)), encoding="utf-8")
    still = encode(np.full((SIZE[1], SIZE[0], 3), 120, np.uint8))
    (tmp_path / "still.png").write_bytes(still)
    out, picture = tmp_path / "desk.camera.toml", tmp_path / "error.png"
    arguments = ["match", "--points", str(tmp_path / "p.csv"), "--still", str(tmp_path / "still.png"),
                 "--lens-mm", "36", "--sensor", "36x24", "--out", str(out),
                 "--picture", str(picture), "--json", str(tmp_path / "f.json")]  # fmt: skip
    assert main(arguments) == 0
    said = capsys.readouterr().out
    assert "[match-lens-guessed]" in said
    assert "12 points" in said
    found = load_camera(out)
    assert found.still_px == SIZE
    assert found.sensor_mm == (36.0, 20.25)
    assert found.focal_px[0] == pytest.approx(1960, rel=0.02)
    assert found.place_mm == pytest.approx(tuple(-view.translation_mm @ view.rotation), abs=12)
    assert picture.read_bytes()[:4] == b"\x89PNG"
    assert '"match-lens-guessed"' in (tmp_path / "f.json").read_text(encoding="utf-8")
    assert main(arguments[:-4]) == 0  # the same content may be written again
    (tmp_path / "desk.camera.toml").write_text("mine", encoding="utf-8")
    assert main(arguments) == 3
    assert (tmp_path / "desk.camera.toml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--size", "1920x1080"], "--lens-mm: expected a focal length and a sensor"),
        (["--size", "1920"], "expected two numbers above 0 as 36x24, given '1920'"),
        ([], "--still: expected the still's file, or with points alone --size WIDTHxHEIGHT, given neither"),
        (["--size", "640x360", "--focal-px", "640"], "p.csv, line 2: point 1: expected a pixel inside the still"),
        (["--size", "1920x1080", "--lens", "none.toml"], "none.toml: expected a lens file, given a name that does not"),
    ],
)  # fmt: skip
def test_match_refuses_with_one_message(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    (tmp_path / "p.csv").write_text(points_text(clicks(camera())), encoding="utf-8")
    assert main(["match", "--points", str(tmp_path / "p.csv"), *options]) == 2
    assert message in capsys.readouterr().err


def test_match_names_file_and_line_of_points_changed_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    points = clicks(camera(-60), 0.3)
    order = np.arange(len(POINTS))
    order[[2, 10]] = 10, 2
    text = points_text(KnownPoints.of(points.stage_mm, points.pixels[order]))
    (tmp_path / "p.csv").write_text(text, encoding="utf-8")
    assert main(["match", "--points", str(tmp_path / "p.csv"), "--size", "1920x1080", "--focal-px", "1920"]) == 2
    assert "p.csv, line 4: point 3: expected the pixel of its own place" in capsys.readouterr().err


def test_a_still_of_another_size_than_said_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "p.csv").write_text(points_text(clicks(camera())), encoding="utf-8")
    (tmp_path / "still.png").write_bytes(encode(np.zeros((54, 96, 3), np.uint8)))
    code = main(["match", "--points", str(tmp_path / "p.csv"), "--still", str(tmp_path / "still.png"), "--size",
                 "1920x1080", "--focal-px", "1920"])  # fmt: skip
    assert code == 2
    assert "expected a still of 1920 x 1080, as --size says, given one of 96 x 54" in capsys.readouterr().err


def test_the_board_command_writes_the_same_pdf_every_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "board.pdf"
    assert main(["board", str(out), "--paper", "a4"]) == 0
    first = out.read_bytes()
    assert first.startswith(b"%PDF-")
    assert main(["board", str(out), "--paper", "a4"]) == 0
    assert out.read_bytes() == first
    assert main(["board", str(out), "--paper", "a4", "--standing"]) == 3
    assert main(["board", str(tmp_path / "board.png")]) == 2
    assert "--printed LONGxSHORT" in capsys.readouterr().out
