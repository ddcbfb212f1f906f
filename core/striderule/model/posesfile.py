"""Poses files: TOML with a contact, a passing pose and pose 1 as measured. Its keys are the field names of
`model.poses`; every refusal is a FileError with its line."""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

from .fields import specs_of
from .poses import Contact, Passing, Posed, PosedFoot, Poses
from .puppet import Puppet
from .shotfile import opened
from .table_reading import built, checked_table, values_of
from .toml_lines import Keys
from .toml_reading import Document, phrase, read_text

Made = TypeVar("Made", bound=Posed)


def load_poses(path: Path | str, puppet: Puppet) -> Poses:
    """A poses file of this puppet. Raises FileError."""
    path = Path(path)
    return parse_poses(read_text(path, "poses"), path, puppet)


def parse_poses(text: str, file: Path | str, puppet: Puppet) -> Poses:
    """Poses out of their TOML text. file: its name for messages; puppet: whose legs are meant. Raises FileError."""
    doc = opened(text, file, "poses")
    data = checked_table(doc, doc.data, (), ("kind", "format", "contact", "passing", "first"))
    contact = _pose(doc, data["contact"], "contact", Contact, puppet) if "contact" in data else None
    passing = _pose(doc, data["passing"], "passing", Passing, puppet) if "passing" in data else None
    first = _pose(doc, data["first"], "first", Contact, puppet) if "first" in data else None
    return built(doc, (), "", lambda: Poses(contact, passing, first))


def _pose(doc: Document, raw: Any, where: str, cls: type[Made], puppet: Puppet) -> Made:
    place: Keys = (where,)
    table = checked_table(doc, raw, place, (*specs_of(cls), "leg"))
    values = values_of(doc, table, place, cls)
    for key in ("ahead", "free"):
        if values.get(key) is not None:
            _known_leg(doc, (where, key), values[key], puppet)
    feet = checked_table(doc, table.get("leg", {}), (where, "leg"))
    made = tuple(_foot(doc, foot, (where, "leg", leg), leg, puppet) for leg, foot in feet.items())
    return built(doc, place, "", lambda: cls(feet=made, **values))


def _foot(doc: Document, raw: Any, place: Keys, leg: str, puppet: Puppet) -> PosedFoot:
    _known_leg(doc, place, leg, puppet)
    known = tuple(key for key in specs_of(PosedFoot) if key != "leg")
    values = values_of(doc, checked_table(doc, raw, place, known), place, PosedFoot, without=("leg",))
    return built(doc, place, f"leg.{leg}", lambda: PosedFoot(leg, **values))


def _known_leg(doc: Document, place: Keys, leg: str, puppet: Puppet) -> None:
    if leg not in puppet.leg_names:
        raise doc.refusal(place, "a leg of the puppet: " + ", ".join(puppet.leg_names), phrase(leg))
