"""The core needs no Blender, starts fast, and a folder of it imports only from those above it."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

CORE = Path(__file__).resolve().parents[2] / "core" / "striderule"
BLENDER = ["bpy", "mathutils", "gpu", "blf", "bmesh", "bpy_extras", "addon_utils", "gpu_extras"]
ALLOWED = {"fpdf", "numpy", "striderule", "tomlkit"} | set(sys.stdlib_module_names)
STATIONS = ["", "errors", "model", "solve", "check", "adjust", "camera", "compare", "draw", "export", "paper"]
"""The folders along the data's path, as DEVELOPERS.md draws them ("" = the package itself)."""

IMPORT_ALL = f"""
import importlib, pkgutil, sys

class Blocker:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {BLENDER!r}:
            raise ImportError(f"the core imported {{name}}")

sys.meta_path.insert(0, Blocker())
import striderule
names = [module.name for module in pkgutil.walk_packages(striderule.__path__, "striderule.")]
for name in names:
    importlib.import_module(name)
print(len(names), sorted(set(sys.modules) & set({BLENDER!r})))
"""


def modules() -> list[Path]:
    return sorted(CORE.rglob("*.py"))


def imported_by(path: Path) -> set[str]:
    """Top-level names that a module imports absolutely, anywhere in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names.add(node.module.partition(".")[0])
    return names


def core_imports_of(path: Path) -> set[str]:
    """Stations of the core that a module imports from, absolutely or relatively."""
    package = ("striderule", *path.relative_to(CORE).parent.parts)
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.ImportFrom):
            continue
        stem = package[: len(package) - node.level + 1] if node.level else ()
        module = (*stem, *(node.module or "").split(".")) if node.module else stem
        if module[:1] == ("striderule",):
            names = [(*module[1:], alias.name) for alias in node.names] if len(module) == 1 else [module[1:]]
            found |= {station_of(name) for name in names}
    return found


def station_of(parts: tuple[str, ...]) -> str:
    """The station of a module's path below the package."""
    return parts[0] if parts and parts[0] in STATIONS else ""


def test_every_module_of_the_core_imports_where_blender_is_blocked() -> None:
    done = subprocess.run([sys.executable, "-c", IMPORT_ALL], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    count, found = done.stdout.split(maxsplit=1)
    assert int(count) >= len(modules()) - 1 > 0  # all but the package itself
    assert found.strip() == "[]"


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(CORE).as_posix())
def test_a_module_imports_the_standard_library_numpy_tomlkit_and_fpdf2_alone(path: Path) -> None:
    assert imported_by(path) <= ALLOWED


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(CORE).as_posix())
def test_a_folder_imports_only_from_itself_and_those_above_it(path: Path) -> None:
    own = station_of(path.relative_to(CORE).with_suffix("").parts)
    below = [name for name in core_imports_of(path) if STATIONS.index(name) > STATIONS.index(own)]
    assert below == []


SECONDS = """
import time
start = time.perf_counter()
import numpy
between = time.perf_counter()
import striderule
print(time.perf_counter() - between, between - start)
"""


def test_importing_the_core_costs_at_most_a_tenth_of_a_second_more_than_numpy() -> None:
    """The least of five fresh processes, so that a busy machine does not count."""
    extra = [float(subprocess.check_output([sys.executable, "-c", SECONDS], text=True).split()[0]) for _ in range(5)]
    assert min(extra) <= 0.1


def test_text_for_people_has_plain_hyphens_for_minus_and_in_runs():
    """Typographic dashes and minus signs cannot be typed to search for, nor read back as numbers; the lettering
    alone knows their shapes, for names that people give."""
    sources = [*modules(), *(CORE.parents[1] / "addon" / "striderule_blender").rglob("*.py")]
    found = [
        f"{path.name}:{node.lineno}"
        for path in sources
        if path.name != "glyphs.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and set(node.value) & set("\u2212\u2013\u2014")
    ]
    assert len(sources) > 100
    assert found == []
