"""`striderule match`: where the camera of a still stood and how it looked, from clicked points or a printed board."""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from striderule.camera.match.accuracy import Accuracy, Volume, accuracy_over
from striderule.camera.match.board import on_the_floor
from striderule.camera.match.bundle import solve_boards
from striderule.camera.match.exif import StillFacts, still_facts
from striderule.camera.match.knowledge import Knowledge, guessed, known
from striderule.camera.match.known_points import FEWEST, FEWEST_WITH_LENS
from striderule.camera.match.points_csv import read_points
from striderule.camera.match.refining import refined
from striderule.camera.match.remarks import check_lines, remarks
from striderule.camera.match.solving import Match, solve_camera
from striderule.camera.matched_view import matched_from_view
from striderule.camera.solids import solids_of
from striderule.draw.error_picture import error_picture
from striderule.draw.png import encode
from striderule.draw.stills import Still, read_still, still_bytes
from striderule.errors import FileError, ModelError
from striderule.export.files import make_folder, write_bytes, write_text
from striderule.export.findings_json import findings_lines, write_findings_json
from striderule.model.camerafile import dump_camera, load_lens
from striderule.model.matched import Lens
from striderule.model.shotfile import load_shot
from striderule.solve import solve

from .cli_console import Console
from .cli_stills import board_in, chosen_board, focal_px_of, refuse_taken, sensor_of


def match(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: how far the camera may be off is told. Raises StrideruleError."""
    lens = load_lens(chosen.lens) if chosen.lens else None
    still, facts = _still(chosen)
    size = _size(chosen, facts, lens)
    knowledge = _knowledge(chosen, facts, size, lens)
    found = _from_board(chosen, still, size, knowledge) if chosen.board else _from_points(
        chosen, still, size, knowledge, console
    )  # fmt: skip
    accuracy = accuracy_over(found, _volume(chosen, found))
    measured = None if not chosen.board else chosen.printed is not None
    findings = remarks(found, accuracy, measured, chosen.standing)
    sensor = lens.sensor_mm if lens else sensor_of(chosen, facts)
    camera = matched_from_view(found.view(), sensor, round(accuracy.worst_px, 2))
    text = dump_camera(camera)
    if chosen.out:
        refuse_taken(chosen.out, text, chosen.replace)
        make_folder(chosen.out.parent)
        write_text(chosen.out, text)
    if chosen.picture:
        make_folder(chosen.picture.parent)
        write_bytes(chosen.picture, encode(error_picture(found, accuracy, None if still is None else still.pixels)))
    if chosen.json:
        make_folder(chosen.json.parent)
        write_findings_json(chosen.json, chosen.still.name if chosen.still else chosen.points.name, findings)
    for line in (*findings_lines(findings), *check_lines(found)):
        console.finding(line)
    place = ", ".join(f"{one:.0f}" for one in camera.place_mm)
    mm = f" ({camera.lens_mm:.1f} mm)" if camera.lens_mm else ""
    where = chosen.out or "nothing written (--out NEW.camera.toml does)"
    console.result(
        f"{where}: camera at {place} mm, pan {camera.pan_deg:.1f}, tilt {camera.tilt_deg:.1f}, focal length "
        f"{camera.focal_px[0]:.0f} px{mm}; {_told(found, accuracy)}"
    )
    return 0


def _told(found: Match, accuracy: Accuracy) -> str:
    return (
        f"{len(found.points.used)} points, {found.rms_px:.2f} px off; over the stage up to {accuracy.worst_px:.1f} px, "
        f"in its middle {accuracy.middle_px:.1f} px (2 sigma)"
    )


def _still(chosen: argparse.Namespace) -> tuple[Still | None, StillFacts]:
    """The still's pixels where they are needed, and what its file says."""
    if chosen.still is None:
        if chosen.board or chosen.refine or not chosen.size:
            raise ModelError("--still", "the still's file, or with points alone --size WIDTHxHEIGHT", "neither")
        return None, StillFacts(None)
    if chosen.board or chosen.refine or chosen.picture:
        still = read_still(chosen.still)
        return still, replace(still.facts, size=still.size)
    return None, still_facts(still_bytes(chosen.still))


def _size(chosen: argparse.Namespace, facts: StillFacts, lens: Lens | None) -> tuple[int, int]:
    """The still's size; what --size says must be the same."""
    typed = None if chosen.size is None else (round(chosen.size[0]), round(chosen.size[1]))
    if facts.size is None and typed is None:
        raise FileError(chosen.still, 0, "", "a still (PNG, JPEG or TIFF)", "something else, or a damaged file",
                        "Give its size as well: --size WIDTHxHEIGHT.")  # fmt: skip
    if facts.size is not None and typed is not None and facts.size != typed:
        raise FileError(chosen.still, 0, "", f"a still of {typed[0]} x {typed[1]}, as --size says",
                        f"one of {facts.size[0]} x {facts.size[1]}",
                        "Name the still that was clicked in.")  # fmt: skip
    return facts.size or typed or (0, 0)


def _knowledge(
    chosen: argparse.Namespace, facts: StillFacts, size: tuple[int, int], lens: Lens | None
) -> Knowledge:  # fmt: skip
    if lens is not None:
        try:
            return known(lens, size)
        except ModelError as error:
            raise FileError(chosen.still or chosen.lens, 0, "", error.expected, error.given, error.cure) from error
    focal = focal_px_of(chosen, facts, size)
    if focal is None:
        raise ModelError("--lens-mm", "a focal length and a sensor, which the still does not tell", "none",
                         "Give --lens-mm 35 --sensor 36x24 as your camera has them, or --focal-px, or a calibrated "
                         "lens (--lens).")  # fmt: skip
    return guessed(size, focal)


def _from_board(chosen: argparse.Namespace, still: Still | None, size: tuple[int, int], knowledge: Knowledge) -> Match:
    if still is None:
        raise ModelError("--still", "the still's file", "none")
    fewest = FEWEST_WITH_LENS if knowledge.calibrated else FEWEST
    flat = board_in(still, chosen.still, chosen_board(chosen), fewest)
    floor = flat.with_stage(on_the_floor(flat.stage_mm, (*chosen.at, 0.0), chosen.turn))
    others = [board_in(still, chosen.still, chosen_board(chosen, True), FEWEST)] if chosen.standing else []
    return solve_boards(floor, others, size, knowledge)


def _from_points(
    chosen: argparse.Namespace, still: Still | None, size: tuple[int, int], knowledge: Knowledge, console: Console
) -> Match:
    file = read_points(chosen.points, chosen.click_px)
    points = file.points
    if chosen.refine and still is not None:
        points, left = refined(points, still.grey.astype(np.float64), chosen.refine, 8.0 * max(1.0, size[0] / 1920))
        if left:
            console.log(f"left as clicked, no {chosen.refine} is near: {', '.join(left)}")
    try:
        return solve_camera(points, size, knowledge)
    except ModelError as error:
        raise file.at_line(error) from error


def _volume(chosen: argparse.Namespace, found: Match) -> Volume:
    """The stage's volume: --volume, the walk of --shot, else around the points."""
    if chosen.volume:
        x0, x1, y0, y1, z0, z1 = chosen.volume
        return Volume((min(x0, x1), min(y0, y1), min(z0, z1)), (max(x0, x1), max(y0, y1), max(z0, z1)))
    if chosen.shot:
        solids = solids_of(solve(load_shot(chosen.shot)))
        places = np.concatenate([solid.centres_mm.reshape(-1, 3) for solid in solids])
        low, high = places.min(axis=0).tolist(), places.max(axis=0).tolist()
        return Volume((low[0], low[1], min(low[2], 0.0)), (high[0], high[1], high[2]))
    return Volume.around(found.points)
