"""Build the extension's zip: `uv run .ci/task.py build`, or `uv run --group build addon/build.py --out dist`.

The zip holds the add-on's sources and, as wheels, the core and the few pure-Python libraries of wheels.txt. Blender's
own builder, taken from the bpy wheel, validates and packs it. Order, dates and modes are made alike, so that every
checkout of the same sources gives the same bytes.

Blender keeps a wheel that it has already unpacked when name and version are the same. So the bundled core's version
carries a hash of its sources (0.1.0+h1a2b3c4d); it is plain only in a release, which never reuses a number.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterable
from pathlib import Path

import tomlkit

ROOT = Path(__file__).resolve().parent.parent
FIXED_DATE = (2020, 2, 2, 0, 0, 0)  # the date that hatchling gives to a wheel's files
MOST_BYTES = 5_000_000
NOT_SHIPPED = shutil.ignore_patterns("__pycache__", "*.pyc", ".*")


def main() -> int:
    parser = argparse.ArgumentParser(description="Build the Blender extension.")
    parser.add_argument("--out", type=Path, default=ROOT / "dist", help="folder of the zip (default: dist)")
    parser.add_argument("--release", action="store_true", help="give the bundled core its plain version")
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="striderule-build-") as folder:
        archive = build(Path(folder), arguments.out.resolve(), release=arguments.release)
    digest = hashlib.sha256(archive.read_bytes()).hexdigest()
    print(f"{archive}  {archive.stat().st_size / 1e6:.2f} MB  sha256 {digest}")
    return 0


def build(stage: Path, out: Path, *, release: bool) -> Path:
    """Stage everything below `stage` and pack it into `out`; the path of the zip."""
    extension = stage / "extension"
    shutil.copytree(ROOT / "addon" / "striderule_blender", extension, ignore=NOT_SHIPPED)
    shutil.copyfile(ROOT / "LICENSE", extension / "LICENSE")
    wheels = extension / "wheels"
    build_core_wheel(stage, wheels, release=release)
    fetch_wheels(wheels)
    version = list_wheels_in_manifest(extension)
    blender = bpy_folder()
    tags = blender / "scripts" / "modules" / "_bpy_internal" / "extensions" / "tags.py"
    packer = [sys.executable, str(blender / "scripts" / "addons_core" / "bl_pkg" / "cli" / "blender_ext.py")]
    run([*packer, "validate", "--valid-tags", str(tags), str(extension)])
    archive = out / f"striderule-{version}.zip"
    packed = stage / "packed.zip"
    sources = ["--source-dir", str(extension), "--output-filepath", str(packed)]
    run([*packer, "build", "--valid-tags", str(tags), *sources])
    pack_in_order(packed, archive)
    if archive.stat().st_size > MOST_BYTES:
        sys.exit(f"{archive}: expected at most {MOST_BYTES} bytes, given {archive.stat().st_size}")
    return archive


def build_core_wheel(stage: Path, wheels: Path, *, release: bool) -> None:
    """Copy the core and the seeds, put the version in, and make the core's wheel."""
    core, seeds = stage / "core", stage / "seeds"
    shutil.copytree(ROOT / "core", core, ignore=NOT_SHIPPED)
    shutil.copytree(ROOT / "seeds", seeds, ignore=NOT_SHIPPED)
    if not release:
        init = core / "striderule" / "__init__.py"
        local = f"+h{digest_of([core, seeds])}"
        text, count = re.subn(r'(?m)^(__version__ = "[^"+]+)"$', rf'\1{local}"', init.read_text(encoding="utf-8"))
        if count != 1:
            sys.exit(f'{init}: expected one line __version__ = "x.y.z", found {count}')
        init.write_bytes(text.encode())
    run([sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(wheels)], cwd=core)


def digest_of(folders: Iterable[Path]) -> str:
    """Eight hexadecimal digits of the names and bytes of all files below `folders`."""
    total = hashlib.sha256()
    for folder in folders:
        for path in sorted(path for path in folder.rglob("*") if path.is_file()):
            name = path.relative_to(folder.parent).as_posix().encode()
            total.update(b"%d %s %d " % (len(name), name, path.stat().st_size) + path.read_bytes())
    return total.hexdigest()[:8]


def fetch_wheels(wheels: Path) -> None:
    """Fetch the pinned pure wheels into `wheels`."""
    pure = ["--only-binary", ":all:", "--platform", "any", "--implementation", "py", "--abi", "none"]
    pinned = ["--no-deps", "--require-hashes", "-r", str(ROOT / "addon" / "wheels.txt")]
    run([sys.executable, "-m", "pip", "--quiet", "download", *pure, *pinned, "-d", str(wheels)])
    for wheel in wheels.iterdir():
        if not wheel.name.endswith("-none-any.whl"):
            sys.exit(f"{wheel.name}: expected a pure-Python wheel")


def list_wheels_in_manifest(extension: Path) -> str:
    """Write the staged wheels into the staged manifest; the extension's version."""
    path = extension / "blender_manifest.toml"
    manifest = tomlkit.parse(path.read_text(encoding="utf-8"))
    wheels = tomlkit.array()
    wheels.extend(f"./wheels/{wheel.name}" for wheel in sorted((extension / "wheels").iterdir()))
    manifest["wheels"] = wheels.multiline(True)
    path.write_bytes(tomlkit.dumps(manifest).encode())
    return str(manifest["version"])


def pack_in_order(packed: Path, archive: Path) -> None:
    """Write Blender's zip again with its files sorted by name, one date and one mode.

    Blender's builder takes dates, modes and the order of the files from the file system.
    """
    with zipfile.ZipFile(packed) as source, zipfile.ZipFile(archive, "w") as target:
        for name in sorted(source.namelist()):
            entry = zipfile.ZipInfo(name, FIXED_DATE)
            entry.create_system, entry.external_attr = 3, 0o100644 << 16
            kind = zipfile.ZIP_STORED if name.endswith(".whl") else zipfile.ZIP_DEFLATED
            target.writestr(entry, source.read(name), kind, 9)


def bpy_folder() -> Path:
    """The folder X.Y of the installed bpy wheel, found without importing Blender."""
    spec = importlib.util.find_spec("bpy")
    places = list(spec.submodule_search_locations or []) if spec else []
    found = [path.parent for place in places for path in Path(place).glob("*/scripts")]
    if not found:
        sys.exit("expected bpy in this environment: uv run --group build addon/build.py")
    return found[0]


def run(command: list[str], cwd: Path | None = None) -> None:
    """Run a step; its output is shown only where it fails."""
    environment = {key: value for key, value in os.environ.items() if key != "SOURCE_DATE_EPOCH"}
    done = subprocess.run(
        command, cwd=cwd, env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
    )
    if done.returncode != 0:
        sys.exit(f"{done.stdout}\nfailed with {done.returncode}: {' '.join(command)}")


if __name__ == "__main__":
    sys.exit(main())
