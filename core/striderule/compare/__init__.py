"""Several walks side by side: what of them differs, and how each goes over time."""
