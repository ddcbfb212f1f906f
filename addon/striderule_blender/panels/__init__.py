"""The sidebar tab. Panels draw what `view_model` prepared and compute nothing."""

from . import edits, findings, ground, shot, views, walk

CLASSES = (*shot.CLASSES, *walk.CLASSES, *ground.CLASSES, *edits.CLASSES, *findings.CLASSES, *views.CLASSES)
"""In the order of the tab; a panel stands before its sub-panels."""
