"""The match of a camera against OpenCV, scipy, and boards rendered into stills with blur, noise and distortion."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from scipy.optimize import least_squares

from striderule.camera.lens import eye_mm, pixels_from_stage, plane_from_pixels
from striderule.camera.match.accuracy import Volume, accuracy_over
from striderule.camera.match.board import COLUMNS, ROWS, Board, board_on, marker_cells, on_the_floor
from striderule.camera.match.bundle import solve_boards
from striderule.camera.match.calibrating import calibrate
from striderule.camera.match.guess import FOCAL, LENS, POSE
from striderule.camera.match.knowledge import guessed, known
from striderule.camera.match.known_points import KnownPoints
from striderule.camera.match.opencv import board_corners
from striderule.camera.match.solving import solve_camera
from striderule.camera.matched_view import cropped, view_of_setup
from striderule.camera.placing import look_at
from striderule.draw.png import encode
from striderule.model.matched import Lens, MatchedCamera
from striderule.model.view import CameraSetup, View
from striderule_blender.cli import main

W, H = SIZE = 1920, 1080
X, Y, Z = np.eye(3)
VOLUME = Volume((-30.0, 40.0, 0.0), (470.0, 200.0, 250.0))
"""500 x 160 x 250 mm over the floor board."""

MIDDLE = np.array((190.0, 120.0, 70.0))


def camera(
    down: float,
    azimuth: float,
    far: float = 820.0,
    size=SIZE,
    focal=1920.0,
    lens=(-0.06, 0.01, 0.0, 0.0, 0.0),
    at=MIDDLE,
) -> View:
    low, turn = math.radians(down), math.radians(azimuth)
    eye = at + far * np.array((math.cos(turn) * math.cos(low), math.sin(turn) * math.cos(low), math.sin(low)))
    rotation = look_at(eye, at)
    centre = (size[0] - 1) / 2 + 5.0, (size[1] - 1) / 2 - 4.0
    return View("true", *size, focal, focal, *centre, rotation, -rotation @ eye, lens)


def picture_of(board: Board, square: int = 60) -> np.ndarray:
    """The printed board in pixels, with a white margin of one square."""
    sheet = np.full(((ROWS + 2) * square, (COLUMNS + 2) * square), 255, np.uint8)
    for row in range(ROWS):
        for column in range(COLUMNS):
            if (row + column) % 2 == 0:
                sheet[(row + 1) * square : (row + 2) * square, (column + 1) * square : (column + 2) * square] = 0
    side, inset = 3 * square // 4, square // 8
    for column, row, marker in board.markers:
        cells = np.where(marker_cells(marker), 255, 0).astype(np.uint8)
        top, left = (row + 1) * square + inset, (column + 1) * square + inset
        sheet[top : top + side, left : left + side] = cv2.resize(cells, (side, side), interpolation=cv2.INTER_NEAREST)
    return sheet


def rendered(view: View, sheets: list, rng: np.random.Generator, fine: int = 2) -> np.ndarray:
    """A still (height, width) of boards: (board, datum corner, its long side, its short side), later ones in front.
    Each pixel is the mean of fine x fine rays, then blurred by .7 px and given noise of 3 grey levels."""
    u, v = np.meshgrid(
        (np.arange(view.width * fine) + 0.5) / fine - 0.5, (np.arange(view.height * fine) + 0.5) / fine - 0.5
    )
    step = 8  # rays are read between those of every eighth pixel; a lens bends by .001 px more between
    across, up = np.arange(-1, view.width // step + 2) * step, np.arange(-1, view.height // step + 2) * step
    known_rays = plane_from_pixels(view, np.stack(np.meshgrid(across, up), axis=-1).astype(float)).astype(np.float32)
    places = ((u - across[0]) / step).astype(np.float32), ((v - up[0]) / step).astype(np.float32)
    i, j = np.floor(places[0]).astype(int), np.floor(places[1]).astype(int)
    fx, fy = (places[0] - i)[..., None], (places[1] - j)[..., None]
    upper = known_rays[j, i] * (1 - fx) + known_rays[j, i + 1] * fx
    lower = known_rays[j + 1, i] * (1 - fx) + known_rays[j + 1, i + 1] * fx
    plane = upper * (1 - fy) + lower * fy
    rays = np.concatenate([plane, np.ones((*plane.shape[:2], 1))], axis=-1) @ view.rotation
    eye = eye_mm(view)
    out = np.full(u.shape, 140.0)
    for board, corner, along, up_side in sheets:
        normal = np.cross(along, up_side)
        reach = ((corner - eye) @ normal) / (rays @ normal)
        place = eye + rays * reach[..., None] - corner
        sheet, square = picture_of(board).astype(np.float32), 60
        column = ((place @ along) / board.paper.square_mm + 1) * square - 0.5
        row = (ROWS + 1 - (place @ up_side) / board.paper.square_mm) * square - 0.5
        seen = cv2.remap(sheet, column.astype(np.float32), row.astype(np.float32), cv2.INTER_LINEAR)
        inside = (reach > 0) & (column > 0) & (column < sheet.shape[1] - 1) & (row > 0) & (row < sheet.shape[0] - 1)
        out = np.where(inside, 20 + 0.8 * seen, out)
    still = cv2.resize(out.astype(np.float32), (view.width, view.height), interpolation=cv2.INTER_AREA)
    still = cv2.GaussianBlur(still, (0, 0), 0.7) + rng.normal(0, 3, still.shape)
    return np.clip(np.round(still), 0, 255).astype(np.uint8)


def worst_error(view: View, match, volume: Volume = VOLUME) -> float:
    places = accuracy_over(match, volume).places_mm
    away = pixels_from_stage(view, places)[0] - pixels_from_stage(match.view(), places)[0]
    return float(np.linalg.norm(away, axis=1).max())


def floor_in(still: np.ndarray, board: Board) -> KnownPoints:
    found = board_corners(still, board)
    assert found is not None
    return found.with_stage(on_the_floor(found.stage_mm))


def true_lens(view: View) -> Lens:
    return Lens((view.width, view.height), (view.fx, view.fy), (view.cx, view.cy), view.distortion)


# mapping


@pytest.mark.parametrize(
    ("size", "focal", "roll"),
    [
        ((1080, 1920), (2400.0, 2400.0), 3.0),
        ((1440, 1080), (1500.0, 2000.0), -8.0),
        ((6000, 4000), (8333.0, 8333.0), 0.5),
    ],
)
@pytest.mark.parametrize("lens", [(0.0,) * 5, (-0.2, 0.05, 0.001, -0.0008, -0.01), (0.1, -0.03, -0.0006, 0.001, 0.004)])
def test_a_matched_view_of_a_shot_maps_as_opencv_does(size, focal, roll, lens):
    """cv2.projectPoints of the same numbers, to 1e-6 px: portrait, pixels that are not square, shifts, 6000 x 4000; and
    through crop and scale, where the camera's matrix is scaled about the pixels' edges."""
    centre = (size[0] - 1) / 2 + 41.3, (size[1] - 1) / 2 - 77.7
    camera = MatchedCamera(size, (310.0, -820.0, 240.0), 98.5, -9.0, roll, focal, centre, lens)
    crop = (100, 60, size[0] - 300, size[1] - 200)
    for setup in (
        CameraSetup("desk", matched=camera, resolution=size),
        CameraSetup("desk", matched=camera, resolution=(960, 540), crop_px=crop),
    ):
        view = view_of_setup(setup)
        points = np.random.default_rng(7).uniform((0, -80, 0), (400, 80, 250), (500, 3))
        turn, _ = cv2.Rodrigues(view.rotation)
        left, top, wide, high = setup.crop
        sx, sy = setup.resolution[0] / wide, setup.resolution[1] / high
        matrix = np.array([(focal[0] * sx, 0, (centre[0] - left + 0.5) * sx - 0.5),
                           (0, focal[1] * sy, (centre[1] - top + 0.5) * sy - 0.5), (0, 0, 1)])  # fmt: skip
        theirs, _ = cv2.projectPoints(points, turn, view.translation_mm, matrix, np.array(lens))
        ours, _ = pixels_from_stage(view, points)
        assert np.abs(ours - theirs.reshape(-1, 2)).max() < 1e-6
    assert cropped(view_of_setup(setup), (0, 0, 960, 540), (960, 540)).fx == view.fx


# the solver


def clicked(rng: np.random.Generator, view: View) -> KnownPoints:
    places = np.concatenate(
        [rng.uniform((-20, 30, 0), (440, 210, 0), (8, 3)), rng.uniform((0, 40, 90), (420, 200, 220), (4, 3))]
    )
    pixels, _ = pixels_from_stage(view, places)
    return KnownPoints.of(places, pixels + rng.normal(0, 0.5, pixels.shape))


def test_the_solver_reaches_the_minimum_that_scipy_reaches():
    """scipy.optimize.least_squares on the same sum of squares from the true camera: never lower by more than 1e-6."""
    rng = np.random.default_rng(21)
    for _ in range(25):
        view = camera(rng.uniform(8, 30), rng.uniform(-150, -30))
        points = clicked(rng, view)
        knowledge = guessed(SIZE, 1900.0)
        match = solve_camera(points, SIZE, knowledge)
        free = knowledge.free

        def residuals(step: np.ndarray, match=match, points=points, knowledge=knowledge, free=free) -> np.ndarray:
            whole = np.zeros(POSE + LENS)
            whole[:POSE], whole[POSE + free] = step[:POSE], step[POSE:]
            guess = match.guess.moved(whole)
            misses = (guess.pixels(points.stage_mm)[0] - points.pixels) / points.sigma_px[:, None]
            return np.concatenate([misses.reshape(-1), (guess.lens - knowledge.start)[free] / knowledge.spread[free]])

        scale = np.array([1e-3] * 3 + [1.0] * 3 + knowledge.spread[free].tolist())
        ours = float((residuals(np.zeros(POSE + len(free))) ** 2).sum())
        theirs = least_squares(
            residuals, scale * rng.normal(0, 0.5, len(scale)), x_scale=scale, method="trf", xtol=1e-14
        )
        assert ours <= 2 * theirs.cost + 1e-6


def test_the_pose_is_opencvs_where_the_lens_is_known():
    """cv2.solvePnP with its iterative refinement, started from the true pose: 1e-3 mm and 1e-3 px."""
    rng = np.random.default_rng(22)
    for _ in range(25):
        view = camera(rng.uniform(8, 30), rng.uniform(-150, -30))
        points = clicked(rng, view)
        match = solve_camera(points, SIZE, known(true_lens(view), SIZE))
        matrix = np.array([(view.fx, 0, view.cx), (0, view.fy, view.cy), (0, 0, 1.0)])
        turn, _ = cv2.Rodrigues(view.rotation)
        known_lens = matrix, np.array(view.distortion)
        start = turn.copy(), view.translation_mm.reshape(3, 1).copy()
        places, pixels = points.stage_mm, points.pixels
        _, turn, moved = cv2.solvePnP(places, pixels, *known_lens, *start, True, cv2.SOLVEPNP_ITERATIVE)
        turn, moved = cv2.solvePnPRefineLM(places, pixels, *known_lens, turn, moved, (3, 200, 1e-14))
        rotation, _ = cv2.Rodrigues(turn)
        assert eye_mm(match.view()) == pytest.approx((-rotation.T @ moved).reshape(3), abs=2e-3)
        theirs, _ = cv2.projectPoints(VOLUME.places(), turn, moved, matrix, np.array(view.distortion))
        assert np.abs(theirs.reshape(-1, 2) - pixels_from_stage(match.view(), VOLUME.places())[0]).max() < 5e-3


# the printed board


@pytest.mark.parametrize("standing", [False, True])
def test_the_board_is_the_one_that_opencv_makes(standing):
    """cv2.aruco.CharucoBoard.generateImage, pixel by pixel away from cells' edges; and its corners' places."""
    board = board_on("a3", standing)
    ids = np.array([marker for _, _, marker in board.markers], np.int32)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    theirs = cv2.aruco.CharucoBoard((COLUMNS, ROWS), 35.0, 26.25, dictionary, ids)
    picture = theirs.generateImage((COLUMNS * 80, ROWS * 80), marginSize=0)
    ours = picture_of(board, 80)[80:-80, 80:-80]
    assert np.mean(picture != ours) < 0.02
    assert np.mean(cv2.erode((picture != ours).astype(np.uint8), np.ones((5, 5)))) == 0
    places = theirs.getChessboardCorners()[:, :2] * (1, -1) + (0, ROWS * 35)
    assert board.corners_mm == pytest.approx(places, abs=1e-4)


@pytest.mark.parametrize("down", [10, 14, 20, 30])
def test_a_floor_board_and_a_calibrated_lens_are_good_to_half_a_pixel(down):
    rng = np.random.default_rng(down)
    view = camera(down, -75 + down)
    points = floor_in(rendered(view, [(board_on("a3"), np.zeros(3), X, Y)], rng), board_on("a3"))
    assert len(points) >= 45
    match = solve_boards(points, [], SIZE, known(true_lens(view), SIZE))
    assert worst_error(view, match) < 0.5
    assert accuracy_over(match, VOLUME).worst_px < 1.0


@pytest.mark.parametrize("down", [10, 18])
def test_a_second_standing_board_holds_the_lens_without_being_measured(down):
    """Uncalibrated, the focal length typed 3 % wrong: at most 2 px over the volume. It leans back by 8 degrees."""
    rng = np.random.default_rng(down)
    view = camera(down, -70)
    leaning = math.cos(0.14) * Z + math.sin(0.14) * Y
    sheets = [(board_on("a3"), np.zeros(3), X, Y), (board_on("a3", True), np.array((10.0, 290.0, 2.0)), X, leaning)]
    still = rendered(view, sheets, rng)
    stood = board_corners(still, board_on("a3", True))
    assert stood is not None
    match = solve_boards(floor_in(still, board_on("a3")), [stood], SIZE, guessed(SIZE, 1920 * 1.03))
    assert worst_error(view, match) < 2.0
    assert abs(match.guess.lens[FOCAL] - math.log(1920)) < 0.005


@pytest.fixture(scope="module")
def hand_held() -> tuple[list[KnownPoints], View]:
    """Ten stills of a board held near and far, tilted every way."""
    rng = np.random.default_rng(33)
    found = []
    for k in range(10):
        at = np.array((192.0 + 70 * math.cos(1.9 * k), 122.0 + 45 * math.sin(1.9 * k), 0.0))
        view = camera(75 - 4.5 * k, 36 * k, 480 + 40 * (k % 4), at=at)
        points = board_corners(rendered(view, [(board_on("a3"), np.zeros(3), X, Y)], rng), board_on("a3"))
        if points is not None and len(points) >= 12:
            found.append(points)
    return found, camera(45, 0)


def test_a_lens_is_calibrated_from_stills_of_the_board(hand_held):
    """Focal length to .1 %, centre to 1.5 px, the whole picture's rays to .5 px; and it is as sure as it says."""
    boards, view = hand_held
    assert len(boards) >= 9
    result = calibrate(boards, SIZE)  # nothing known of the focal length
    lens = result.lens
    assert lens.focal_px[0] == pytest.approx(1920, rel=1e-3)
    assert lens.centre_px == pytest.approx((view.cx, view.cy), abs=1.5)
    own = View("own", *SIZE, *lens.focal_px, *lens.centre_px, view.rotation, view.translation_mm, lens.distortion)
    grid = np.stack(np.meshgrid(np.linspace(100, 1820, 9), np.linspace(60, 1020, 7)), axis=-1)
    plane = plane_from_pixels(view, grid)
    mine = plane_from_pixels(own, grid)
    away = (mine - plane).reshape(-1, 2) * 1920
    away -= away.mean(axis=0)  # a turn of the camera takes this up
    assert np.abs(away).max() < 0.5
    sure = math.sqrt(lens.covariance[0])
    assert abs(math.log(lens.focal_px[0] / 1920)) < 4 * sure + 2e-4


def test_the_calibration_is_opencvs(hand_held):
    """cv2.calibrateCamera of the same corners with the same model (one focal length, k1, k2, tangential): .1 %."""
    boards, _ = hand_held
    lens = calibrate(boards, SIZE, 1900.0).lens
    matrix = np.array([(1900.0, 0, 959.5), (0, 1900.0, 539.5), (0, 0, 1)])
    rms, matrix, bent, _, _ = cv2.calibrateCamera(
        [board.stage_mm.astype(np.float32) for board in boards], [board.pixels.astype(np.float32) for board in boards],
        SIZE, matrix, np.zeros(5), flags=cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_FIX_K3,
    )  # fmt: skip
    assert lens.focal_px[0] == pytest.approx(matrix[0, 0], rel=1e-3)
    assert lens.distortion[0] == pytest.approx(float(bent.ravel()[0]), abs=0.004)
    assert lens.rms_px <= rms * 1.2


def test_the_commands_calibrate_and_match_from_stills_on_disk(tmp_path, capsys):
    """A lens from five stills, then a camera from a sixth; a still without a board is refused."""
    rng = np.random.default_rng(44)
    board = board_on("a3")
    for k in range(5):
        view = camera(70 - 8 * k, 75 * k, 560, at=np.array((192.0 + 40 * (k - 2), 122.0, 0)))
        cv2.imwrite(str(tmp_path / f"{k}.jpg"), rendered(view, [(board, np.zeros(3), X, Y)], rng))
    lens = tmp_path / "lens.toml"
    assert main(["calibrate", *(str(tmp_path / f"{k}.jpg") for k in range(5)), "--out", str(lens)]) == 0
    assert "[lens-few]" in capsys.readouterr().out
    view = camera(14, -72)
    cv2.imwrite(str(tmp_path / "shot.jpg"), rendered(view, [(board, np.zeros(3), X, Y)], rng))
    out = tmp_path / "desk.camera.toml"
    still = ["--still", str(tmp_path / "shot.jpg")]
    assert main(["match", "--board", "a3", *still, "--lens", str(lens), "--out", str(out), "--printed", "200x200"]) == 0
    assert "over the stage up to" in capsys.readouterr().out
    empty = tmp_path / "empty.png"
    empty.write_bytes(encode(np.full((H, W, 3), 120, np.uint8)))
    assert main(["match", "--board", "a3", "--still", str(empty), "--focal-px", "1900"]) == 2
    assert (
        "empty.png: expected the printed board (a3) in the picture, given none that can be read"
        in capsys.readouterr().err
    )


def test_the_board_prints_at_true_scale(tmp_path):
    """pdfplumber reads page, rectangles and lines: ISO 216 A3 is 420 x 297 mm, ISO 32000-1 72 points an
    inch; a square of 35 mm, and control rulers of 200 mm in both directions."""
    import pdfplumber

    out = tmp_path / "board.pdf"
    assert main(["board", str(out)]) == 0
    mm = 72 / 25.4
    with pdfplumber.open(out) as document:
        page = document.pages[0]
        assert (float(page.width) / mm, float(page.height) / mm) == pytest.approx((420, 297), abs=0.01)
        squares = [one for one in page.rects if abs(float(one["width"]) / mm - 35) < 0.01]
        assert len(squares) == 39
        assert all(abs(float(one["height"]) / mm - 35) < 0.01 for one in squares)
        lines = [(float(one["x1"] - one["x0"]), float(one["bottom"] - one["top"])) for one in page.lines]
        spans = [(abs(wide) / mm, abs(high) / mm) for wide, high in lines]
        assert any(abs(wide - 200) < 0.01 for wide, _ in spans)
        assert any(abs(high - 200) < 0.01 for _, high in spans)
