"""`striderule angles`: every view of a shot judged, as one picture and a table; and a camera looked for."""

from __future__ import annotations

import argparse

from striderule.camera.angle_search import Limits, find_angle
from striderule.camera.focus import Focus
from striderule.camera.judging import Angle, judged
from striderule.camera.lens import camera_from_stage
from striderule.camera.placing import views_of
from striderule.draw.angles_sheet import angle_words, angles_sheet
from striderule.draw.png import encode
from striderule.errors import ModelError, OutputError
from striderule.export.angles_table import angles_csv
from striderule.export.files import make_folder, write_bytes, write_text
from striderule.export.findings_json import findings_lines
from striderule.model.toml_writing import value_text
from striderule.model.view import CameraSetup, View
from striderule.solve import Plan, solve

from .cli_console import Console
from .cli_shot import chosen_shot

SHEET, TABLE = "angles.png", "angles.csv"


def angles(chosen: argparse.Namespace, console: Console) -> int:
    """Always 0: which angle to take is for a person to say. Raises StrideruleError."""
    plan = solve(chosen_shot(chosen))
    views = views_of(plan)
    known = {view.name: view for view in views}
    for name in chosen.views or ():
        if name not in known:
            raise ModelError("--views", "views out of " + ", ".join(known), repr(name))
    if (chosen.focus_mm is None) != (chosen.f_number is None) and chosen.f_number is None:
        raise ModelError("--focus-mm", "--f-number as well, as --f-number 5.6", "the distance alone")
    setups = {camera.name: camera for camera in plan.shot.cameras}
    shown = [known[name] for name in chosen.views] if chosen.views else list(views)
    found = [judged(plan, view, _focus(chosen, plan, view, setups.get(view.name))) for view in shown]
    setup = None
    if chosen.find:
        limits = Limits(chosen.azimuth, chosen.height, chosen.lenses, chosen.least_px, chosen.most_ratio)
        setup, angle = find_angle(plan, limits)
        found.append(judged(plan, angle.view, _focus(chosen, plan, angle.view, setup)))
    if chosen.out:
        _write(chosen, plan, found)
    for one in found:
        for line in (*angle_words(one), *findings_lines(one.findings)):
            console.finding(line)
    if setup is not None:
        keys = ("place_mm", "target_mm", "lens_mm")
        for line in (f"[view.{setup.name}]", *(f"{key} = {value_text(getattr(setup, key))}" for key in keys)):
            console.finding(line)
    where = f"{chosen.out}: {SHEET}, {TABLE}; " if chosen.out else ""
    console.result(f"{where}{plan.shot.name}: {len(found)} angles judged")
    return 0


def _focus(chosen: argparse.Namespace, plan: Plan, view: View, setup: CameraSetup | None) -> Focus | None:
    """How the lens is set: focused where --focus-mm says, else on the reference point in the walk's middle."""
    if chosen.f_number is None:
        return None
    plain = setup or CameraSetup(view.name if view.name != "every" else "side-on")
    sensor, lens = plain.sensor_mm, plain.lens_mm
    if plain.matched is not None:
        if plain.matched.sensor_mm is None or plain.matched.lens_mm is None:
            return None  # nothing says how large its sensor is
        sensor, lens = plain.matched.sensor_mm, plain.matched.lens_mm
    distance = chosen.focus_mm
    if distance is None:
        distance = float(camera_from_stage(view, plan.reference_mm)[plan.poses // 2, 2])
    return Focus(lens, chosen.f_number, distance, sensor)


def _write(chosen: argparse.Namespace, plan: Plan, found: list[Angle]) -> None:
    files = {SHEET: encode(angles_sheet(plan, found)), TABLE: angles_csv(found).encode("utf-8")}
    for name, data in files.items():
        path = chosen.out / name
        if not chosen.replace and path.exists() and path.read_bytes() != data:
            raise OutputError(f"{path}: is there already, with other content. Name another folder, or replace it "
                              "(--replace).")  # fmt: skip
    make_folder(chosen.out)
    write_bytes(chosen.out / SHEET, files[SHEET])
    write_text(chosen.out / TABLE, files[TABLE].decode("utf-8"))
