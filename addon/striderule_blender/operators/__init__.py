"""What a user can do. An operator gathers, calls the core once, hands the result on and reports."""

from __future__ import annotations

from . import bands, edits, exporting, ground, posing, shots, variants, views

CLASSES = (
    *shots.CLASSES,
    *variants.CLASSES,
    *edits.CLASSES,
    *bands.CLASSES,
    *ground.CLASSES,
    *posing.CLASSES,
    *views.CLASSES,
    *exporting.CLASSES,
)
