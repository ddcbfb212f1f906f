"""Overlay pictures on disk: overlay/<view>/<layer>/0001.png, one per film frame, and `all`, the flat one.

A picture that is there already and shows the same is kept, so a killed export goes on where it ended and a changed
shot costs only what changed; pictures of another shot are refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import takewhile
from pathlib import Path
from typing import Any

from .. import __version__
from ..draw.canvas import Canvas, over_backdrop
from ..draw.drawing import Drawing, Layer
from ..draw.layers import ShotDrawings
from ..draw.png import ENCODER_VERSION, encode
from ..draw.raster import render
from ..errors import OutputError
from ..model.view import View
from ..solve.plan import Plan
from .files import make_folder, sweep_parts, write_bytes
from .overlay_options import FLAT, OverlayOptions, picture_name, picture_numbers
from .picture_tags import Tag, layer_digest, owner_of, picture_identity, shot_tag, tag_of, tagged_png

ENCODER = f"{__version__} png{ENCODER_VERSION}"

Painter = Callable[[int], Drawing]
"""Pose index (from 0) -> the drawing of that pose's picture."""

Each = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]
Progress = Callable[[int, int, str], None]
"""Pictures' poses done, of how many, and the view's name."""


@dataclass(frozen=True)
class Written:
    """pictures: path under the folder with "/" -> identity. drawn, kept, removed: how many files of each kind."""

    pictures: dict[str, str] = field(default_factory=dict[str, str])
    drawn: int = 0
    kept: int = 0
    removed: int = 0


def _sum(parts: Iterable[Written]) -> Written:
    pictures: dict[str, str] = {}
    drawn = kept = removed = 0
    for part in parts:
        pictures.update(part.pictures)
        drawn, kept, removed = drawn + part.drawn, kept + part.kept, removed + part.removed
    return Written(pictures, drawn, kept, removed)


@dataclass(frozen=True)
class _Still:
    """A layer that is the same in every picture: its digest, and its file where it is written by itself."""

    digest: str
    png: bytes = b""


@dataclass(frozen=True)
class _Job:
    """One view's pictures. root: where the paths in the manifest start."""

    root: Path
    plan: Plan
    view: View
    options: OverlayOptions
    painter: Painter
    owner: str
    still: Mapping[str, _Still] = field(default_factory=dict[str, _Still])
    base: Canvas | None = None
    """What all flat pictures stand on: those of their lowest layers that do not change."""
    base_layers: int = 0

    @property
    def folder(self) -> Path:
        return self.root / "overlay" / self.view.name

    @property
    def folders(self) -> tuple[str, ...]:
        return (*self.options.layers, FLAT)

    @property
    def poses(self) -> range:
        return range(self.options.first_pose - 1, self.options.last_pose)

    def names(self, pose: int) -> list[str]:
        return [picture_name(number, self.options) for number in picture_numbers(self.plan, pose, self.options)]

    def relative(self, path: Path) -> str:
        return path.relative_to(self.root).as_posix()


def write_overlays(
    root: Path,
    plan: Plan,
    views: Sequence[View],
    options: OverlayOptions,
    painter_of: Callable[[Plan, View], Painter] | None = None,
    *,
    each: Each = map,
    progress: Progress | None = None,
    before: Callable[[], object] | None = None,
) -> Written:
    """Write the overlay pictures of `views` under root/overlay.

    painter_of: prepares a view and gives its painter; None: the shot's own drawings. each: `map`, or a pool's `map`
    that keeps the order. Every file is written whole; being interrupted leaves whole
    pictures, which the next run keeps.
    before: called when nothing stands in the way, before anything is written.
    Raises OutputError, before that, where a picture of another shot or of nobody is in the way and
    options.replace is not set.
    """
    owner = shot_tag(plan.shot.name)
    prepare = painter_of or partial(_shot_painter, options)
    jobs = [_Job(root, plan, view, options, _not_prepared, owner) for view in views]
    for job in jobs:
        if not options.replace:
            _refuse_foreign(job)
    if before:
        before()
    sweep_parts(root)
    total, done = sum(len(job.poses) for job in jobs), 0
    parts: list[Written] = []
    for job in jobs:
        for name in job.folders:
            make_folder(job.folder / name)
            sweep_parts(job.folder / name)
        sweep_parts(job.folder)
        ready = replace(job, painter=prepare(plan, job.view))
        ready, still_files = _with_still(ready)
        parts.append(still_files)
        for result in each(partial(_write_pose, ready), ready.poses):
            parts.append(result)
            done += 1
            if progress:
                progress(done, total, job.view.name)
        if options.whole(plan):
            parts.append(Written(removed=_remove_stale(ready)))
    return _sum(parts)


def _shot_painter(options: OverlayOptions, plan: Plan, view: View) -> Painter:
    drawings = ShotDrawings(plan, view)
    layers = tuple({*options.layers, *options.flat})
    return lambda pose: drawings.drawing(pose, layers)


def _not_prepared(pose: int) -> Drawing:
    raise AssertionError(f"no painter yet for pose {pose}")


def _expected(job: _Job) -> Iterator[Path]:
    names = [name for pose in job.poses for name in job.names(pose)]
    for layer in job.folders:
        for name in names:
            yield job.folder / layer / name
    for layer in job.options.layers:  # where a layer does not change, it has a picture here, too
        yield job.folder / f"{layer}.png"


def _refuse_foreign(job: _Job) -> None:
    """Raise OutputError for the first file in the way that is not this shot's."""
    try:
        if not job.folder.is_dir():
            return
    except OSError as error:
        raise OutputError(f"{job.folder}: cannot be looked into ({error.strerror}). Choose another folder.") from error
    for path in _expected(job):
        owner = owner_of(path)
        if owner is not None and owner != job.owner:
            what = "is a picture of another shot" if owner else "was not made for this shot"
            raise OutputError(f"{path}: {what}. Choose another folder, or replace what is there (--replace).")


def _remove_stale(job: _Job) -> int:
    """Remove this shot's pictures whose numbers it no longer has. Returns how many."""
    expected = {path.name for path in _expected(job)}
    removed = 0
    for layer in job.folders:
        for path in sorted((job.folder / layer).iterdir()):
            numbered = re.fullmatch(r"[0-9]+\.png", path.name)
            if numbered and path.name not in expected and owner_of(path) == job.owner:
                try:
                    path.unlink(missing_ok=True)
                except OSError as error:
                    raise OutputError(
                        f"{path}: cannot be removed ({error.strerror}). Check that no program holds it open."
                    ) from error
                removed += 1
    return removed


def _with_still(job: _Job) -> tuple[_Job, Written]:
    """The job with its unchanging layers painted, each also written once as overlay/<view>/<layer>.png."""
    view, options = job.view, job.options
    layers = {layer.name: layer for layer in job.painter(job.poses[0]).layers if layer.still}
    still: dict[str, _Still] = {}
    parts: list[Written] = []
    for name, layer in layers.items():
        digest = layer_digest(layer)
        still[name] = _Still(digest)
        if name not in options.layers:
            continue
        path = job.folder / f"{name}.png"
        tag = Tag(picture_identity([digest], view.width, view.height, options.backdrop, ENCODER), job.owner)
        kept = tag_of(path) == tag
        png = path.read_bytes() if kept else tagged_png(_encoded(_painted(job, [layer]), options), tag)
        if not kept:
            write_bytes(path, png, durable=False)
        parts.append(Written({job.relative(path): tag.picture}, drawn=not kept, kept=kept))
        still[name] = _Still(digest, png)
    lowest = [layers[name] for name in takewhile(layers.__contains__, options.flat)]
    return replace(job, still=still, base=_painted(job, lowest), base_layers=len(lowest)), _sum(parts)


def _write_pose(job: _Job, pose: int) -> Written:
    """Write every picture of one pose that is not there yet."""
    options, view = job.options, job.view
    layers = {layer.name: layer for layer in job.painter(pose).layers}
    names = job.names(pose)
    digests = {
        name: job.still[name].digest if name in job.still else layer_digest(layers.get(name, Layer(name, ())))
        for name in {*options.layers, *options.flat}
    }
    parts: list[Written] = []
    for folder in job.folders:
        shown = options.flat if folder == FLAT else (folder,)
        identity = picture_identity(
            [digests[name] for name in shown], view.width, view.height, options.backdrop, ENCODER
        )
        tag = Tag(identity, job.owner)
        paths = [job.folder / folder / name for name in names]
        missing = [path for path in paths if tag_of(path) != tag]
        if missing:
            if folder in job.still:
                png = job.still[folder].png
            else:
                if folder == FLAT:
                    upper = [layers[name] for name in shown[job.base_layers :] if name in layers]
                    canvas = _painted(job, upper, job.base)
                else:
                    canvas = _painted(job, [layers[folder]] if folder in layers else [])
                png = tagged_png(_encoded(canvas, options), tag)
            for path in missing:
                write_bytes(path, png, durable=False)
        kept = len(paths) - len(missing)
        parts.append(Written({job.relative(path): identity for path in paths}, len(missing), kept))
    return _sum(parts)


def _painted(job: _Job, layers: Sequence[Layer], start: Canvas | None = None) -> Canvas:
    return render(layers, job.view.width, job.view.height, start)


def _encoded(canvas: Canvas, options: OverlayOptions) -> bytes:
    if options.backdrop is not None:
        return encode(over_backdrop(canvas, options.backdrop))
    return encode(canvas.rgba8(), canvas.inked_rows())
