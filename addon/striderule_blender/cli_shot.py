"""The shot that a command works on: a file, and the variant that was asked for."""

from __future__ import annotations

import argparse

from striderule.model.shot import Shot
from striderule.model.shotfile import load_shot


def chosen_shot(chosen: argparse.Namespace) -> Shot:
    """The shot file's main walk, or its variant of --variant. Raises FileError, ModelError."""
    shot = load_shot(chosen.shot)
    return shot if chosen.variant is None else shot.with_variant(chosen.variant)
