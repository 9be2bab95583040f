"""The inside girth of a socket, level by level along its axis, in mm: what a tape would read inside.

The plane at a level cuts closed lines. Those that lie in one other (or in three, …) bound an opening; of these the
inside is the smallest that holds the axis, unless it is a mere channel beside a larger one. An open surface has no wall
to lie between two lines: its single line is taken for the inside, and that is said.

A girth is that of the mesh as it is, flat faces and all, since that is what is printed: drawn with n corners around, a
round inside is shorter by about 1.6 / n^2. What a smooth one through the same corners would be is worked out, and said
when it differs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.geometry.answers import Axis, Inside, LevelGirth
from service.geometry.arrays import plural
from service.geometry.sections import Frame, Loop, Section, Slicer
from service.geometry.surface import Surface

_STEPS_MM = (1.0, 2.0, 5.0, 10.0, 20.0)
_MOST = 60  # levels of a profile
_MOST_PIECES = 2_000_000  # of line, in all sections: more than a few seconds' work
_MOST_LOOPS = 100  # that are looked at in a section, the largest
_CHANNEL = 0.25  # of the largest opening's area: a smaller one holds no limb; judgement
_JUMP = 2.0  # times the girth of the next level: there the inside ends and something else begins; judgement
_WORTH_SAYING = 0.005  # of a girth
_NO_INSIDE = (
    "No plane square to the axis cuts an inside all around, so there is no inside profile. See that the axis runs "
    "through the socket lengthwise."
)
_SHORT_MM = 10.0  # a profile over less than that is no inside; judgement


@dataclass(frozen=True, slots=True)
class Profile:
    """Girths by level from the landmark, and sentences about what is doubtful."""

    girths: list[LevelGirth]
    doubts: list[str]


@dataclass(frozen=True, slots=True)
class _Found:
    level: float
    loop: Loop
    girth: float
    holds_axis: bool


def inside_profile(surface: Surface, axis: Axis, inside: Inside) -> Profile:
    """The profile along the axis, at round levels; levels where there is no inside are left out."""
    slicer = Slicer(surface, Frame.of(axis))
    low, high = slicer.reach
    start = inside.level_at_origin_mm
    levels = _levels(low + start, high + start)
    while slicer.pieces([level - start for level in levels]) > _MOST_PIECES and len(levels) > 1:
        levels = levels[::2]
    sections = slicer.cut([level - start for level in levels])
    closed = bool(surface.closed.all())
    found = [
        _Found(level, loop, loop.length, loop.holds_axis)
        for level, section in zip(levels, sections, strict=True)
        if (loop := _inside(section, closed=closed)) is not None
    ]
    kept = _one_stretch(found)
    doubts = _doubts(levels, sections, found, kept, single=not closed)
    return Profile([LevelGirth(level_mm=each.level, girth_mm=each.girth) for each in kept], doubts)


def _levels(low: float, high: float) -> list[float]:
    """Levels in steps that a person would choose, the ends left out."""
    length = high - low
    step = next((step for step in _STEPS_MM if length / step <= _MOST), _STEPS_MM[-1])
    first, last = int(np.floor(low / step)) + 1, int(np.ceil(high / step)) - 1
    return [number * step for number in range(first, last + 1)]


def _inside(section: Section, *, closed: bool) -> Loop | None:
    """The line that bounds the inside at a level; None where there is none, or where it is not closed."""
    loops = sorted((loop for loop in section.loops if loop.area > 0), key=lambda loop: -loop.area)[:_MOST_LOOPS]
    if not loops:
        return None
    inside = np.stack([loop.holds(np.stack([other.points[0] for other in loops])) for loop in loops])
    np.fill_diagonal(inside, val=False)
    openings = [loop for loop, depth in zip(loops, inside.sum(axis=0), strict=True) if depth % 2]
    if not openings and not closed:
        openings = loops
    if not openings:
        return None
    enough = max(loop.area for loop in openings) * _CHANNEL
    around = [loop for loop in openings if loop.area >= enough and loop.holds_axis]
    return min(around, key=lambda loop: loop.area) if around else max(openings, key=lambda loop: loop.area)


def _one_stretch(found: list[_Found]) -> list[_Found]:
    """The run of levels, without a jump in girth, that holds most of a limb: girth times length."""
    runs: list[list[_Found]] = []
    for each in found:
        if runs and max(each.girth, runs[-1][-1].girth) <= _JUMP * min(each.girth, runs[-1][-1].girth):
            runs[-1].append(each)
        else:
            runs.append([each])
    return max(runs, key=lambda run: sum(each.girth for each in run), default=[])


def _doubts(
    levels: list[float], sections: list[Section], found: list[_Found], kept: list[_Found], *, single: bool
) -> list[str]:
    if not kept:
        return [_NO_INSIDE]
    said = []
    if kept[-1].level - kept[0].level < _SHORT_MM:
        said.append(
            f"The inside goes all around over {kept[-1].level - kept[0].level:g} mm only. See that the axis runs "
            "through the socket lengthwise."
        )
    if single and any(len(section.loops) == 1 for section in sections):
        said.append(
            "The surface is not closed, so that its wall cannot be told from its inside: where a plane cuts one line, "
            "that was taken for the inside. Check that it is the inner surface that was drawn."
        )
    gone = [level for level in levels if kept[0].level < level < kept[-1].level and level not in _levels_of(kept)]
    if gone:
        said.append(f"Between its ends the inside is not closed around at {_at(gone)}; left out of the profile.")
    beyond = [each for each in found if each not in kept]
    if beyond:
        narrow = min(beyond, key=lambda each: each.girth)
        said.append(
            f"At {_at([each.level for each in beyond])} the opening is not one with the inside (it is "
            f"{narrow.girth:.1f} mm around at {narrow.level:g} mm); left out of the profile."
        )
    off = [each.level for each in kept if not each.holds_axis]
    if off:
        said.append(f"The axis does not run through the inside at {_at(off)}; the largest opening there was taken.")
    return said + _said_of_shape(kept)


def _said_of_shape(kept: list[_Found]) -> list[str]:
    said = []
    slack = max(kept, key=lambda each: 1 - each.loop.taut / each.girth)
    hollow = 1 - slack.loop.taut / slack.girth
    if hollow > _WORTH_SAYING:
        said.append(
            f"The inside has hollows or ridges: pulled straight over them, a tape would read {slack.loop.taut:.1f} mm "
            f"instead of {slack.girth:.1f} mm at {slack.level:g} mm ({100 * hollow:.1f} per cent less)."
        )
    coarse = max(kept, key=lambda each: each.loop.rounded / each.girth)
    more = coarse.loop.rounded / coarse.girth - 1
    if more > _WORTH_SAYING:
        said.append(
            f"The inside is drawn in coarse flat faces: if it is meant to be round, its girth is up to "
            f"{100 * more:.1f} per cent larger than what is printed ({coarse.loop.rounded:.1f} mm instead of "
            f"{coarse.girth:.1f} mm at {coarse.level:g} mm)."
        )
    return said


def _levels_of(found: list[_Found]) -> set[float]:
    return {each.level for each in found}


def _at(levels: list[float]) -> str:
    if len(levels) == 1:
        return f"level {levels[0]:g} mm"
    if len(levels) == 2:
        return f"levels {levels[0]:g} and {levels[1]:g} mm"
    return f"{plural(len(levels), 'level')} between {min(levels):g} and {max(levels):g} mm"
