"""Shot -> Shot: what changes a walk for a person, always as ordinary values that a person could have typed."""
