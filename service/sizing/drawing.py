"""The upright ruler: level by level down the limb's axis, what the socket leaves beside the bare limb.

Across, positions are per cent of the drawing's width; down, they are pixels, so that rows keep room for their words.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.sizing.answers import InsideOut, LevelOut

ROW, NEAREST = 58, 46
"""Usual and least distance between rows: a line of words and the bar under it."""
TALLEST = 480
"""Rows are not spread wider than this to be to scale: a phone shows no more at once."""
MARGIN = 44
TICK_MM = 10


@dataclass(frozen=True, slots=True)
class Row:
    """A level, `y` down. Across: the limb's middle 80 per cent, and the inside now and next (None if not known).

    A liner counts as inside: what is drawn is the room that it leaves.
    """

    y: float
    level: LevelOut
    smear_start: float
    smear_width: float
    now: float | None
    next: float


@dataclass(frozen=True, slots=True)
class Upright:
    """The whole drawing, `height` in pixels; `bare` is where the bare limb ends; `marks` are (across, mm of room).

    `ticks` are the y of every 10 mm of the axis, empty where rows had to be moved apart and are not to scale. `inside`
    and `inside_now` are lines down the drawing as a polyline takes them ("across,down …"): the inside of the next
    socket and of the one worn now, between the levels at which the limb was measured; empty if only those are known.
    """

    height: float
    bare: float
    marks: tuple[tuple[float, str], ...]
    ticks: tuple[float, ...]
    rows: tuple[Row, ...]
    inside: str = ""
    inside_now: str = ""


def upright(levels: Sequence[LevelOut], inside: Sequence[InsideOut] = ()) -> Upright | None:
    """The drawing of the levels that were compared, and of the inside between them; None if there is none."""
    shown = [each for each in levels if each.level_mm is not None and each.basis == "measured"]
    if not shown:
        return None
    at = [each.level_mm or 0.0 for each in shown]
    limbs = [each.limb_mm or 0.0 for each in shown]
    rooms = [each.room_mm or 0.0 for each in shown]
    rooms_now = [_room_now(each.inside_now_mm, each.inside_mm, each.room_mm) for each in shown]
    lows = [(each.limb_low_mm or limb) - limb for each, limb in zip(shown, limbs, strict=True)]
    highs = [(each.limb_high_mm or limb) - limb for each, limb in zip(shown, limbs, strict=True)]
    between = [
        each for each in inside if each.limb_mm is not None and at[0] <= each.level_mm <= at[-1] and len(shown) > 1
    ]
    ends = [*rooms, *lows, *highs, *(room for room in rooms_now if room is not None)]
    ends += [each.room_mm or 0.0 for each in between]
    start, stop = min(ends) - 2, max(ends) + 2

    def across(room: float) -> float:
        return round(100 * (room - start) / (stop - start), 2)

    ys, height, to_scale = _down(at)
    rows = [
        Row(y, each, across(low), across(high) - across(low), None if now is None else across(now), across(room))
        for y, each, low, high, now, room in zip(ys, shown, lows, highs, rooms_now, rooms, strict=True)
    ]
    marks = tuple((across(room), str(room)) for room in range(-20, 61, 5) if start <= room <= stop)
    ticks = _ticks(shown, ys) if to_scale and len(shown) > 1 else ()
    lines = [
        " ".join(
            f"{across(room):g},{_between(each.level_mm, at, ys):.1f}"
            for each, room in zip(between, found, strict=True)
            if room is not None
        )
        for found in (
            [each.room_mm for each in between],
            [_room_now(each.inside_now_mm, each.inside_mm, each.room_mm) for each in between],
        )
    ]
    return Upright(height, across(0), marks, ticks, tuple(rows), *lines)


def _room_now(inside_now: float | None, inside: float | None, room: float | None) -> float | None:
    """The room in the socket worn now: what its inside and the next one's differ by, since limb and liner are alike."""
    return None if inside_now is None or inside is None or room is None else inside_now - inside + room


def _between(level: float, levels: Sequence[float], ys: Sequence[float]) -> float:
    """How far down a level lies between those that are drawn, straight from one to the next."""
    index = min(max(bisect_right(levels, level) - 1, 0), len(levels) - 2)
    (near, far), (top, bottom) = levels[index : index + 2], ys[index : index + 2]
    return top + (level - near) / (far - near) * (bottom - top)


def _down(levels: Sequence[float]) -> tuple[list[float], float, bool]:
    """Where rows lie, the drawing's height, and whether the distances are to scale."""
    extent = levels[-1] - levels[0] or 1.0
    nearest = min((far - near for near, far in pairwise(levels)), default=extent)
    inner = max(ROW * (len(levels) - 1), min(NEAREST * extent / nearest, TALLEST))
    ys: list[float] = []
    to_scale = True
    for level in levels:
        y = MARGIN + inner * (level - levels[0]) / extent
        if ys and y < ys[-1] + NEAREST - 0.5:
            y, to_scale = ys[-1] + ROW, False
        ys.append(round(y, 1))
    return ys, ys[-1] + MARGIN, to_scale


def _ticks(shown: Sequence[LevelOut], ys: Sequence[float]) -> tuple[float, ...]:
    first, last = shown[0].level_mm or 0.0, shown[-1].level_mm or 0.0
    a_mm = (ys[-1] - ys[0]) / (last - first)
    whole = range(int(first // TICK_MM) * TICK_MM, int(last) + TICK_MM + 1, TICK_MM)
    found = (ys[0] + (mm - first) * a_mm for mm in whole)
    return tuple(round(y, 1) for y in found if 0 <= y <= ys[-1] + MARGIN)
