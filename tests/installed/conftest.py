"""The built zip, installed in fresh Blender processes whose Python has bpy, numpy and pytest alone.

Run in the project's own environment these tests would test the checkout's core without saying so.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

DIST = Path(__file__).resolve().parents[2] / "dist"
ENABLE = """
import bpy
import addon_utils

def fail(error):
    raise error

assert addon_utils.enable("bl_ext.user_default.striderule", default_set=True, persistent=True, handle_error=fail)
"""

# Blender 4.2's module crashes at Python's own end once a property with a callback has been registered.
LEAVE = """
import os, sys
sys.stdout.flush()
os._exit(0)
"""


@pytest.fixture(scope="session", autouse=True)
def bare_environment() -> None:
    """Nothing of the project, and none of the libraries that the zip must bring, is importable here."""
    for name in ("striderule", "striderule_blender", "tomlkit", "fpdf", "fontTools", "defusedxml"):
        assert importlib.util.find_spec(name) is None, f"{name} must not be installed beside these tests"


@pytest.fixture(scope="session")
def archive() -> Path:
    """The newest zip in dist/."""
    found = sorted(DIST.glob("striderule-*.zip"), key=lambda path: path.stat().st_mtime)
    assert found, "build the zip first: uv run .ci/task.py build"
    return found[-1]


@pytest.fixture(scope="session")
def blender(tmp_path_factory: pytest.TempPathFactory, archive: Path) -> Callable[..., str]:
    """blender(code, *arguments, add_on=True): what code printed in a fresh Blender process that has the zip
    installed.

    A process that exits with anything but 0 fails the test with all that it said.
    """
    user_files = tmp_path_factory.mktemp("blender")
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    environment["BLENDER_USER_RESOURCES"] = str(user_files)

    def run(code: str, *arguments: object, add_on: bool = True) -> str:
        command = [sys.executable, "-c", (ENABLE if add_on else "import bpy\n") + code + LEAVE, *map(str, arguments)]
        done = subprocess.run(
            command,
            cwd=user_files,
            env=environment,
            text=True,
            encoding="utf-8",
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
        )
        assert done.returncode == 0, done.stdout
        return done.stdout

    run(INSTALL, archive, add_on=False)
    return run


INSTALL = """
import sys
done = bpy.ops.extensions.package_install_files(
    filepath=sys.argv[1], repo="user_default", enable_on_install=True, overwrite=True
)
assert done == {"FINISHED"}, done
assert "bl_ext.user_default.striderule" in bpy.context.preferences.addons
"""
