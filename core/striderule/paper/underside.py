"""The holes as seen from under the stage, where screws are turned: a mirror image, with which foot stands over each."""

from __future__ import annotations

from ..draw.drawing import Dot, Ink, Ring
from .floor_places import FloorPlaces
from .page import BLACK, BOLD, PLAIN, Mark, Page, Paper, line
from .room import Room
from .tiling import tiled_pages, tiling_of

_SCALE = 0.5


def underside_pages(places: FloorPlaces, paper: Paper) -> list[Page]:
    """Pages at 1:2, ahead to the right, the puppet's right up; none without a grid."""
    if not places.holes:
        return []
    room = Room()
    marks: list[Mark] = []
    feet: dict[str, list[int]] = {}
    for one in places.prints:
        feet.setdefault(one.hole, []).append(one.number)
    for hole in places.holes:
        x, y = hole.x * _SCALE, hole.y * _SCALE
        used = feet.get(hole.name)
        marks.append(Dot(x, y, 1.6, Ink(BLACK, 0.0)) if used else Ring(x, y, 1.1, PLAIN))
        room.take((x - 1.7, y - 1.7, x + 1.7, y + 1.7))
    marks += [line(-4, 0, 4, 0, BOLD), line(0, -4, 0, 4, BOLD)]
    datum = room.words("DATUM", [(x, y) for y in (6.0, -6.0, 9.0, -9.0) for x in (0.0, 8.0, -8.0)], 6, bold=True)
    marks += [datum] if datum else []
    for hole in places.holes:
        x, y = hole.x * _SCALE, hole.y * _SCALE
        used = feet.get(hole.name)
        text = hole.name + (" F" + " F".join(map(str, used)) if used else "")
        words = room.words(text, [(x, y - 3.0), (x, y + 3.0), (x + 5.0, y)], 6 if used else 5, bold=bool(used))
        marks += [words] if words else []
    for one in places.prints:
        if not one.hole:
            x, y = (one.tie * _SCALE).tolist()
            marks.append(Ring(x, y, 1.6, PLAIN))
            words = room.words(f"F{one.number}: no hole", [(x, y - 3.0), (x, y + 3.0)], 6, bold=True)
            marks += [words] if words else []
    note = (
        "SEEN FROM BELOW, at 1:2: black holes are used, F the footprint over them; plug a hole when its foot has left."
    )
    return tiled_pages(marks, tiling_of(marks, paper), note)
