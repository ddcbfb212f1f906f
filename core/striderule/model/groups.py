"""Which legs step in turn with each other: pairs, one behind the other, each walking as a two-legged puppet does."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..errors import ModelError
from .edits import FootfallEdit
from .puppet import Puppet
from .walk import Walk

GAIT_PHASES = {"pace": 0.0, "lateral-sequence": 0.25, "trot": 0.5, "diagonal-sequence": 0.75}
"""Share of a stride by which a fore footfall follows the same side's hind one (Hildebrand, Science 150 (1965) 701)."""


@dataclass(frozen=True)
class Group:
    """Legs (indices into the puppet's) that step in turn, and how many poses after the first group's their steps
    begin. first: the one of them whose step is the walk's first."""

    legs: tuple[int, ...]
    puppet: Puppet
    first: int
    delay: int


def groups_of(puppet: Puppet, walk: Walk) -> tuple[Group, ...]:
    """The groups of a puppet, the one whose hips lie furthest back first.

    An odd number of legs is one group: each steps after the other. walk: settled.
    """
    names = puppet.leg_names
    first = names.index(walk.first_foot) if walk.first_foot in names else 0
    count = len(names)
    if count % 2 or count == 2:
        return (Group(tuple(range(count)), puppet, first, 0),)
    back_to_front = sorted(range(count), key=lambda k: puppet.legs[k].hip_mm[0])
    pairs = [tuple(sorted(back_to_front[k : k + 2])) for k in range(0, count, 2)]
    side = puppet.legs[first].outward_side
    stride = 2 * walk.poses_per_step
    phase = phase_of(walk)
    found: list[Group] = []
    for i, pair in enumerate(pairs):
        same_side = next((k for k in (0, 1) if puppet.legs[pair[k]].outward_side == side), 0)
        # by itself a pair has nothing to bend against
        legs = [puppet.legs[k] for k in pair]
        if puppet.bends:
            legs = [leg if leg.part == "body" else replace(leg, part="body") for leg in legs]
        part = replace(puppet, legs=tuple(legs))
        # rounded once for the whole walk, so that every stance is as long as it should be
        found.append(Group(pair, part, same_side, int(i * phase * stride + 0.5) % stride))
    return tuple(found)


def edits_of(edits: tuple[FootfallEdit, ...], group: Group, groups: tuple[Group, ...]) -> tuple[FootfallEdit, ...]:
    """Those of all edits that are of a group's footfalls. Raises ModelError for a leg that there is not."""
    if not edits:
        return edits
    known = {leg.name for one in groups for leg in one.puppet.legs}
    wrong = next((one for one in edits if one.leg is not None and one.leg not in known), None)
    if wrong:
        raise ModelError("edit.footfall.leg", "a leg of the puppet: " + ", ".join(sorted(known)), repr(wrong.leg))
    own = group.puppet.leg_names
    return tuple(one for one in edits if (group is groups[0] if one.leg is None else one.leg in own))


def phase_of(walk: Walk) -> float:
    """Share of a stride by which each pair follows the one behind it; a lateral-sequence walk where nothing is said."""
    if walk.phase is not None:
        return walk.phase
    return GAIT_PHASES[walk.gait or "lateral-sequence"]
