"""What stands on sheets where the work can hurt someone."""

STAND = "A plan is geometry. Whether a puppet stands and a joint or a rig holds is for you to try before you let go."
RIGS = "Fix rigs so that nothing can fall on a person; keep hot lights away from paper, cloth and hands."
DRILLING = (
    "Before drilling look what lies under the stage (cables, battens); clamp the work, wear eye protection, "
    "and follow your workshop's rules and local codes."
)
CODES = "Follow your workshop's rules and local codes for drilling, hot lights, mains and anything overhead."
