"""How long things last, told so that no step can be found: from a Kaplan-Meier curve at fixed days to one of counts.

Of N things, E(t) = N (1 - S(t)) are gone by day t, had nobody been lost from sight: it is told like a count (0 as 0,
under 7.5 hidden, else to the nearest 5), and so is N. The told curve is 1 - E/N of the told numbers.

How many are still watched is not told like a count: where nobody was lost, it is what is left of N when E are gone, and
three rounded numbers that add up leave one or two counts for each at times. Told is instead which part of those not
gone is watched, to the quarter below (all is a part above three quarters), and what follows from told numbers: that at
least so many are watched. Where these are fewer than the threshold, the curve ends. So a curve depends on N, E and the
quarter as told and on nothing else, and leaves open all that they leave open.

Its interval is the log-log one with the variance that as many whole lives would give as were worth being watched: N
times the least quarter so far (Peto's, which errs towards wide). It reaches over all that would be told so. Ends go
down with time: the lower is the least so far, the upper the greatest to come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, floor, log, sqrt

import numpy as np

from service.disclosure.rules import NOTHING, SMALL, Hidden, Rule, Told
from service.statistics.intervals import Z95, Interval, wilson

PARTS = 4
"""Which part is watched is told in quarters."""

_DUST = 1e-9
_BETWEEN = 9
"""So many shares are tried from one end of what the told numbers allow to the other."""


@dataclass(frozen=True)
class Watched:
    """What is known exactly on a day: the share still there (Kaplan-Meier), and how many are watched on it."""

    day: int
    share: float
    at_risk: int


@dataclass(frozen=True)
class ToldPoint:
    """A day of a told curve: the share still there and its interval, and the told numbers behind it.

    At least `at_least_at_risk` were watched, as follows from the told numbers. `value` is None where so few are gone
    that it is not told how many.
    """

    day: int
    value: float | None
    low: float
    high: float
    gone: Told
    at_least_at_risk: int


@dataclass(frozen=True)
class ToldCurve:
    """A curve of so many things, as told, day by day until too few are watched; no point: not enough data yet."""

    things: Told
    points: tuple[ToldPoint, ...]

    @property
    def median(self) -> int | None:
        """The first day on which half or more are told to be gone."""
        return next((each.day for each in self.points if each.value is not None and each.value <= 0.5), None)


def tell_gone(rule: Rule, gone: float) -> Told:
    """What is told of an estimated count."""
    if gone < _DUST:
        return NOTHING
    return SMALL if gone < rule.threshold - 0.5 else Told(max(rule.lowest, rule.nearest(gone)))


def tell_curve(rule: Rule, things: int, days: Sequence[Watched]) -> ToldCurve:
    """What may be told of a curve of so many things, given on fixed days, in their order."""
    said = rule.tell(things)
    points: list[ToldPoint] = []
    if said.value:
        fewest, part = rule.window(said).low, 1.0
        for each in days:
            gone = tell_gone(rule, things * (1 - each.share))
            least, most = _shares(rule, said, gone)
            part = min(part, _quarter(things, each))
            watched = floor(part * least * fewest + _DUST)
            if watched < rule.threshold:
                break
            value = None if gone.value is None else 1 - gone.value / said.value
            points.append(ToldPoint(each.day, value, *_interval(least, most, part * fewest), gone, watched))
    return ToldCurve(said, tuple(_going_down(points)))


def _quarter(things: int, day: Watched) -> float:
    """Which part of those not gone is watched, to the quarter below; all of them is not told from more than three."""
    left = things * day.share
    return 0.0 if left < _DUST else min(floor(PARTS * day.at_risk / left + _DUST), PARTS - 1) / PARTS


def _shares(rule: Rule, things: Told, gone: Told) -> tuple[float, float]:
    """The least and the greatest share still there, over all that would be told so."""
    if gone == NOTHING:
        return 1.0, 1.0
    of = rule.window(things)
    if of.high is None or gone.hidden is Hidden.WITHHELD:
        raise AssertionError("nothing is withheld from a curve")
    if gone.value is None:
        return max(0.0, 1 - (rule.threshold - 0.5) / of.low), 1.0
    fewest = rule.threshold - 0.5 if gone.value == rule.lowest else gone.value - rule.base / 2
    return max(0.0, 1 - (gone.value + rule.base / 2) / of.low), max(_DUST, 1 - fewest / of.high)


def _interval(least: float, most: float, worth: float) -> Interval:
    """The widest of the log-log intervals of shares from the least to the greatest, each of so many lives."""
    each = [_log_log(float(share), worth) for share in np.linspace(least, most, _BETWEEN)]
    return Interval(min(one.low for one in each), max(one.high for one in each))


def _log_log(share: float, worth: float) -> Interval:
    """S ** exp(-+ z sqrt((1 - S) / (S n)) / log S); at all and at none, where that has no width, Wilson's."""
    if share in {0.0, 1.0}:
        ends = wilson(share * worth, worth)
        if ends is None:
            raise AssertionError("a curve of nobody has no points")
        return ends
    spread = Z95 * sqrt((1 - share) / (share * worth)) / -log(share)
    return Interval(share ** exp(spread), share ** exp(-spread))


def _going_down(points: Sequence[ToldPoint]) -> list[ToldPoint]:
    """The same with ends that never rise: wider, if anything."""
    lows = np.minimum.accumulate([each.low for each in points])
    highs = np.maximum.accumulate([each.high for each in reversed(points)])[::-1]
    return [
        replace(each, low=float(low), high=float(high)) for each, low, high in zip(points, lows, highs, strict=True)
    ]
