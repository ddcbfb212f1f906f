"""What a puppet's weight asks for, pose by pose: a table for a person and the same as CSV.

CSV: UTF-8, LF, one row a pose; grams, N mm, newtons and mm with exactly 2 decimals, nothing where it is not known.
Grams for a person are rounded to 5.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np

from ..check.weight.load import Weight
from ..check.weight.rig import StepLift, rig_of
from ..check.weight.stand import stand_of
from ..check.weight.support import Floats
from ..check.weight.ties import Ties
from ..check.weight.words import JOINT_WORDS, lifted_words, times_words
from ..draw.labelling import key_words


def worst_words(weight: Weight, pose: int) -> str:
    """ "left knee holds 1.3 times less than it must", "right ankle holds 2.1 times what it must"; "" where nothing was
    measured."""
    ratio = weight.ratio[pose]
    if not np.isfinite(ratio).any():
        return ""
    i = int(np.nanargmax(ratio))
    joint, worst = weight.joints[i], float(ratio[i])
    name = f"{weight.plan.legs[joint.leg]} {JOINT_WORDS[joint.name]}"
    if worst > 1.0 + 1e-9:
        return f"{name} holds {times_words(worst)} times less than it must"
    if worst < 0.05:
        return "nothing carries much"
    return f"{name} holds {1.0 / worst:.1f} times what it must"


def tie_words(ties: Ties, legs: Sequence[str], pose: int) -> str:
    """ "uncover left; tie left; untie right; plug right", in the order in which it is done."""
    order = (("uncover", ties.uncover), ("tie", ties.tie), ("untie", ties.untie), ("plug", ties.plug))
    said = [
        f"{word} {', '.join(leg for leg, one in zip(legs, flags[pose].tolist(), strict=True) if one)}"
        for word, flags in order
        if flags[pose].any()
    ]
    return "; ".join(said)


def rig_words(weight: Weight, pose: int) -> str:
    """ "160 g", "" where none is needed, "no lift helps"."""
    lift = weight.lift
    if not lift.helps[pose]:
        return "no lift helps"
    grams, free = float(lift.least_g[pose]), float(lift.untie_g[pose])
    if free > grams and lift.untie_helps[pose]:
        return f"{lifted_words(free)} before letting go"
    return lifted_words(grams) if grams > 0 else ""


def weight_text(weight: Weight) -> str:
    """The table, then what one value a step serves."""
    plan, keys = weight.plan, key_words(weight.plan.keys)
    head = ("pose", "frame", "key", "inside", "worst joint", "rig", "ties", "leave")
    rows: list[tuple[str, ...]] = [head]
    for k in range(plan.poses):
        inside = float(weight.margin_mm[k])
        rows.append(
            (
                str(k + 1),
                str(int(plan.first_frame[k])),
                keys[k],
                f"{inside:.0f} mm" if np.isfinite(inside) else "no foot",
                worst_words(weight, k),
                rig_words(weight, k),
                tie_words(weight.ties, plan.legs, k),
                "safe" if weight.safe_to_leave[k] else "no",
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(len(head))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    return "\n".join([*_masses(weight), "", *lines, "", *_steps(weight)]) + "\n"


def _masses(weight: Weight) -> list[str]:
    masses = weight.parts.masses
    lines = [f"{masses.total_g:g} g in all."]
    if masses.shared:
        how = {"person": "by the shares of a person's body", "volume": "by the volume of the shapes"}
        names = ", ".join(one.key for one in masses.shared)
        lines.append(f"Not weighed but shared {how[masses.shared[0].how]}: {names}.")
    return lines


def _steps(weight: Weight) -> list[str]:
    lift = weight.lift
    if not weight.measured:
        return []
    if not any(one.grams is None or one.grams > 0 for one in lift.steps):
        return ["No rig is needed."]
    stand = stand_of(weight.plan)
    side = "left" if stand.side > 0 else "right"
    moves = int(stand.moved.sum())
    lines = [f"At the {lift.name}, with one counterweight or spring balance for each step (margin {lift.margin:g}):"]
    lines += [f"  step {one.step}, poses {one.first}-{one.last}: {_step_words(one)}" for one in lift.steps]
    lines.append(f"Its stand: on the puppet's {side}, moved {moves} times.")
    if not stand.clear.all():
        lines.append(f"No free place for it in {int((~stand.clear).sum())} poses: try another side or a longer arm.")
    if not rig_of(weight.plan).carries:
        lines.append("The shot does not say that a rig carries ([rig] carries = true).")
    return lines


def _step_words(one: StepLift) -> str:
    if one.grams is None:
        return "no one value serves"
    return lifted_words(one.grams) if one.grams > 0 else "none"


def weight_columns(weight: Weight) -> dict[str, list[str]]:
    """Every CSV column's cells under its name, in order."""
    lift, ties, legs, stand = weight.lift, weight.ties, weight.plan.legs, stand_of(weight.plan)
    least: Floats = np.where(lift.helps, lift.least_g, np.nan)
    untie: Floats = np.where(lift.untie_helps, lift.untie_g, np.nan)
    columns = {
        "pose": [str(k + 1) for k in range(weight.plan.poses)],
        "first_frame": [str(frame) for frame in weight.plan.first_frame.tolist()],
        **{f"com_{axis}_mm": _cells(weight.parts.centre_mm[:, i]) for i, axis in enumerate("xyz")},
        "support_margin_mm": _cells(weight.margin_mm),
        "rig_g": _cells(least),
        "rig_before_letting_go_g": _cells(untie),
        **{f"rig_{axis}_mm": _cells(lift.point_mm[:, i]) for i, axis in enumerate("xyz")},
        **{f"stand_{axis}_mm": _cells(stand.place_mm[:, i]) for i, axis in enumerate("xy")},
        "safe_to_leave": [str(int(one)) for one in weight.safe_to_leave.tolist()],
    }
    for i, leg in enumerate(legs):
        columns[f"{leg}_tied"] = [str(int(one)) for one in ties.tied[:, i].tolist()]
    if not weight.measured:
        return columns
    for i, leg in enumerate(legs):
        columns[f"{leg}_share"] = _cells(weight.push[:, i, 0] / weight.parts.whole_n)
        columns[f"{leg}_least_share"] = _cells(weight.share_range[:, i, 0])
        columns[f"{leg}_most_share"] = _cells(weight.share_range[:, i, 1])
        columns[f"{leg}_tie_pull_n"] = _cells(weight.pull_n[:, i])
    for j, joint in enumerate(weight.joints):
        stem = f"{legs[joint.leg]}_{joint.name}"
        columns[f"{stem}_nmm"] = _cells(np.abs(weight.torque_nmm[:, j]))
        if joint.held_nmm is not None:
            columns[f"{stem}_load"] = _cells(weight.ratio[:, j])
    return columns


def _cells(values: Floats) -> list[str]:
    return [f"{value + 0.0:.2f}" if np.isfinite(value) else "" for value in np.round(values, 2).tolist()]


def weight_csv(weight: Weight) -> str:
    """The same, and more, for other programs."""
    columns = weight_columns(weight)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*columns.values(), strict=True))
    return stream.getvalue()
