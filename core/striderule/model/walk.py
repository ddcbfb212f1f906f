"""The walk: what a person wants. Every value may be left out (None): `defaults.with_defaults` fills it to fit the
puppet."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..errors import ModelError
from .fields import added, angle, check_fields, choice, count, flag, length, name, share


@dataclass(frozen=True)
class Hips:
    """Height of the hip line over the floor at the four key poses of a step."""

    contact_mm: float | None = length("Hip line over the floor at contact", None, least=1)
    down_mm: float | None = length("Hip line over the floor at its lowest pose", None, least=1)
    passing_mm: float | None = length("Hip line over the floor at passing", None, least=1)
    up_mm: float | None = length("Hip line over the floor at its highest pose", None, least=1)

    def __post_init__(self) -> None:
        check_fields(self, "walk.hips")


@dataclass(frozen=True)
class Walk:
    """A walk in the trade's words. A step runs contact to contact in `poses_per_step` poses.

    Of distance_mm, steps and step_mm a person gives two at most; the third follows (steps whole: the step length then
    gives way). In a shot with a path its length is the distance where none is given.
    """

    steps: int | None = count("Number of steps", None, least=1, most=20000)
    step_mm: float | None = length("Step length, contact to contact", None, least=0)
    poses_per_step: int = count("Poses per step", 6, least=2, most=240)
    distance_mm: float | None = length("How far the body goes from pose 1 to the last contact", None, most=100000)
    first_foot: str | None = name("Leg that swings first (behind at pose 1)", None)
    width_mm: float | None = length("Step width: between the two feet's centre lines", None, least=0)
    passing_pose: int | None = count(
        "Pose at which the free ankle passes the standing one, counted from contact", None, least=1, most=239
    )
    lift_off_poses: int | None = count("Poses from contact to the other foot's lift-off", None, least=0, most=238)
    toe_roll_poses: int | None = count("Toe-roll poses, counted back from lift-off", None, least=0, most=240)
    heel_off_deg: float | None = angle("Heel raised at lift-off", None, least=0, most=85)
    heel_strike_deg: float | None = angle("Toe raised at contact", None, least=0, most=45)
    flat_after_poses: int | None = count("Poses from contact until the foot lies flat", None, least=0, most=100)
    lift_mm: float | None = length("Ankle over its flat height at the top of the swing", None)
    lift_top: float | None = share(
        "Where the top of the swing lies, as a share of the swing", None, least=0.1, most=0.9
    )
    clearance_mm: float | None = length("Least height of heel, ball and toe in the middle of the swing", None)
    landing: str = choice("How the foot and the body land", ("soft", "heavy"), "soft")
    sway: float | None = share("Sway: share of the way to the standing ankle", None)
    pelvis_turn_deg: float | None = angle("Pelvis turn to each side at contact", None, least=0, most=30)
    pelvis_drop_deg: float | None = angle("Drop of the pelvis on the free side", None, least=0, most=20)
    chest_counter_turn: float | None = share("Chest turned against the pelvis, as a share of its turn", None, most=2)
    lean_deg: float | None = angle("Lean of the trunk, forward positive", None, least=-60, most=60)
    toe_out_deg: float | None = angle("Toes turned outward", None, least=-45, most=60)
    surge: float = share(
        "Body faster at contact and slower at passing, as a share of its speed", 0.0, least=-0.6, most=0.6
    )
    drag: float = share("Share of the swing for which the toe trails on the floor", 0.0, most=0.5)
    pause_poses: int = count("Poses that both feet stand still after the step", 0, most=1000)
    on_the_spot: bool = flag("Walks on the spot, while the floor moves back evenly under the feet", False)
    start: str = choice(
        "How the walk begins: in the middle of a walk, or from standing", ("walking", "standing"), "walking"
    )
    stop: str = choice(
        "How it ends: walking on, standing with the feet together, or standing as the last step landed",
        ("walking", "standing", "apart"),
        "walking",
    )
    lead_in_poses: int | None = count("Poses before the first step from standing, in which the weight goes over", None)
    first_step: float | None = share("First step from standing, as a share of a step", None, least=0.1, most=1.5)
    last_step: float | None = share("Last step to standing, as a share of a step", None, least=0.1, most=1.5)
    anticipation_mm: float | None = length("Hips sink so far before the first step from standing", None)
    settle_poses: int | None = count("Poses after a stop in which the body settles", None, most=100)
    overshoot: float | None = share("At a stop the body goes past its place by this share of a step", None, most=0.5)
    gait: str | None = choice(
        "More than two legs: which foot follows which (Hildebrand 1965)",
        ("pace", "lateral-sequence", "trot", "diagonal-sequence"),
        None,
    )
    phase: float | None = share(
        "More than two legs: a front foot lands this share of a stride after the hind foot of its side", None
    )
    duty: float | None = share("Share of a stride that each foot is on the floor", None, least=0.5, most=0.95)
    turn_per_step_deg: float | None = angle("Turning on the spot: how far it turns in a step", None, least=1, most=120)
    top: str = added(
        choice("The chest turns against the pelvis, or is kept level and steady", ("turning", "level"), "turning")
    )
    head_follows: float = added(
        share("Share of the chest's turn, lean and tilt that the head goes along with (0 = it looks ahead)", 0.0)
    )
    head_nod_deg: float = added(angle("The head nods down so far as the hips sink, and up", 0.0, least=-45, most=45))
    arm_swing_deg: float | None = added(angle("Arms swing so far to either side", None, least=0, most=90))
    arm_late: float | None = added(share("Arms are later than the legs by this share of a step", None, most=0.5))
    arm_out_deg: float = added(angle("Arms further out than at rest", 0.0, least=-60, most=90))
    elbow_swing_deg: float | None = added(angle("Elbows bend more as their arm is forward", None, least=0, most=90))
    elbow_bend_deg: float = added(angle("Elbows bent more than at rest", 0.0, least=-90, most=120))
    hips: Hips = field(default_factory=Hips)

    def __post_init__(self) -> None:
        check_fields(self, "walk")
        n = self.poses_per_step
        if (self.steps or 0) * n + 1 > 100_000:
            raise ModelError("walk.steps", "a walk of at most 100000 poses", f"{self.steps} steps of {n} poses")
        if None not in (self.steps, self.step_mm, self.distance_mm):
            raise ModelError(
                "walk.distance_mm", "two of steps, step_mm and distance_mm", "all three", "Leave one of them out."
            )
        if self.passing_pose is not None and not self.passing_pose <= n - 1:
            raise ModelError(
                "walk.passing_pose", f"a pose from 1 to {n - 1} (poses_per_step is {n})", str(self.passing_pose)
            )
        passing = self.passing_pose or n - 1
        if self.lift_off_poses is not None and self.lift_off_poses >= passing:
            raise ModelError(
                "walk.lift_off_poses",
                f"lift-off before the passing pose (at most {passing - 1})",
                str(self.lift_off_poses),
                "Lift the foot earlier or let it pass later.",
            )
