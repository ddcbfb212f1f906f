"""What every sheet says of itself, so that stale paper is seen: the shot file, the shot's identity and the date."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from .. import __version__
from ..model.identity import shot_identity
from ..solve.plan import Plan

IDENTITY_DIGITS = 12


@dataclass(frozen=True)
class Heading:
    """file: the shot file's name without folders, "" where the shot came from elsewhere. identity: the first digits of
    the sha256 of what the shot means, as manifest.json has it."""

    file: str
    identity: str
    day: date
    shot: str
    puppet: str

    @classmethod
    def of(cls, plan: Plan, file: str, day: date) -> Heading:
        shot = plan.shot
        return cls(file, shot_identity(shot)[:IDENTITY_DIGITS], day, shot.name, shot.puppet.name)

    @property
    def origin(self) -> str:
        """ "heron.toml, 1a2b3c4d5e6f, 2026-11-25"."""
        return ", ".join(part for part in (self.file, self.identity, self.day.isoformat()) if part)

    @property
    def maker(self) -> str:
        return f"Striderule {__version__}"
