"""What makes two shots the same: a hash of their values. Equal shots have equal identities on every machine."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields, is_dataclass
from typing import Any, cast

from .fields import specs_of
from .puppet import Puppet
from .shot import Shot


def shot_identity(shot: Shot) -> str:
    """sha256 (64 hex digits) of the canonical JSON of a shot.

    100 and 100.0, -0 and 0, fps "24" and "48/2" are the same. What a range test measured is not part of it: it changes
    no pose. Nor is a value that came later with the program, while it is at its default.
    """
    values = _canonical(shot)
    values["fps"] = str(shot.rate)
    return _hash(values)


def puppet_identity(puppet: Puppet) -> str:
    """sha256 (64 hex digits) of the canonical JSON of a puppet alone."""
    return _hash(_canonical(puppet))


def _hash(values: Any) -> str:
    return hashlib.sha256(json.dumps(values, sort_keys=True, separators=(",", ":")).encode("ascii")).hexdigest()


def _canonical(model: Any) -> Any:
    if is_dataclass(model):
        specs = specs_of(type(model))
        return {
            f.name: _plain(getattr(model, f.name), f.name in specs and specs[f.name].kind in ("number", "list"))
            for f in fields(model)
            if not f.metadata.get("apart") and not (f.metadata.get("added") and getattr(model, f.name) == f.default)
        }
    return model


def _plain(value: Any, number: bool) -> Any:
    if isinstance(value, tuple):
        return [_plain(one, number) for one in cast("tuple[Any, ...]", value)]
    if number and value is not None:
        return float(value) + 0.0  # -0.0 + 0.0 is 0.0
    return _canonical(value)
