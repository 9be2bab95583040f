"""Limb and socket side by side: which places can be compared, and what a size would be like at them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from service.anthropometry import SAME_LEVEL_MM, Dimension
from service.growth.model.ahead import look_ahead
from service.growth.model.case import Channel, Limit, Side
from service.growth.model.evidence import DAYS_IN_YEAR
from service.growth.schemas import ReadingIn
from service.growth.stateless import to_case
from service.sizing.model.fit import ACROSS, NEAR_MM, ROUND, Judged, Place, choose, inside_at, judge, size_needed
from service.sizing.model.socks import sets_of_socks
from service.sizing.model.wear import Floats, first_months, from_day_one, months_from, until
from service.sizing.rules import BREADTHS, LENGTHS, SURE_OF_LENGTH, SURE_TO_LAST, USUAL_MONTHS
from service.sizing.schemas import AskSize

MOST_LEVELS = 12
"""Levels compared, the newest read first: more would cost much and say little."""

MARKED_APART_MM = 20.0
"""The levels of a file's inside that are spoken of lie at least so far apart: about as near as tapes are laid."""

OTHER_SIDE: dict[Side, Side] = {"left": "right", "right": "left"}


@dataclass(frozen=True, slots=True)
class Limb:
    """The limb, and the sound hand, from day one on: N futures at `months` for each place measured (mm).

    `levels` are the girth levels measured, each with the day of its newest reading.
    """

    months: Floats
    sizes: dict[Channel, Floats]
    levels: dict[float, date]
    remarks: tuple[str, ...]

    def on_day_one(self, channel: Channel, share: float = 0.5) -> float:
        """The size that this share of futures stays below on day one, mm."""
        return float(np.quantile(self.sizes[channel][:, 0], share))


@dataclass(frozen=True, slots=True)
class Spot:
    """A place at which the limb was measured and the base's inside is known (mm at scale across 1)."""

    channel: Channel
    place: Place
    paths: Floats


@dataclass(frozen=True, slots=True)
class Trial:
    """A size tried on: scales of the base, how it fits on day one, and for each future the months it lasts."""

    across: float
    along: float
    spots: list[Spot]
    judged: Judged
    lasts: Floats


def look(asked: AskSize) -> Limb:
    """The futures of every place that was measured and matters to the size. Deterministic."""
    levels = measured_levels(asked)
    case = to_case(asked.case)
    case = replace(case, limits=tuple(_sided(limit, asked.side) for limit in case.limits))
    found = look_ahead(case, [Channel(asked.base.dimension, asked.side, level) for level in levels] + _others(asked))
    day_one = asked.fitted_in_days / DAYS_IN_YEAR
    sizes = {channel: from_day_one(found.years, paths, day_one) for channel, paths in found.sizes.items()}
    return Limb(months_from(found.years, day_one), sizes, levels, found.remarks)


def measured_levels(asked: AskSize) -> dict[float, date]:
    """Levels at which the girth was read, with the day of the newest reading; those a tape cannot tell apart as one."""
    limits = asked.case.device.limits if asked.case.device else []
    left_open = next((limit.level_mm for limit in limits if limit.dimension is asked.base.dimension), None)
    found: dict[float, date] = {}
    for reading in sorted(_readings(asked, asked.base.dimension, asked.side), key=lambda r: r.on, reverse=True):
        level = left_open if reading.level_mm is None else reading.level_mm
        if level is None or any(abs(level - known) <= SAME_LEVEL_MM for known in found):
            continue
        found[level] = reading.on
    return dict(sorted(list(found.items())[:MOST_LEVELS]))


def marked(asked: AskSize) -> list[tuple[float, float]]:
    """The levels of the base's profile that are spoken of, with their girths: all of a few, of many some end to end."""
    known = sorted(asked.profile)
    if len(known) <= MOST_LEVELS:
        return known
    apart = max((known[-1][0] - known[0][0]) / MOST_LEVELS, MARKED_APART_MM)
    found = known[:1]
    for level, girth in known[1:]:
        if level - found[-1][0] >= apart:
            found.append((level, girth))
    return found


def beyond_the_limb(asked: AskSize, level: float) -> bool:
    """Whether a level lies where the limb ends, so that there is no girth to take."""
    lengths_read = _readings(asked, Dimension.RESIDUAL_LIMB_LENGTH, asked.side)
    newest = max(lengths_read, key=lambda reading: reading.on, default=None)
    is_of_limb = asked.base.dimension is Dimension.RESIDUAL_LIMB_GIRTH
    return is_of_limb and newest is not None and level > newest.value - NEAR_MM


def spots(asked: AskSize, limb: Limb, along: float) -> list[Spot]:
    """The places that a scale across is chosen by, at a scale along."""
    found = []
    for level in limb.levels:
        inside = inside_at(asked.profile, level, along) if asked.profile else None
        if inside is not None:
            found.append(_spot(limb, Channel(asked.base.dimension, asked.side, level), inside, ROUND))
    for size in asked.base.inside_sizes:
        channel = Channel(size.dimension, asked.side)
        if size.dimension in BREADTHS and channel in limb.sizes:
            found.append(_spot(limb, channel, size.size_mm, ACROSS))
    return found


def lengths(asked: AskSize, limb: Limb) -> list[tuple[Channel, float]]:
    """The base's inside lengths (mm at scale along 1) at which the limb was measured too."""
    pairs = ((Channel(each.dimension, asked.side), each.size_mm) for each in asked.base.inside_sizes)
    return [(channel, size) for channel, size in pairs if channel.dimension in LENGTHS and channel in limb.sizes]


def scale_along(asked: AskSize, limb: Limb) -> float:
    """The least scale along, not below the last print's, that leaves room for the length in nearly every future.

    It looks as far as the months wanted. Room at the end of a socket does no harm, so it never shrinks.
    """
    months = asked.wanted_months or USUAL_MONTHS
    needed = [asked.last.scale_along]
    for channel, inside in lengths(asked, limb):
        longest = first_months(limb.months, limb.sizes[channel], months).max(axis=1)
        needed.append((float(np.quantile(longest, SURE_OF_LENGTH)) + asked.liner_mm) / inside)
    return max(needed)


def next_size(asked: AskSize, limb: Limb, wanted_months: int | None) -> Trial | None:
    """The size to print; the largest that fits when no months are wanted. None when nothing can be compared."""
    along = scale_along(asked, limb)
    here = spots(asked, limb, along)
    if not here:
        return None
    places = [spot.place for spot in here]
    needed = None
    if wanted_months is not None:
        sizes = [first_months(limb.months, spot.paths, wanted_months) for spot in here]
        needed = size_needed(sizes, places, asked.liner_mm, SURE_TO_LAST)
    return _trial(asked, limb, along, here, choose(places, _sets(asked), asked.liner_mm, needed))


def tried(asked: AskSize, limb: Limb, across: float, along: float) -> Trial | None:
    """The last print again, scaled by some factors. None when nothing can be compared."""
    along *= asked.last.scale_along
    here = spots(asked, limb, along)
    if not here:
        return None
    across *= asked.last.scale_across
    return _trial(asked, limb, along, here, judge([s.place for s in here], across, _sets(asked), asked.liner_mm))


def hand_channels(asked: AskSize) -> tuple[Channel, Channel]:
    """The sound hand's length and breadth."""
    side = OTHER_SIDE[asked.side] if asked.side else None
    return Channel(Dimension.HAND_LENGTH, side), Channel(Dimension.HAND_BREADTH, side)


def _sided(limit: Limit, side: Side | None) -> Limit:
    """A limit whose side was left out is of the limb that the socket is for."""
    return replace(limit, channel=replace(limit.channel, side=limit.channel.side or side))


def _others(asked: AskSize) -> list[Channel]:
    """What is no girth, is known of the base or the hand, and was measured."""
    wanted = [Channel(size.dimension, asked.side) for size in asked.base.inside_sizes]
    wanted += hand_channels(asked) if asked.hand else ()
    return [channel for channel in wanted if _readings(asked, channel.dimension, channel.side)]


def _readings(asked: AskSize, dimension: Dimension, side: Side | None) -> list[ReadingIn]:
    known = (r for r in asked.case.readings if r.dimension is dimension and r.on <= asked.case.as_of)
    return [r for r in known if side is None or r.side in {side, None}]


def _spot(limb: Limb, channel: Channel, inside: float, layer: float) -> Spot:
    return Spot(channel, Place(limb.on_day_one(channel), inside, layer), limb.sizes[channel])


def _trial(asked: AskSize, limb: Limb, along: float, here: list[Spot], judged: Judged) -> Trial:
    limits = [judged.across * spot.place.inside_mm - spot.place.layer * asked.liner_mm for spot in here]
    paths = [spot.paths for spot in here]
    for channel, inside in lengths(asked, limb):
        limits.append(along * inside - asked.liner_mm)
        paths.append(limb.sizes[channel])
    return Trial(judged.across, along, here, judged, until(limb.months, paths, limits))


def _sets(asked: AskSize) -> list[tuple[int, ...]]:
    return sets_of_socks(asked.socks.plies, asked.socks.most_worn, asked.socks.most_mm)
