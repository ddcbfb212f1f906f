"""`striderule prepare`: everything that an animator takes to the set, in one folder."""

from __future__ import annotations

import argparse
import importlib.util
import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from striderule.camera.placing import views_of
from striderule.check import is_impossible
from striderule.errors import MissingExtraError, ModelError
from striderule.export.files import make_folder, sha256_of
from striderule.export.findings_json import findings_lines, summary_line, write_findings_json
from striderule.export.manifest import Manifest, Source, manifest_name, refuse_other_shot, retire, write_manifest
from striderule.export.overlay_options import OverlayOptions, overlay_options
from striderule.export.overlays import Each, write_overlays
from striderule.export.poses_csv import write_poses_csv
from striderule.export.views_json import write_views_json
from striderule.model.view import View
from striderule.paper.sheets import SheetOptions
from striderule.solve import Plan, solve

from .cli_check import all_findings, refuse_other_file, write_report
from .cli_console import Console, chatter_silenced
from .cli_sheets import prepared_sheets, sheet_options, sheet_settings
from .cli_shot import chosen_shot

PREVIEW_VIEWS = ("side-on", "three-quarter-front")
_MOST_THREADS = 8
_MOST_PIXELS = 2**28  # worked on at once, of all threads together: some 1.5 GB


@dataclass(frozen=True)
class Order:
    """What was asked for, checked, before anything is written. previews: (view names, on the spot, block-through)."""

    plan: Plan
    source: Source
    views: tuple[View, ...]
    shown: tuple[View, ...]
    options: OverlayOptions
    sheets: SheetOptions | None
    blend: str
    previews: tuple[tuple[bool, bool], ...]
    preview_views: tuple[str, ...]


def prepare(chosen: argparse.Namespace, console: Console) -> int:
    """Exit code 1 where the walk is impossible (all is written), else 0. Raises StrideruleError."""
    order = order_of(chosen)
    refuse_other_file(chosen.json)
    out: Path = chosen.out
    plan = order.plan
    findings = all_findings(plan, list(order.shown))
    if not order.options.replace:
        refuse_other_shot(out, plan.shot, order.source)
    make_folder(out)
    manifest = out / manifest_name(order.options.first_pose, order.options.last_pose, plan.poses)
    with _pool(order.shown) as each:
        # The pictures come first: they refuse another shot's before anything of it is touched.
        written = write_overlays(out, plan, order.shown, order.options, each=each,
                                 progress=lambda done, total, view: console.progress(done, total, f"overlay {view}"),
                                 before=lambda: retire(manifest, plan.shot))  # fmt: skip
    write_poses_csv(out / "poses.csv", plan)
    write_views_json(out / "views.json", order.views)
    write_findings_json(out / "findings.json", plan.shot.name, findings)
    files = {name: sha256_of((out / name).read_bytes()) for name in ("poses.csv", "views.json", "findings.json")}
    if order.sheets:
        files |= prepared_sheets(plan, order.source, order.sheets, out)
    files |= dict.fromkeys(_blender_files(order, out, console), "")
    write_manifest(manifest, Manifest(plan.shot, order.source, _settings(order), plan.frames, files, written.pictures,
                                      preview_frames(order)))  # fmt: skip
    for line in findings_lines(findings):
        console.finding(line)
    if chosen.json:
        write_report(chosen.json, plan, findings, files=sorted(files), pictures=len(written.pictures),
                     drawn=written.drawn, kept=written.kept)  # fmt: skip
    impossible = is_impossible(findings)
    warning = "THE WALK IS IMPOSSIBLE AS IT IS PLANNED, but all is drawn; " if impossible else ""
    console.result(f"{out}: {len(written.pictures)} pictures ({written.drawn} drawn, {written.kept} kept), "
                   f"{len(files)} other files; {warning}{summary_line(findings)}")  # fmt: skip
    return int(impossible)


def order_of(chosen: argparse.Namespace) -> Order:
    """Load the shot and check every option. Raises FileError, ModelError, MissingExtraError; writes nothing."""
    shot = chosen_shot(chosen)
    if chosen.arcs is not None:
        shot = replace(shot, overlay=replace(shot.overlay, arcs=chosen.arcs))
    plan = solve(shot)
    views = views_of(plan)
    options = overlay_options(shot, layers=chosen.layers, poses=chosen.poses, per_pose=chosen.per_pose,
                              first_number=chosen.first_number, digits=chosen.digits, backdrop=chosen.backdrop,
                              replace=chosen.replace)  # fmt: skip
    shown = _chosen_views(views, chosen.views, shot.overlay.views, "--views")
    previewed = _chosen_views(views, chosen.preview_views, PREVIEW_VIEWS, "--preview-views")
    whole = chosen.poses is None
    stem = chosen.shot.stem if chosen.variant is None else f"{chosen.shot.stem}_{chosen.variant}"
    blend = f"{stem}.blend" if whole and not chosen.no_blend else ""
    kinds: list[tuple[bool, bool]] = []
    if whole and not chosen.no_preview:
        kinds = [(False, False)]
        kinds += [(True, False)] if chosen.on_the_spot else []
        kinds += [(False, True)] if chosen.block_through else []
    if (blend or kinds) and importlib.util.find_spec("bpy") is None:
        raise MissingExtraError(
            "bpy",
            "A Blender scene or preview",
            "Install Blender's Python module (pip install bpy), or leave both out: --no-blend --no-preview",
        )
    sheets = sheet_options(chosen) if whole and not chosen.no_sheets else None
    return Order(plan, Source.of(chosen.shot), views, shown, options, sheets, blend, tuple(kinds),
                 tuple(view.name for view in previewed))  # fmt: skip


def _chosen_views(views: tuple[View, ...], names: tuple[str, ...] | None, default: tuple[str, ...],
                  option: str) -> tuple[View, ...]:  # fmt: skip
    by_name = {view.name: view for view in views}
    if names and "every" in names:
        return views
    wanted = names or default
    for name in wanted:
        if name not in by_name:
            raise ModelError(option, "views out of " + ", ".join((*by_name, "every")), repr(name))
    return tuple(by_name[name] for name in dict.fromkeys(wanted))


@contextmanager
def _pool(shown: tuple[View, ...]) -> Iterator[Each]:
    """A `map` that works on several pictures at once; its threads have ended when this is left, however it is left."""
    largest = max((view.width * view.height for view in shown), default=1)
    pool = ThreadPoolExecutor(max(1, min(_MOST_THREADS, os.cpu_count() or 1, _MOST_PIXELS // largest)))
    try:
        yield pool.map
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _blender_files(order: Order, out: Path, console: Console) -> list[str]:
    """Write the scene and the previews; their names. Blender is imported here and nowhere else."""
    names: list[str] = []
    if not (order.blend or order.previews):
        return names
    console.log("starting Blender")
    with chatter_silenced():
        if order.blend:
            from .blend_file import build_scene_file

            console.log(f"scene {order.blend}")
            build_scene_file(order.plan, order.views, out / order.blend)
            names.append(order.blend)
        if order.previews:
            from .previews import render_previews

            for spot, block in order.previews:
                kind = "on the spot" if spot else "block-through" if block else "travelling"
                told = partial(_preview_progress, console, kind)
                paths = render_previews(order.plan, order.views, order.preview_views, out,
                                        spot=spot, block_through=block, progress=told)  # fmt: skip
                names += [path.name for path in paths]
    return names


def preview_frames(order: Order) -> dict[str, int]:
    """File -> film frames of every preview: a walk shorter than 8 s goes on by whole strides until it lasts."""
    frames: dict[str, int] = {}
    for spot, block in order.previews:
        from .preview_walks import on_the_spot, travelling
        from .previews import preview_name

        shown = [view for view in order.views if view.name in order.preview_views]
        count = len((on_the_spot if spot else travelling)(order.plan, shown, block).frames)
        frames |= {preview_name(view, spot, block): count for view in order.preview_views}
    return frames


def _preview_progress(console: Console, kind: str, done: int, total: int) -> None:
    console.progress(done, total, f"preview {kind}")


def _settings(order: Order) -> dict[str, Any]:
    options = order.options
    return {
        "views": [view.name for view in order.shown],
        "layers": list(options.layers),
        "all": list(options.flat),
        "poses": [options.first_pose, options.last_pose],
        "per_pose": options.per_pose,
        "first_number": options.first_number,
        "digits": options.digits,
        "backdrop": None if options.backdrop is None else [round(255 * part) for part in options.backdrop],
        "sheets": sheet_settings(order.sheets) if order.sheets else None,
        "blend": bool(order.blend),
        "preview_views": list(order.preview_views) if order.previews else [],
        "on_the_spot": (True, False) in order.previews,
        "block_through": (False, True) in order.previews,
    }
