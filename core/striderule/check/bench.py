"""The range test: how low and how high one leg lets its hip go over a foot, before any plan and along a walk."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from ..model.puppet import Leg, Puppet
from ..solve.band import band_of
from ..solve.feet import FootTurn
from ..solve.legs import leg_measures, reach
from ..solve.plan import FootState, Plan, Stop

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

DISTANCES = 5
"""Foot distances of a bench sheet in either direction, the one under the hip included."""
_ROUND_MM = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0)
_SAMPLES = 400
_ROOM_MM = 1.0  # where low and high are nearer than this, a hand finds neither


@dataclass(frozen=True, eq=False)
class LegBand:
    """What one leg allows at n feet, all (n,): foot_mm = ankle ahead of its hip (behind: -); lowest and highest hip
    pivot over the floor in mm, lowest > highest where no height fits; the Stop that sets each; whether any fits."""

    foot_mm: Floats
    lowest_mm: Floats
    highest_mm: Floats
    lowest_stop: Whole
    highest_stop: Whole
    fits: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class BenchRow:
    """One foot distance of a sheet: what the written values predict, whether any height fits, and what was measured
    (None = not yet)."""

    foot_mm: float
    lowest_mm: float
    highest_mm: float
    lowest_stop: Stop
    highest_stop: Stop
    fits: bool
    measured_lowest_mm: float | None
    measured_highest_mm: float | None


@dataclass(frozen=True)
class BenchLeg:
    """A leg's sheet. also: names of legs that mirror it and were not measured by themselves."""

    leg: Leg
    also: tuple[str, ...]
    rows: tuple[BenchRow, ...]
    folded_mm: float
    straight_mm: float
    measured_folded_mm: float | None
    measured_straight_mm: float | None


def flat_band(leg: Leg, foot_mm: Floats) -> LegBand:
    """What a leg allows over feet (n,) that stand flat, straight ahead of or behind its hip, with the body level."""
    ankle = np.stack((foot_mm, np.zeros_like(foot_mm), np.full_like(foot_mm, leg.ankle_up_mm)))
    level = np.broadcast_to(np.eye(3), (len(foot_mm), 3, 3))
    over = np.full(len(foot_mm), 0.8 * leg.straight_mm)  # any height does: the band is told from where the hip is
    body = np.stack((np.zeros_like(foot_mm), np.zeros_like(foot_mm), over), axis=1)
    flat = np.zeros_like(foot_mm)
    return _band(replace(leg, hip_mm=(0.0, 0.0, 0.0), outward=_side(leg)), body, level, ankle, FootTurn.of(flat, flat))


def walk_band(plan: Plan, leg: int) -> LegBand:
    """What leg `leg` allows in every pose (P,) of a walk, over its foot as it stands there: turned, on its heel or
    rolling off. Where it is in the air the numbers say nothing."""
    one = plan.shot.puppet.legs[leg]
    # from the sole, which is where it should be also where the leg does not reach its ankle
    over_heel = plan.foot_axes[:, leg] @ np.array((one.heel_behind_mm, 0.0, one.ankle_up_mm))
    ankle = (plan.heel_mm[:, leg] + over_heel).T
    turn = FootTurn.of(*np.radians([angle[:, leg] for angle in (
        plan.foot_heading_deg, plan.foot_pitch_deg, plan.foot_roll_deg)]))  # fmt: skip
    return _band(replace(one, outward=_side(one)), *plan.carrier_of(leg), ankle, turn)


def _side(leg: Leg) -> str:
    return "left" if leg.outward_side > 0 else "right"


def _band(leg: Leg, body_mm: Floats, body_axes: Floats, ankle_mm: Floats, turn: FootTurn) -> LegBand:
    """body_mm (n, 3), body_axes (n, 3, 3), ankle_mm (3, n), turn (n,)."""
    # A puppet has two legs at least; two alike in the same place allow together what one allows.
    puppet = Puppet("bench", (replace(leg, name="a", part="body"), replace(leg, name="b", part="body")))
    n = len(body_mm)
    given = {part.name: getattr(turn, part.name) for part in fields(FootTurn)}
    both = FootTurn(**{name: np.broadcast_to(one, (2, n)) for name, one in given.items() if one is not None})
    ankles = np.ascontiguousarray(np.broadcast_to(ankle_mm[:, None], (3, 2, n)))
    measures = leg_measures(puppet)
    reached = reach(measures, body_mm, body_axes, ankles, both)
    hip = reached.hip_mm[:, 0]
    state = np.full((2, n), int(FootState.PLANTED), dtype=np.int8)
    band = band_of(puppet, measures, reached, body_axes, state, hip[2])
    level = np.hypot(body_axes[:, 0, 0], body_axes[:, 1, 0])
    to = ankle_mm - hip
    ahead = (to[0] * body_axes[:, 0, 0] + to[1] * body_axes[:, 1, 0]) / np.maximum(level, 1e-9)
    shortest, longest = leg_lengths_mm(leg)
    # A knee that does not bend leaves one height; else low and high are equal where two joints forbid every height.
    room = -1e-9 if longest - shortest < 1e-9 else 1e-9
    fits = (band.highest_mm > band.lowest_mm + room) & (ahead * ahead <= longest * longest)
    return LegBand(ahead, band.lowest_mm, band.highest_mm, band.lowest_stop, band.highest_stop, fits)


def farthest_mm(leg: Leg, room_mm: float = 0.0) -> tuple[float, float]:
    """How far behind (0 or less) and how far ahead of its hip (0 or more) a flat foot can be with hip heights that span
    at least room_mm; 0 where there are none."""
    most = leg.bones_mm
    foot = np.linspace(-most, most, 2 * _SAMPLES + 1)
    band = flat_band(leg, foot)
    reachable = foot[band.fits & (band.highest_mm - band.lowest_mm >= room_mm)]
    if not len(reachable):
        return 0.0, 0.0
    return min(float(reachable[0]), 0.0), max(float(reachable[-1]), 0.0)


def foot_distances(leg: Leg) -> list[float]:
    """Foot distances of a leg's bench sheet in mm, from behind to ahead: 0 and, in either direction, as many equal
    round steps as make DISTANCES, up to what the leg can reach; none in a direction without room for them."""
    behind, ahead = farthest_mm(leg, _ROOM_MM)
    return [*(-one for one in reversed(_steps(-behind))), 0.0, *_steps(ahead)]


def _steps(reach_mm: float) -> list[float]:
    room = reach_mm / (DISTANCES - 1)
    step = max((one for one in _ROUND_MM if one <= room), default=0.0)
    if room > _ROUND_MM[-1]:
        step = 50.0 * np.floor(room / 50.0)
    return [k * float(step) for k in range(1, DISTANCES)] if step else []


def bench_of(puppet: Puppet) -> tuple[BenchLeg, ...]:
    """The sheets of a puppet's legs: legs that mirror each other are told once, until one of them is measured."""
    sheets: list[BenchLeg] = []
    for leg in puppet.legs:
        twin = next((k for k, one in enumerate(sheets) if not one.leg.measured and one.leg.mirrored(leg.name) == leg),
                    None)  # fmt: skip
        if twin is None:
            sheets.append(_sheet(leg))
        else:
            sheets[twin] = replace(sheets[twin], also=(*sheets[twin].also, leg.name))
    return tuple(sheets)


def _sheet(leg: Leg) -> BenchLeg:
    lines = leg.measured
    lows = {one.foot_mm: one.lowest_mm for one in lines if one.foot_mm is not None and one.lowest_mm is not None}
    highs = {one.foot_mm: one.highest_mm for one in lines if one.foot_mm is not None and one.highest_mm is not None}
    foot = sorted({*foot_distances(leg), *lows, *highs})
    band = flat_band(leg, np.array(foot))
    rows = tuple(
        BenchRow(one, low, high, Stop(low_stop), Stop(high_stop), fits, lows.get(one), highs.get(one))
        for one, low, high, low_stop, high_stop, fits in zip(
            foot, band.lowest_mm.tolist(), band.highest_mm.tolist(), band.lowest_stop.tolist(),
            band.highest_stop.tolist(), band.fits.tolist(), strict=True,
        )
    )  # fmt: skip
    folded, straight = leg_lengths_mm(leg)
    return BenchLeg(
        leg, (), rows, folded, straight,
        next((line.folded_mm for line in reversed(lines) if line.folded_mm is not None), None),
        next((line.straight_mm for line in reversed(lines) if line.straight_mm is not None), None),
    )  # fmt: skip


def leg_lengths_mm(leg: Leg) -> tuple[float, float]:
    """Hip pivot to ankle pivot with the knee at its most bend and at its least."""
    least, most = leg.knee_range_deg
    return leg.length_mm(most), leg.length_mm(least)
