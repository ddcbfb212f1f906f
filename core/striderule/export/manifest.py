"""manifest.json: what was written, from which shot file, with which settings.

Written last: where it is, all is there.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

from .. import __version__
from ..errors import OutputError
from ..model.identity import shot_identity
from ..model.shot import Shot
from .files import sha256_of, write_json

NAME = "manifest.json"


@dataclass(frozen=True)
class Source:
    """The shot file: its name without folders, and the sha256 of its bytes; "" where the shot came from elsewhere."""

    name: str = ""
    sha256: str = ""

    @classmethod
    def of(cls, path: Path) -> Source:
        """Of a file that is there. Raises OSError."""
        # A name that is no UTF-8 (other systems, old disks) is written with its odd bytes spelled out.
        name = path.name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
        return cls(name, sha256_of(path.read_bytes()))


@dataclass(frozen=True)
class Manifest:
    """settings: what changes the files. files: relative path -> sha256 ("" where the bytes differ from run to run).
    pictures: relative path -> picture identity. preview_frames: relative path of a preview -> its film frames, more
    than `frames`, the shot's, where it shows the walk going on. Paths use "/"."""

    shot: Shot
    source: Source
    settings: Mapping[str, Any]
    frames: int
    files: Mapping[str, str] = field(default_factory=dict[str, str])
    pictures: Mapping[str, str] = field(default_factory=dict[str, str])
    preview_frames: Mapping[str, int] = field(default_factory=dict[str, int])


def manifest_name(first_pose: int, last_pose: int, poses: int) -> str:
    """manifest.json for a whole shot; manifest_9-20.json for a part, so that parts made side by side share none."""
    return NAME if (first_pose, last_pose) == (1, poses) else f"manifest_{first_pose}-{last_pose}.json"


def manifest_content(manifest: Manifest) -> dict[str, Any]:
    """What the file holds."""
    return {
        "kind": "manifest",
        "format": 1,
        "striderule": __version__,
        "shot": {
            "name": manifest.shot.name,
            "identity": shot_identity(manifest.shot),
            "poses": manifest.shot.poses,
            "frames": manifest.frames,
            "file": manifest.source.name,
            "sha256": manifest.source.sha256,
        },
        "settings": dict(manifest.settings),
        "files": dict(sorted(manifest.files.items())),
        "pictures": dict(sorted(manifest.pictures.items())),
        "preview_frames": dict(sorted(manifest.preview_frames.items())),
    }


def write_manifest(path: Path, manifest: Manifest) -> None:
    """Write the manifest. Raises OutputError."""
    write_json(path, manifest_content(manifest))


def refuse_other_shot(folder: Path, shot: Shot, source: Source) -> None:
    """Raise OutputError where a manifest in `folder` tells of another shot, or of another shot file."""
    for path in _manifests(folder):
        was = _shot_of(path)
        other_file = was.get("file") and source.name and was.get("file") != source.name
        if was and (was.get("name") != shot.name or other_file):
            of = f" of {was['file']}" if was.get("file") else ""
            raise OutputError(
                f"{folder}: holds what was made from the shot {was.get('name')!r}{of}. "
                "Choose another folder, or replace it (--replace)."
            )


def retire(path: Path, shot: Shot) -> None:
    """Take away what a new run makes untrue: the manifest at `path`, and every other one in its folder that tells of
    another version of the shot. Raises OutputError."""
    for one in _manifests(path.parent):
        was = _shot_of(one)
        if one == path or (was and was.get("identity") != shot_identity(shot)):
            try:
                one.unlink(missing_ok=True)
            except OSError as error:
                raise OutputError(
                    f"{one}: cannot be removed ({error.strerror}). Check that you may write there."
                ) from error


def _manifests(folder: Path) -> list[Path]:
    try:
        inside = list(folder.iterdir())  # from Python 3.13 on Path.glob keeps quiet about a folder that may not be read
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be looked into ({error.strerror}). Choose a folder that you may write to."
        ) from error
    return sorted(path for path in inside if path.name.startswith("manifest") and path.suffix == ".json")


def _shot_of(path: Path) -> dict[str, Any]:
    """The "shot" part of a manifest; empty where the file is no manifest of ours."""
    try:
        content: Any = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else None
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(content, dict):
        return {}
    content = cast("dict[str, Any]", content)
    shot = content.get("shot")
    return cast("dict[str, Any]", shot) if content.get("kind") == "manifest" and isinstance(shot, dict) else {}
