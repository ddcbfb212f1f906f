"""What a person chose about an overlay sequence: layers, poses, numbers, backdrop. Refused before anything is drawn."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..draw.drawing import Colour
from ..errors import ModelError
from ..model.shot import LAYERS, Shot, backdrop_code
from ..solve.plan import Plan

FLAT = "all"
"""Name of the picture that shows several layers at once."""


@dataclass(frozen=True)
class OverlayOptions:
    """layers: those written each by itself. flat: those of the `all` picture. first_pose, last_pose: from 1,
    inclusive.

    per_pose: one picture per pose and not per film frame. backdrop: opaque colour 0..1, None = see-through. replace:
    pictures of another shot, or of nobody, may be overwritten.
    """

    layers: tuple[str, ...]
    flat: tuple[str, ...]
    first_pose: int
    last_pose: int
    per_pose: bool = False
    first_number: int = 1
    digits: int = 4
    backdrop: Colour | None = None
    replace: bool = False

    def whole(self, plan: Plan) -> bool:
        """True where every pose of the shot is wanted."""
        return self.first_pose == 1 and self.last_pose == plan.poses


def overlay_options(
    shot: Shot,
    *,
    layers: tuple[str, ...] | None = None,
    poses: str | None = None,
    per_pose: bool = False,
    first_number: int | None = None,
    digits: int | None = None,
    backdrop: str | None = None,
    replace: bool = False,
) -> OverlayOptions:
    """Options for a shot: what is given here goes before what the shot says.

    layers: None = every layer that the shot has by itself and the shot's own choice in `all`; else these layers in
    both. `all` among them is understood: it is always written. poses: "9-20" or "9", from 1. Raises ModelError.
    """
    if layers is None:
        single, flat = shot.layers, _ordered(shot.overlay.layers, shot)
    else:
        for layer in layers:
            if layer not in (*LAYERS, FLAT):
                raise ModelError("layers", f"layers out of {', '.join(LAYERS)} or {FLAT}", repr(layer))
        single = _ordered(layers, shot)
        flat = single or _ordered(shot.overlay.layers, shot)
    first, last = pose_range(poses, shot.poses)
    options = OverlayOptions(
        single,
        flat,
        first,
        last,
        per_pose,
        shot.overlay.first_number if first_number is None else first_number,
        shot.overlay.digits if digits is None else digits,
        backdrop_colour(shot.overlay.backdrop if backdrop is None else backdrop),
        replace,
    )
    if not 0 <= options.first_number <= 999_999:
        raise ModelError("first_number", "a whole number from 0 to 999999", str(options.first_number))
    if not 1 <= options.digits <= 9:
        raise ModelError("digits", "a whole number from 1 to 9", str(options.digits))
    frames = shot.poses * (1 if per_pose else shot.frames_per_pose)
    highest = options.first_number + frames - 1
    if len(str(highest)) > options.digits:
        raise ModelError(
            "digits",
            f"at least {len(str(highest))} digits (the last picture has number {highest})",
            str(options.digits),
            "Programs would sort the pictures wrongly.",
        )
    return options


def _ordered(layers: tuple[str, ...], shot: Shot) -> tuple[str, ...]:
    """Lowest first; those that the shot has nothing of are left out."""
    return tuple(layer for layer in shot.layers if layer in layers)


def pose_range(words: str | None, poses: int) -> tuple[int, int]:
    """(first, last) from "9-20" or "9"; None = all. Poses count from 1. Raises ModelError."""
    if words is None:
        return 1, poses
    match = re.fullmatch(r"\s*([0-9]{1,9})\s*(?:-\s*([0-9]{1,9})\s*)?", words)
    expected = f"a range such as 9-20 within poses 1 to {poses}"
    if match is None:
        raise ModelError("poses", expected, repr(words))
    first = int(match[1])
    last = int(match[2] or match[1])
    if not 1 <= first <= last <= poses:
        raise ModelError("poses", expected, words.strip())
    return first, last


def backdrop_colour(words: str) -> Colour | None:
    """Colour 0..1 of "black", "white", "grey" or "#rrggbb"; None for "none". Raises ModelError."""
    code = backdrop_code(words, "backdrop")
    if code is None:
        return None
    red, green, blue = (int(code[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return red, green, blue


def picture_numbers(plan: Plan, pose: int, options: OverlayOptions) -> range:
    """Numbers of the pictures of pose index `pose` (from 0): one per film frame that it is held, or one per pose."""
    offset = options.first_number - 1
    if options.per_pose:
        return range(pose + 1 + offset, pose + 2 + offset)
    return range(int(plan.first_frame[pose]) + offset, int(plan.last_frame[pose]) + offset + 1)


def picture_name(number: int, options: OverlayOptions) -> str:
    """File name of a picture: its number with leading zeros."""
    return f"{number:0{options.digits}d}.png"
