"""Whether a figure of each month does more than vary as it always did: an XmR chart and four rules.

For values x_1 ... x_n and moving ranges |x_i - x_(i-1)| with mean R, the natural limits are mean +- 2.66 R, and a
moving range is usual up to 3.267 R (2.66 = 3 / 1.128 and 3.267 are Shewhart's constants for ranges of two; Wheeler &
Chambers, Understanding Statistical Process Control, 2nd ed. 1992). Limits are of what is there: a lower one below 0
means that 0 is nothing unusual.

A finding is one of

1. *outside*: a value beyond a natural limit (Shewhart 1931);
2. *side*: eight or more in a row on one side of the mean, what lies on it ending the row (Western Electric, Statistical
   Quality Control Handbook, 1956; some use seven, and call more false alarms);
3. *trend*: six or more in a row, each higher, or each lower, than the one before (Nelson 1984, Journal of Quality
   Technology 16, 237-239; some use seven);
4. *near*: two of three in a row, on one side, beyond two thirds of the way to the limit (Western Electric 1956).

More rules than four find more that is not there: `tests/statistics/test_coverage.py` measures how often these do.
"""

from __future__ import annotations

import enum
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, fsum, isfinite, log10
from typing import Final

FEWEST: Final = 12
"""Fewer values have no limits worth the name."""

SPREAD: Final = 2.66
RANGE: Final = 3.267
SIDE: Final = 8
TREND: Final = 6
NEAR: Final = 2 / 3

_ROUNDING: Final = 1e-9
"""What is over a limit by no more than this part of the limits' size lies on it."""


class Rule(enum.StrEnum):
    """Which of the four found something."""

    OUTSIDE = "outside"
    SIDE = "side"
    TREND = "trend"
    NEAR = "near"


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule found, from the first to the last value it speaks of (counted from 0), in words."""

    rule: Rule
    first: int
    last: int
    up: bool
    words: str


@dataclass(frozen=True, slots=True)
class Limits:
    """The mean, the natural limits, the mean moving range and its limit, all in the values' own unit."""

    mean: float
    low: float
    high: float
    mean_range: float
    range_limit: float


@dataclass(frozen=True, slots=True)
class Chart:
    """Limits and findings; without limits, `note` says why. `ranges` are the moving ranges, one fewer than values."""

    limits: Limits | None
    ranges: list[float]
    findings: list[Finding]
    note: str


def chart(values: Sequence[float], names: Sequence[str] | None = None) -> Chart:
    """Limits of some values in order, and what the four rules find; `names` ("March 2026") are what words call them."""
    if any(not isfinite(value) for value in values):
        raise ValueError("every value is a number; leave out what is not known")
    called = names if names is not None else [f"point {place + 1}" for place in range(len(values))]
    if len(called) != len(values):
        raise ValueError(f"{len(values)} values need as many names, not {len(called)}")
    ranges = [abs(after - before) for before, after in pairwise(values)]
    if len(values) < FEWEST:
        so_far = {0: "There are none yet.", 1: "There is one so far."}.get(
            len(values), f"There are {len(values)} so far."
        )
        return Chart(None, ranges, [], f"What is usual can be told from {FEWEST} values on. {so_far}")
    mean, mean_range = fsum(values) / len(values), fsum(ranges) / len(ranges)
    limits = Limits(mean, mean - SPREAD * mean_range, mean + SPREAD * mean_range, mean_range, RANGE * mean_range)
    found = [*_outside(values, limits), *_sides(values, limits), *_trends(values), *_near(values, limits)]
    return Chart(limits, ranges, [_said(each, called, limits) for each in found], "")


_Found = tuple[Rule, int, int, bool]


def _outside(values: Sequence[float], limits: Limits) -> Iterator[_Found]:
    for place, value in enumerate(values):
        if _beyond(value, limits, 1.0):
            yield Rule.OUTSIDE, place, place, value > limits.mean


def _sides(values: Sequence[float], limits: Limits) -> Iterator[_Found]:
    signs = [_sign(value - limits.mean, limits) for value in values]
    for first, last in _stretches(signs):
        if signs[first] and last - first + 1 >= SIDE:
            yield Rule.SIDE, first, last, signs[first] > 0


def _trends(values: Sequence[float]) -> Iterator[_Found]:
    steps = [(after > before) - (after < before) for before, after in pairwise(values)]
    for first, last in _stretches(steps):
        # A row of k steps joins k + 1 values.
        if steps[first] and last - first + 2 >= TREND:
            yield Rule.TREND, first, last + 1, steps[first] > 0


def _near(values: Sequence[float], limits: Limits) -> Iterator[_Found]:
    for up in (True, False):
        near = [i for i, value in enumerate(values) if _beyond(value, limits, NEAR) and (value > limits.mean) is up]
        # Neighbours at most two apart lie in one three; those that hang together are one finding.
        close = [after - before <= 2 for before, after in pairwise(near)]
        for first, last in _stretches(close):
            if close[first]:
                yield Rule.NEAR, near[first], near[last + 1], up


def _stretches(marks: Sequence[int]) -> Iterator[tuple[int, int]]:
    """The first and last place of every stretch of equal marks."""
    first = 0
    for place in range(1, len(marks) + 1):
        if place == len(marks) or marks[place] != marks[first]:
            yield first, place - 1
            first = place


def _beyond(value: float, limits: Limits, share: float) -> bool:
    """Whether a value is farther from the mean than a share of the way to the limit."""
    return abs(value - limits.mean) > share * (limits.high - limits.mean) + _slack(limits)


def _sign(distance: float, limits: Limits) -> int:
    return 0 if abs(distance) <= _slack(limits) else 1 if distance > 0 else -1


def _slack(limits: Limits) -> float:
    return _ROUNDING * max(abs(limits.low), abs(limits.high))


def _said(found: _Found, names: Sequence[str], limits: Limits) -> Finding:
    rule, first, last, up = found
    count, where = last - first + 1, f"from {names[first]} to {names[last]}"
    mean, low, high = (_figure(value, limits) for value in (limits.mean, limits.low, limits.high))
    words = {
        Rule.OUTSIDE: f"{names[first]} is {'above' if up else 'below'} what is usual ({low} to {high}).",
        Rule.SIDE: f"{count} in a row are {'above' if up else 'below'} the mean ({mean}), {where}.",
        Rule.TREND: f"{count} in a row, each {'higher' if up else 'lower'} than the one before, {where}.",
        Rule.NEAR: f"At least two of three in a row are close to the {'upper' if up else 'lower'} limit, {where}.",
    }[rule]
    return Finding(rule, first, last, up, words[0].upper() + words[1:])


def _figure(value: float, limits: Limits) -> str:
    """A value with as many decimals as show three figures of the width between the limits."""
    width = limits.high - limits.low
    places = max(0, 2 - floor(log10(width))) if width > 0 else 2
    return f"{round(value, places) + 0.0:,.{places}f}"
