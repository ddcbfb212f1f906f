"""Switching the add-on on and off leaves Blender as it was, and a stale core is refused."""

from __future__ import annotations

import bpy
import pytest

import striderule
from striderule_blender import registration


def registered_names() -> set[str]:
    return {name for name in dir(bpy.types) if "striderule" in name.lower()}


def on_blenders_types() -> set[str]:
    """Properties of ours on Blender's own types."""
    types = (bpy.types.Scene, bpy.types.Object, bpy.types.WindowManager)
    names = ((kind.__name__, prop.identifier) for kind in types for prop in kind.bl_rna.properties)
    return {f"{kind}.{name}" for kind, name in names if "striderule" in name}


def test_switching_off_takes_back_everything_and_on_again_brings_it_back() -> None:
    before = registered_names(), on_blenders_types()
    registration.unregister()
    try:
        assert not any(getattr(cls, "is_registered", False) for cls in registration.CLASSES)
        assert on_blenders_types() == set()
    finally:
        registration.register()
    assert all(cls.is_registered for cls in registration.CLASSES)
    assert (registered_names(), on_blenders_types()) == before


def test_a_part_that_fails_to_register_leaves_nothing_registered(monkeypatch: pytest.MonkeyPatch) -> None:
    class STRIDERULE_PG_tried(bpy.types.PropertyGroup):
        pass

    class Failing:
        @staticmethod
        def register() -> None:
            assert STRIDERULE_PG_tried.is_registered
            raise RuntimeError("cannot")

        @staticmethod
        def unregister() -> None:
            raise AssertionError("was never registered")

    monkeypatch.setattr(registration, "CLASSES", (STRIDERULE_PG_tried,))
    monkeypatch.setattr(registration, "PARTS", (Failing,))
    with pytest.raises(RuntimeError, match="cannot"):
        registration.register()
    assert not STRIDERULE_PG_tried.is_registered


def test_an_update_in_a_running_blender_is_refused_until_a_restart(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(striderule, "__version__", "0.0.1+hdeadbeef")
    with pytest.raises(RuntimeError, match=r"Restart Blender to finish the update.*0\.0\.1\+hdeadbeef"):
        registration.register()


def test_the_checkouts_add_on_expects_the_checkouts_core() -> None:
    assert registration.expected_core_version() == striderule.__version__
