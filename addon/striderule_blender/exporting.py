"""All that the set needs, written from the shot of a scene: the same files as the command line's, by the core."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from striderule.camera.framing import framing_findings
from striderule.check import findings_of, in_order
from striderule.errors import ModelError
from striderule.export.files import make_folder, sha256_of
from striderule.export.findings_json import summary_line, write_findings_json
from striderule.export.manifest import Manifest, Source, manifest_name, refuse_other_shot, retire, write_manifest
from striderule.export.overlay_options import overlay_options
from striderule.export.overlays import write_overlays
from striderule.export.poses_csv import write_poses_csv
from striderule.export.views_json import write_views_json
from striderule.model.fields import is_name
from striderule.model.view import View
from striderule.solve import Plan

from . import bridge, live, previews, scene

Progress = Callable[..., object]
"""(done, total, ...)."""


def view_name(words: str) -> str:
    """A view's name out of an object's: small letters, digits, - and _; "camera" where nothing is left."""
    name = re.sub(r"[^a-z0-9_-]+", "-", words.lower()).lstrip("0123456789_-").rstrip("-")[:40]
    return name if is_name(name) else "camera"


def views_to_export(stage: Any, views: tuple[View, ...]) -> list[View]:
    """The chosen views and, where wanted, the camera of the user's own that the scene looks through.

    Raises ModelError where nothing is chosen, GeometryError for a camera that is not a perspective one.
    """
    settings = live.settings_of(stage)
    chosen = [view for view in views if any(row.name == view.name and row.export for row in settings.views)]
    if settings.export_camera and stage.camera and not scene.is_ours(stage.camera):
        name = view_name(stage.camera.name)
        while name in {view.name for view in views}:
            name = f"own-{name}"[:40]
        chosen.append(bridge.view_from_camera(stage.camera, stage, name))
    if not chosen:
        raise ModelError("views", "at least one view to export", "none", "Tick a view under Views.")
    return chosen


def export(stage: Any, folder: Path, progress: Progress | None = None) -> str:
    """Write overlays, poses.csv, views.json, findings.json, wanted previews and last the manifest into `folder`.

    Returns one line that says what was done. Raises StrideruleError.
    """
    solved = live.plan_of(stage)
    if solved is None:
        raise ModelError("shot", "a scene with a shot", "none", "Load a starter or a shot file.")
    plan, views = solved
    settings = live.settings_of(stage)
    shown = views_to_export(stage, views)
    options = overlay_options(plan.shot, replace=settings.export_replace)
    source = Source()
    if not options.replace:
        refuse_other_shot(folder, plan.shot, source)
    make_folder(folder)
    manifest = folder / manifest_name(options.first_pose, options.last_pose, plan.poses)
    written = write_overlays(
        folder, plan, shown, options, progress=progress, before=lambda: retire(manifest, plan.shot)
    )
    findings = in_order([*findings_of(plan), *framing_findings(plan, shown)])
    known = {view.name for view in views}
    write_poses_csv(folder / "poses.csv", plan)
    write_views_json(folder / "views.json", [*views, *(view for view in shown if view.name not in known)])
    write_findings_json(folder / "findings.json", plan.shot.name, findings)
    files = {name: sha256_of((folder / name).read_bytes()) for name in ("poses.csv", "views.json", "findings.json")}
    if settings.export_previews:
        files |= dict.fromkeys(_previews(plan, views, folder, progress), "")
    chosen = {"views": [view.name for view in shown], "layers": list(options.layers), "all": list(options.flat)}
    write_manifest(manifest, Manifest(plan.shot, source, chosen, plan.frames, files, written.pictures))
    return f"{len(written.pictures)} pictures, {len(files)} other files; {summary_line(findings)}"


def _previews(plan: Plan, views: tuple[View, ...], folder: Path, progress: Progress | None) -> list[str]:
    paths = previews.render_previews(plan, views, previews.DEFAULT_VIEWS, folder, progress=progress)
    return [path.name for path in paths]
