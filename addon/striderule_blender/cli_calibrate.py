"""`striderule calibrate`: a lens file from several stills of the printed board."""

from __future__ import annotations

import argparse
import math

from striderule.camera.match.calibrating import FEWEST_CORNERS, FEWEST_STILLS, calibrate
from striderule.camera.match.guess import FOCAL
from striderule.camera.match.knowledge import covariance_of
from striderule.camera.match.known_points import KnownPoints
from striderule.camera.match.opencv import board_corners
from striderule.draw.stills import read_still
from striderule.errors import FileError, ModelError
from striderule.export.files import make_folder, write_text
from striderule.export.findings_json import findings_lines
from striderule.model.camerafile import dump_lens

from .cli_console import Console
from .cli_stills import chosen_board, focal_px_of, refuse_taken, sensor_of


def calibrate_lens(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: how sure the lens is, is told. Raises StrideruleError."""
    board = chosen_board(chosen)
    boards: list[KnownPoints] = []
    names: list[str] = []
    size, focal, sensor = None, None, None
    for number, path in enumerate(chosen.stills, 1):
        still = read_still(path)
        if size is not None and still.size != size:
            raise FileError(path, 0, "", f"a still of {size[0]} x {size[1]}, as the first one is",
                            f"one of {still.size[0]} x {still.size[1]}",
                            "Take all of them with one camera at its full size, held the same way up.")  # fmt: skip
        if size is None:
            size, focal, sensor = (
                still.size,
                focal_px_of(chosen, still.facts, still.size),
                sensor_of(chosen, still.facts),
            )
        found = board_corners(still.grey, board)
        if found is None or len(found) < FEWEST_CORNERS:
            console.log(f"{path}: left out, {'no' if found is None else len(found)} corners of the board can be read")
        else:
            boards.append(found)
            names.append(path.name)
        console.progress(number, len(chosen.stills), "still")
    if size is None or len(boards) < FEWEST_STILLS:
        expected = f"{FEWEST_STILLS} or more in which {FEWEST_CORNERS} corners of the board can be read"
        cure = "Take 8 to 15, sharp and evenly lit: near and far, tilted every way, in every corner."
        raise ModelError("stills", expected, f"{len(boards)} of {len(chosen.stills)}", cure)
    result = calibrate(boards, size, focal, sensor, chosen.name or chosen.out.stem, names)
    text = dump_lens(result.lens)
    refuse_taken(chosen.out, text, chosen.replace)
    make_folder(chosen.out.parent)
    write_text(chosen.out, text)
    for line in findings_lines(result.findings):
        console.finding(line)
    lens = result.lens
    sure = 100 * math.sqrt(covariance_of(lens)[FOCAL, FOCAL])
    mm = f" ({lens.lens_mm:.2f} mm)" if lens.lens_mm else ""
    k1, k2 = lens.distortion[:2]
    console.result(
        f"{chosen.out}: {len(boards)} stills, corners {lens.rms_px:.2f} px off; focal length {lens.focal_px[0]:.1f} px"
        f"{mm}, sure to {sure:.2f} %; centre {lens.centre_px[0]:.1f}, {lens.centre_px[1]:.1f}; k1 {k1:.4f}, k2 {k2:.4f}"
    )
    return 0
