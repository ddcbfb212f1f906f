"""Blender as a Python module, with the add-on switched on from this checkout, and an empty file for each test."""

from __future__ import annotations

import atexit
import os
import shutil
import sys
import tempfile
from dataclasses import replace

import pytest

# Blender reads where a user's files are when it is first imported: none of the user's own may be seen or changed.
_USER_FILES = tempfile.mkdtemp(prefix="striderule-blender-")
atexit.register(shutil.rmtree, _USER_FILES, ignore_errors=True)
os.environ["BLENDER_USER_RESOURCES"] = _USER_FILES

import bpy  # noqa: E402 - only now
import addon_utils  # noqa: E402 - exists only after bpy

from striderule.camera.placing import views_of  # noqa: E402 - below what Blender needs
from striderule.model.seeds import starter_paths  # noqa: E402
from striderule.model.shotfile import load_shot  # noqa: E402
from striderule.solve import solve  # noqa: E402
from striderule_blender.scene.owned import KINDS  # noqa: E402

MODULE = "striderule_blender"


def pytest_sessionfinish(session: pytest.Session) -> None:
    session.config.stash[_ENDED] = session


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """Leave without Python's own end in Blender 4.2.

    Its module crashes there once a property with a callback has been registered, even where it was taken back (seen in
    4.2.23, not in 4.5, 5.0 and 5.2). All is reported by now.
    """
    session = config.stash.get(_ENDED, None)
    if session is not None and bpy.app.version < (4, 5):
        shutil.rmtree(_USER_FILES, ignore_errors=True)
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(int(session.exitstatus))


_ENDED = pytest.StashKey[pytest.Session]()


@pytest.fixture(scope="session", autouse=True)
def add_on():
    """The add-on, switched on once. default_set keeps it on through a new file."""

    def fail(error: Exception) -> None:
        raise error

    module = addon_utils.enable(MODULE, default_set=True, handle_error=fail)
    assert module is not None
    yield module
    addon_utils.disable(MODULE, default_set=True, handle_error=fail)


@pytest.fixture(autouse=True)
def empty_file(add_on):
    """A new, empty file with factory settings before each test; read_factory_settings would switch the add-on off."""
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)


@pytest.fixture
def stage(empty_file):
    """The scene of the empty file."""
    return bpy.context.scene


@pytest.fixture
def starter():
    """starter(name, frames_per_pose=None): (plan, views) of a starter shot, held as asked or as written."""

    def planned(name, frames_per_pose=None):
        shot = load_shot(starter_paths()[name])
        if frames_per_pose is not None:
            shot = replace(shot, frames_per_pose=frames_per_pose)
        plan = solve(shot)
        return plan, views_of(plan)

    return planned


@pytest.fixture
def blocks(empty_file):
    """blocks(): how many data-blocks of each kind that we make the file has, and scenes; without the result that
    Blender itself keeps of any render."""

    def counted():
        found = {kind: list(getattr(bpy.data, kind)) for kind in (*KINDS, "scenes")}
        found["images"] = [one for one in found["images"] if one.type != "RENDER_RESULT"]
        return {kind: len(rows) for kind, rows in found.items()}

    return counted
