"""Striderule in Blender, and its command line.

This package imports without Blender, so that the commands that need none start fast; Blender is imported inside
register() and unregister(), which only Blender calls.
"""

from __future__ import annotations


def register() -> None:
    """Called by Blender when the add-on is switched on."""
    from . import registration

    registration.register()


def unregister() -> None:
    """Called by Blender when the add-on is switched off."""
    from . import registration

    registration.unregister()
