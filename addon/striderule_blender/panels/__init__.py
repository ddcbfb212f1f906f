"""The sidebar tab. Panels draw what `view_model` prepared and compute nothing."""

from . import bands, edits, findings, ground, posing, shot, views, walk

CLASSES = (
    *shot.CLASSES,
    *walk.CLASSES,
    *ground.CLASSES,
    *posing.CLASSES,
    *edits.CLASSES,
    *bands.CLASSES,
    *findings.CLASSES,
    *views.CLASSES,
)
"""In the order of the tab; a panel stands before its sub-panels."""
