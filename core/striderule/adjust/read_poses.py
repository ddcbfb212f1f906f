"""Values of a walk read from a contact, a passing pose and a measured pose 1: Shot -> Shot, as ordinary values, never
over one that a person typed."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, fields, replace
from typing import Any

from ..errors import ModelError
from ..model.edits import FootfallEdit
from ..model.fields import Pair, specs_of
from ..model.poses import Contact, Passing, Poses
from ..model.shot import Shot
from ..model.stage import Stage
from ..model.walk import Hips, Walk
from ..solve import Plan, solve
from ..solve.feet import ROLL_POWER
from .hook_up import hooked_up
from .pose_differences import Difference, differences
from .posed_feet import footfall, free_leg, front_leg, leg_named, other_leg
from .searching import nearest_zero
from .values import Change, Value, spec_of, typed_values, value_of, with_values

START = "stage.start_mm"
"""Where the walk starts, by its whole key; it stands among the typed keys as well."""

OF_THE_WHOLE = frozenset({
    "steps", "distance_mm", "start", "stop", "on_the_spot", "turn_per_step_deg", "pause_poses", "lead_in_poses",
    "settle_poses", "anticipation_mm", "first_step", "last_step", "overshoot",
})  # fmt: skip
"""Values that say how a walk begins, ends and gets on, not how one of its steps is."""

MOST_HEEL_DEG = 85.0
NEAR_DEG, NEAR_MM, ENOUGH_MM = 0.05, 0.01, 0.1
_DIGITS = {"mm": 2, "deg": 2, "": 3}


@dataclass(frozen=True)
class Read:
    """values: what is written, by key below [walk], in file order; start_mm: the stage's start, None where it stays.
    kept: typed values that stay, old the shot's, new what the poses say. differences: how far the solved poses are
    from the measured ones, whatever is off and whatever is not. notes: sentences on what could not be read. footfalls,
    nudge_mm: edits that put pose 1 on feet and hips that the values alone do not reach."""

    shot: Shot
    values: dict[str, Value]
    start_mm: Pair | None
    kept: tuple[Change, ...]
    differences: tuple[Difference, ...]
    notes: tuple[str, ...]
    footfalls: tuple[FootfallEdit, ...] = ()
    nudge_mm: float = 0.0


def read_poses(shot: Shot, poses: Poses, typed: Set[str] | None = None) -> Read:
    """The shot with the walk's values that these poses show, solved again and compared with them.

    typed: keys that stay as they are: below [walk], as `typed_walk_keys` reads them, and START; None: whatever is not
    at its default. Of contact and passing the differences are those of an even step; of first, those of the shot's own
    pose 1. Raises ModelError: a puppet that has not two legs; poses that do not say which foot is which.
    """
    if len(shot.puppet.legs) != 2:
        raise ModelError("puppet", "a puppet of two legs", f"{len(shot.puppet.legs)} legs")
    if poses.first and shot.path and shot.path[0].heading_deg:
        raise ModelError("first", "a walk that begins along X", f"one that begins at {shot.path[0].heading_deg:g} deg",
                         "Leave path.heading_deg out while pose 1 is measured.")  # fmt: skip
    kept = _typed(shot) if typed is None else typed
    reader = _Reader(shot, frozenset(kept))
    contact, where = (poses.contact, "contact") if poses.contact else (poses.first, "first")
    behind = reader.contact(contact, where) if contact else None
    free = reader.passing(poses.passing, behind) if poses.passing else None
    start = reader.first(poses.first) if poses.first else None
    found: list[Difference] = []
    if poses.contact and behind:
        found += differences("contact", poses.contact, reader.even(behind), 0, other_leg(shot.puppet, behind))
    if poses.passing and free:
        even = reader.even(free)
        at = int(even.shot.settled_walk.passing_pose or 1)
        found += differences("passing", poses.passing, even, at, other_leg(shot.puppet, free), free)
    new = reader.shot_with(start)
    if not poses.first:
        return Read(new, reader.values, start, tuple(reader.stays), tuple(found), tuple(reader.notes))
    hooked = hooked_up(new, poses.first)
    found += differences("pose 1", poses.first, solve(hooked.shot), 0)
    return Read(hooked.shot, reader.values, start, tuple(reader.stays), tuple(found),
                (*reader.notes, *hooked.notes), hooked.footfalls, hooked.nudge_mm)  # fmt: skip


def _typed(shot: Shot) -> frozenset[str]:
    start = frozenset({START}) if shot.stage.start_mm != Stage().start_mm else frozenset[str]()
    return typed_values(shot.walk) | start


class _Reader:
    """Gathers values one after the other: what is read later builds on them."""

    def __init__(self, shot: Shot, typed: frozenset[str]) -> None:
        self._shot, self._puppet, self._typed = shot, shot.puppet, typed
        self._found: dict[str, Value] = {}
        self.stays: list[Change] = []
        self.notes: list[str] = []

    @property
    def values(self) -> dict[str, Value]:
        order = (*specs_of(Walk), *(f"hips.{key}" for key in specs_of(Hips)))
        return {key: self._found[key] for key in order if key in self._found}

    def shot_with(self, start: Pair | None) -> Shot:
        stage = self._shot.stage if start is None else replace(self._shot.stage, start_mm=start)
        return replace(self._shot, walk=with_values(self._shot.walk, self._found), stage=stage)

    def even(self, behind: str, more: Mapping[str, Value] | None = None) -> Plan:
        """A few steps of the walk as read so far, the leg `behind` swinging first, on a plain floor."""
        walk = with_values(self._shot.walk, {**self._found, **(more or {})})
        kept: dict[str, Any] = {f.name: getattr(walk, f.name) for f in fields(walk) if f.name not in OF_THE_WHOLE}
        kept |= {"steps": 2, "first_foot": behind}
        return solve(Shot("even", puppet=self._puppet, walk=Walk(**kept)))

    def _settled(self, key: str) -> float:
        return float(value_of(self.shot_with(None).settled_walk, key))

    def _put(self, key: str, value: Value) -> None:
        """Take a value, within its range and rounded as a person would write it, where the key is free."""
        if isinstance(value, float):
            spec = spec_of(key)
            value = min(max(round(value, _DIGITS[spec.unit]), spec.least), spec.most)
        if key not in self._typed:
            self._found[key] = value
            return
        old = value_of(self._shot.settled_walk, key)
        if old != value:
            self.stays.append(Change(key, old, value))

    def contact(self, pose: Contact, where: str) -> str:
        """Read a contact. Returns the leg that is behind."""
        turned = [foot.toe_out_deg for foot in pose.feet if foot.toe_out_deg is not None]
        if turned:
            self._put("toe_out_deg", sum(turned) / len(turned))
        if pose.hip_mm is not None:
            self._put("hips.contact_mm", pose.hip_mm)
        toe_out = self._settled("toe_out_deg")
        ahead = front_leg(self._puppet, pose, toe_out, where)
        behind = other_leg(self._puppet, ahead)
        front, rear = leg_named(self._puppet, ahead), leg_named(self._puppet, behind)
        to, back = footfall(front, pose.foot(ahead), toe_out), footfall(rear, pose.foot(behind), toe_out)
        if to and back:
            self._put("step_mm", to[0] - back[0] - (front.hip_mm[0] - rear.hip_mm[0]))
            self._put("width_mm", front.outward_side * to[1] + rear.outward_side * back[1])
        if ahead in pose.measured:
            self._put("heel_strike_deg", max(0.0, pose.foot(ahead).tilt_deg))
        if behind in pose.measured:
            self._heel(max(0.0, -pose.foot(behind).tilt_deg))
        return behind

    def _heel(self, raised_deg: float) -> None:
        """What raises the rear heel by this much at contact: the roll begins `toe_roll - lift_off` poses before it and
        the heel rises as time to ROLL_POWER. Of all rolls the one is taken whose angle at lift-off is nearest to the
        walk's own."""
        walk = self.shot_with(None).settled_walk
        off, roll = int(walk.lift_off_poses or 0), int(walk.toe_roll_poses or 0)
        own = self._settled("heel_off_deg")
        rolls_typed = "toe_roll_poses" in self._typed
        if raised_deg < NEAR_DEG:
            if roll > off and own > 0:
                self._put("toe_roll_poses", off)
            return
        most = walk.poses_per_step + off - int(walk.flat_after_poses or 0)
        rolls = [roll] if rolls_typed else [roll, *range(1, most + 1)]
        shares = {one: ((one - off) / one) ** ROLL_POWER for one in rolls if one > off}
        if "heel_off_deg" in self._typed:
            best = min(shares, key=lambda one: abs(own * shares[one] - raised_deg), default=roll)
        else:
            fits = [one for one in shares if raised_deg / shares[one] <= MOST_HEEL_DEG]
            best = min(fits, key=lambda one: abs(raised_deg / shares[one] - own), default=max(shares, default=roll))
        if best not in shares:
            self.notes.append(
                f"The rear heel is {raised_deg:.1f} degrees up at contact, but the walk's roll of {roll} poses begins "
                "only then: toe_roll_poses stays as typed."
            )
            return
        if best != roll:
            self._put("toe_roll_poses", best)
        self._put("heel_off_deg", raised_deg / shares[best])

    def passing(self, pose: Passing, behind: str | None) -> str:
        """Read a passing pose. Returns its free leg."""
        free = free_leg(self._puppet, pose, behind)
        stands = other_leg(self._puppet, free)
        if pose.passing_pose is not None:
            self._put("passing_pose", pose.passing_pose)
        if pose.hip_mm is not None:
            self._put("hips.passing_mm", pose.hip_mm)
        self._between(pose)
        toe_out = self._settled("toe_out_deg")
        place = footfall(leg_named(self._puppet, stands), pose.foot(stands), toe_out)
        half = 0.5 * leg_named(self._puppet, stands).outward_side * self._settled("width_mm")
        if place and pose.hip_at_mm and abs(half) >= 0.5:
            self._put("sway", 1.0 + (pose.hip_at_mm[1] - place[1]) / half)
        height = pose.foot(free).ankle_up_mm
        if height is not None:
            self._lift(free, height)
        return free

    def _between(self, pose: Passing) -> None:
        """Open heights of down and up follow the typed ones by themselves; where these differ much from the walk's own
        rise they would come out on the wrong side, and are written at their usual distance."""
        hips = self.shot_with(None).settled_walk.hips
        bare = replace(self._shot, walk=replace(with_values(self._shot.walk, self._found), hips=Hips()))
        usual = bare.settled_walk.hips
        for key, at, sign in (("down", "contact", -1.0), ("up", "passing", 1.0)):
            height, own = float(getattr(hips, f"{at}_mm")), float(getattr(hips, f"{key}_mm"))
            usually = float(getattr(usual, f"{key}_mm")) - float(getattr(usual, f"{at}_mm"))
            if pose.hip_mm is not None and f"hips.{key}_mm" not in self._typed and sign * (own - height) < 0:
                self._put(f"hips.{key}_mm", height + usually)

    def _lift(self, free: str, height_mm: float) -> None:
        """What carries the free ankle this high past the standing one: the lift (of several the one nearest to the
        walk's own), then, where no lift does, the clearance as well. Found by solving the walk anew."""
        leg = self._puppet.leg_names.index(free)

        def height(**values: float) -> float:
            plan = self.even(free, values)
            return float(plan.ankle_mm[int(plan.shot.settled_walk.passing_pose or 1), leg, 2]) - height_mm

        if "lift_mm" not in self._typed:
            lift = self._settled("lift_mm")
            if abs(height(lift_mm=lift)) > NEAR_MM:
                lift = nearest_zero(lambda value: height(lift_mm=value), 0.0, 2.0 * height_mm + 50.0, lift)
            self._put("lift_mm", lift)
        if "clearance_mm" not in self._typed and abs(height()) > 2.0 * NEAR_MM:
            now = self._settled("clearance_mm")
            high = now + height_mm
            clearance = nearest_zero(lambda value: height(clearance_mm=value), 0.0, high, now)
            if abs(height(clearance_mm=clearance)) < ENOUGH_MM:  # else it would be given away for nothing
                self._put("clearance_mm", clearance)

    def first(self, pose: Contact) -> Pair | None:
        """Where the walk starts and which foot swings first, so that pose 1's feet stand as measured: exactly under the
        front foot, which stays while the other swings. Returns the stage's start; None where it stays."""
        toe_out = self._settled("toe_out_deg")
        ahead = front_leg(self._puppet, pose, toe_out, "first")
        behind = other_leg(self._puppet, ahead)
        self._put("first_foot", behind)
        place = footfall(leg_named(self._puppet, ahead), pose.foot(ahead), toe_out)
        if place is None:
            self.notes.append("Pose 1 has no place of the front foot: the walk starts where it did.")
            return None
        footing = self.even(behind).footing
        stands = int((footing.leg == self._puppet.leg_names.index(ahead)).argmax())
        x, y = footing.place_mm[stands, :2].tolist()
        start = round(place[0] - x, _DIGITS["mm"]) + 0.0, round(place[1] - y, _DIGITS["mm"]) + 0.0
        if START in self._typed:
            old = self._shot.stage.start_mm
            if old != start:
                self.notes.append(
                    f"{START} stays as typed at {old[0]:g}, {old[1]:g}; the measured feet would have it at "
                    f"{start[0]:g}, {start[1]:g}."
                )
            return None
        return start
