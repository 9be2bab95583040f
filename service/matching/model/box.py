"""How a box lies in a printer's room, if it does: on any face, square to the bed or turned on it. Lengths in mm."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from itertools import permutations
from math import acos, atan2, cos, degrees, hypot, radians, sin

Box = tuple[float, float, float]
"""Width, depth, height."""

_ROUNDING = 1e-9
_AS_IT_IS = (0, 1, 2)


class Lies(enum.StrEnum):
    """How a part stands on the bed."""

    UPRIGHT = "upright"
    LYING = "lying"
    TURNED = "turned"


@dataclass(frozen=True)
class Lie:
    """A way a box fits: `turned_degrees` on the bed (0 when square to it); `spare_mm` is what is left in height."""

    lies: Lies
    turned_degrees: float
    spare_mm: float
    on_side: bool


def how_it_lies(box: Box, room: Box) -> Lie | None:
    """The plainest way a box fits into a printer's room: as it is, else on a side, else turned on the bed; or None."""
    ways = []
    for faces in permutations(_AS_IT_IS):
        width, depth, height = (box[face] for face in faces)
        if height > room[2] + _ROUNDING:
            continue
        angle = turned(width, depth, room[0], room[1])
        if angle is not None:
            on_side = faces[2] != 2
            lies = Lies.TURNED if angle > 0 else Lies.LYING if on_side else Lies.UPRIGHT
            ways.append(Lie(lies, angle, room[2] - height, on_side))
    return min(ways, key=lambda way: (way.turned_degrees > 0, way.on_side, way.turned_degrees), default=None)


def turned(width: float, depth: float, bed_width: float, bed_depth: float) -> float | None:
    """By how many degrees a rectangle has to be turned to lie on a bed, from 0 up to 90; None if it cannot.

    Turned by t it takes width cos t + depth sin t across and width sin t + depth cos t along. Only the least turn at
    which the first fits can be right, as the second grows from there on.
    """
    if width <= bed_width + _ROUNDING and depth <= bed_depth + _ROUNDING:
        return 0.0
    diagonal, leans = hypot(width, depth), atan2(depth, width)
    if width <= bed_width + _ROUNDING:  # it is the depth that is too much: seen from the other side
        return turned(depth, width, bed_depth, bed_width)
    if bed_width > diagonal:
        return None
    angle = leans + acos(bed_width / diagonal)
    if angle > radians(90) + _ROUNDING or width * sin(angle) + depth * cos(angle) > bed_depth + _ROUNDING:
        return None
    return min(degrees(angle), 90.0)


def lacks(box: Box, room: Box) -> float:
    """By how much every side of a room would have to be longer for a box to go in square to it, on its best face."""
    return max(
        0.0,
        min(max(box[face] - side for face, side in zip(faces, room, strict=True)) for faces in permutations(_AS_IT_IS)),
    )
