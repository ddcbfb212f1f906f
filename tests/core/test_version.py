"""There is one version number, and everything that must repeat it says the same."""

from __future__ import annotations

import importlib.metadata
import re
import tomllib
from pathlib import Path

import striderule

ROOT = Path(__file__).resolve().parents[2]


def test_the_extension_has_the_version_of_the_core() -> None:
    manifest = ROOT / "addon" / "striderule_blender" / "blender_manifest.toml"
    assert tomllib.loads(manifest.read_text(encoding="utf-8"))["version"] == striderule.__version__


def test_the_installed_package_has_the_version_of_the_core() -> None:
    assert importlib.metadata.version("striderule") == striderule.__version__


def test_the_version_is_three_numbers_as_blender_asks() -> None:
    assert re.fullmatch(r"\d+\.\d+\.\d+", striderule.__version__)
