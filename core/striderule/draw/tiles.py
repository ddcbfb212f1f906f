"""Square tiles that a picture is painted in: only tiles that something touches are ever made.

Pixel (0, 0) covers the square from -0.5 to 0.5; column i of tiles holds the pixels SIDE * i ... SIDE * i + SIDE - 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

SIDE = 8
AREA = SIDE * SIDE

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Grid:
    """The tiles of a picture of width x height pixels; number of a tile = row * columns + column."""

    width: int
    height: int

    @property
    def columns(self) -> int:
        return -(-self.width // SIDE)

    @property
    def rows(self) -> int:
        return -(-self.height // SIDE)


class Cover(Protocol):
    """What some items cover: row k of item and tile says that this item touches that tile; no pair comes twice."""

    item: Whole
    tile: Whole

    def paint(self, core: Singles, halo: Singles, place: Whole) -> None:
        """Write the coverage 0..1 of pair k into row place[k] of core and halo (pairs of all covers, AREA), zero
        before."""
        ...


def spread(counts: Whole) -> tuple[Whole, Whole]:
    """For counts (n,): which of the n each of sum(counts) copies belongs to, and its number within (from 0)."""
    owner = np.repeat(np.arange(len(counts)), counts)
    return owner, np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)


def runs(keys: Whole) -> tuple[Flags, Whole, Whole]:
    """For sorted keys: where a new key begins, the number of each entry's key (from 0), its number within the key."""
    first = np.ones(len(keys), dtype=np.bool_)
    first[1:] = keys[1:] != keys[:-1]
    group = np.cumsum(first) - 1
    return first, group, np.arange(len(keys)) - np.flatnonzero(first)[group]
