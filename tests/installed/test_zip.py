"""The extension's zip works in a Blender that has nothing else of ours, and leaves no trace when it is removed."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

Blender = Callable[..., str]


def test_the_installed_core_is_the_one_from_the_zip(blender: Blender, archive: Path) -> None:
    said = blender("import striderule, tomlkit; print('CORE', striderule.__version__, striderule.__file__)")
    version, path = re.search(r"^CORE (\S+) (.+)$", said, re.MULTILINE).groups()
    assert ".local" in Path(path).parts
    assert any(name == f"wheels/striderule-{version}-py3-none-any.whl" for name in zipfile.ZipFile(archive).namelist())


def test_the_starters_travel_inside_the_zip(blender: Blender) -> None:
    code = """
from pathlib import Path
import striderule
print("SEEDS", sorted(path.name for path in (Path(striderule.__file__).parent / "seeds").glob("*.toml")))
"""
    assert "heron.toml" in re.search(r"^SEEDS (.*)$", blender(code), re.MULTILINE)[1]


def test_sheets_for_the_set_are_made_with_what_the_zip_carries(blender: Blender) -> None:
    code = """
from datetime import date
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.paper.sheets import SheetOptions, sheet_files
from striderule.solve import solve
files = sheet_files(solve(load_shot(starter_paths()["heron"])), "heron.toml", SheetOptions(date(2026, 11, 25)))
print("SHEETS", [name for name, data in files.items() if data[:5] == b"%PDF-"], files["set.html"][:15])
"""
    said = re.search(r"^SHEETS (.*)$", blender(code), re.MULTILINE)[1]
    assert said == "['exposure.pdf', 'floor.pdf', 'gauge.pdf', 'chart.pdf', 'edge.pdf'] b'<!doctype html>'"


def test_every_module_of_the_installed_add_on_imports(blender: Blender) -> None:
    """An import by the checkout's name, or of a library that the zip does not carry, fails here alone."""
    code = """
import importlib, pkgutil
package = importlib.import_module("bl_ext.user_default.striderule")
names = [module.name for module in pkgutil.walk_packages(package.__path__, package.__name__ + ".")]
for name in names:
    importlib.import_module(name)
core = importlib.import_module("striderule")
for module in pkgutil.walk_packages(core.__path__, "striderule."):
    importlib.import_module(module.name)
print("MODULES", len(names))
"""
    assert int(re.search(r"^MODULES (\d+)$", blender(code), re.MULTILINE)[1]) >= 3


def test_the_add_on_is_switched_off_and_on_again_without_a_remainder(blender: Blender) -> None:
    code = """
import sys
from bl_ext.user_default.striderule import registration
import striderule
assert registration.expected_core_version() == striderule.__version__, registration.expected_core_version()
assert all(cls.is_registered for cls in registration.CLASSES)
addon_utils.disable("bl_ext.user_default.striderule", default_set=True, handle_error=fail)
assert not any(cls.is_registered for cls in registration.CLASSES)
assert addon_utils.enable("bl_ext.user_default.striderule", default_set=True, persistent=True, handle_error=fail)
print("CLASSES", len(registration.CLASSES))
"""
    assert "CLASSES" in blender(code)


def test_the_zip_holds_pure_wheels_and_none_that_blender_brings(archive: Path) -> None:
    wheels = [Path(name).name for name in zipfile.ZipFile(archive).namelist() if name.endswith(".whl")]
    assert all(name.endswith("-none-any.whl") for name in wheels)
    libraries = {"defusedxml", "fonttools", "fpdf2", "striderule", "tomlkit"}
    assert {name.split("-")[0].lower() for name in wheels} == libraries
    assert archive.stat().st_size < 5_000_000


def test_removing_the_extension_leaves_nothing_of_it_behind(blender: Blender) -> None:
    """Last in the file: it ends the installation that the others share."""
    code = """
from pathlib import Path
repos = bpy.context.preferences.extensions.repos
index = next(i for i, repo in enumerate(repos) if repo.module == "user_default")
place = Path(repos[index].directory)
assert bpy.ops.extensions.package_uninstall(repo_index=index, pkg_id="striderule") == {"FINISHED"}
top = place.parent
left = [path.relative_to(top).as_posix() for path in top.rglob("*")]
print("LEFT", [path for path in left if "striderule" in path or "tomlkit" in path])
"""
    assert re.search(r"^LEFT (.*)$", blender(code), re.MULTILINE)[1] == "[]"
