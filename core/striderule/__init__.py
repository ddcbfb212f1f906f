"""Striderule: plan walks for jointed stop-motion puppets. Pure Python and numpy; Blender is never imported here."""

__version__ = "0.1.0"
