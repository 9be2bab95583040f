"""The same mathematics done slowly and in the open: a loop over days, whole numbers and fractions, nothing clever."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import pairwise
from math import exp, inf, log, sqrt
from typing import Any, NamedTuple

from service.statistics import Lives


class Day(NamedTuple):
    """What is known of a day: the share left, Greenwood's sum (None where it is not finite), who is at risk."""

    share: Fraction
    greenwood: Fraction | None
    at_risk: int


def curve(lives: Lives, since: int, last: int) -> list[Day | None]:
    """A curve on each day from `since` to `last`, None where nothing can be known."""
    people = list(zip(lives.entry, lives.exit, lives.event, strict=True))
    share, greenwood, lost = Fraction(1), Fraction(0), False
    days: list[Day | None] = [Day(share, greenwood, sum(entry <= since < end for entry, end, _ in people))]
    for day in range(since + 1, last + 1):
        here = [each for each in people if max(each[0], since) < day <= each[1]]
        failing = sum(1 for _, end, event in here if event and end == day)
        lasting = sum(1 for _, end, _ in people if end > day)
        lost = lost or bool(not here and share) or bool(here and failing == len(here) and lasting)
        if failing and not lost:
            share *= Fraction(len(here) - failing, len(here))
            if failing < len(here):
                greenwood += Fraction(failing, len(here) * (len(here) - failing))
        days.append(None if lost else Day(share, greenwood if share else None, len(here)))
    return days


def chi_square(lives: Lives, group: Sequence[int]) -> tuple[Fraction, int]:
    """The log-rank statistic and its degrees, by Gauss's elimination in fractions."""
    names, people = sorted(set(group)), list(zip(lives.entry, lives.exit, lives.event, group, strict=True))
    excess = [Fraction(0) for _ in names]
    variance = [[Fraction(0) for _ in names] for _ in names]
    for day in sorted({end for _, end, event, _ in people if event}):
        here = [each for each in people if each[0] < day <= each[1]]
        n, d = len(here), sum(1 for each in here if each[1] == day and each[2])
        of = [sum(each[3] == name for each in here) for name in names]
        for g, name in enumerate(names):
            excess[g] += sum(1 for each in here if each[1] == day and each[2] and each[3] == name) - Fraction(
                d * of[g], n
            )
            for h in range(len(names)):
                if n > 1:
                    part = Fraction(of[g], n) * ((g == h) - Fraction(of[h], n))
                    variance[g][h] += Fraction(d * (n - d), n - 1) * part
    return solved(variance, excess)


def solved(matrix: list[list[Fraction]], right: list[Fraction]) -> tuple[Fraction, int]:
    """Right' x for a solution x of matrix x = right, and the matrix's rank."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    pivots: list[int] = []
    for column in range(len(right)):
        found = next((i for i in range(len(pivots), len(rows)) if rows[i][column]), None)
        if found is None:
            continue
        place = len(pivots)
        rows[place], rows[found] = rows[found], rows[place]
        rows[place] = [value / rows[place][column] for value in rows[place]]
        for i, row in enumerate(rows):
            if i != place and row[column]:
                rows[i] = [a - row[column] * b for a, b in zip(row, rows[place], strict=True)]
        pivots.append(column)
    return sum((right[column] * rows[i][-1] for i, column in enumerate(pivots)), Fraction(0)), len(pivots)


def ratio(lives: Lives, group: Sequence[bool], cluster: Sequence[int]) -> tuple[float, float, float]:
    """Beta by halving an interval, one over the information, and the sum of clusters' squared scores."""
    people = list(zip(lives.entry, lives.exit, lives.event, group, strict=True))
    turns: list[dict[int, float]] = []
    dying: list[list[int]] = []
    for day in sorted({end for _, end, event, _ in people if event}):
        dead = [i for i, each in enumerate(people) if each[1] == day and each[2]]
        for gone in range(len(dead)):
            weights = {i: 1.0 for i, each in enumerate(people) if each[0] < day <= each[1]}
            turns.append(weights | dict.fromkeys(dead, 1 - gone / len(dead)))
            dying.append(dead)

    def at(beta: float) -> tuple[list[float], float]:
        parts, information = [0.0] * len(people), 0.0
        for weights, dead in zip(turns, dying, strict=True):
            total = sum(w * exp(beta * group[i]) for i, w in weights.items())
            mean = sum(w * exp(beta * group[i]) * group[i] for i, w in weights.items()) / total
            information += mean * (1 - mean)
            for i, w in weights.items():
                parts[i] -= w * exp(beta * group[i]) / total * (group[i] - mean)
            for i in dead:
                parts[i] += (group[i] - mean) / len(dead)
        return parts, information

    low, high = -20.0, 20.0
    while high - low > 1e-11:
        middle = (low + high) / 2
        low, high = (middle, high) if sum(at(middle)[0]) > 0 else (low, middle)
    parts, information = at(low)
    sums = [sum(part for part, own in zip(parts, cluster, strict=True) if own == each) for each in set(cluster)]
    return low, 1 / information if information > 1e-6 else inf, sum(each**2 for each in sums)


def kit(failures: int, exposure: int, ahead: int, level: str) -> tuple[int, Decimal]:
    """The least number with P(N <= number) >= level, adding up chances with fifty digits."""
    with localcontext(prec=50):
        shape = Decimal(failures) + Decimal("0.5")
        known = Decimal(exposure) / Decimal(exposure + ahead)
        chance = known**shape
        total, number = chance, 0
        while total < Decimal(level):
            number += 1
            chance *= (1 - known) * (shape + number - 1) / number
            total += chance
        return number, total


def findings(values: Sequence[Fraction]) -> set[tuple[str, int, int, bool]]:
    """What four rules find, each looking at every window of its length on its own."""
    mean = sum(values, Fraction(0)) / len(values)
    width = Fraction(266, 100) * sum(abs(b - a) for a, b in pairwise(values)) / (len(values) - 1)
    found: set[tuple[str, int, int, bool]] = set()
    for up in (True, False):
        way = 1 if up else -1
        off = [way * (value - mean) for value in values]
        found |= {("outside", i, i, up) for i, each in enumerate(off) if each > width}
        side = [range(i, i + 8) for i in range(len(off) - 7) if min(off[i : i + 8]) > 0]
        trend = [range(i, i + 6) for i in range(len(off) - 5) if all(off[j] < off[j + 1] for j in range(i, i + 5))]
        near = [[j for j in range(i, min(i + 3, len(off))) if off[j] > width * 2 / 3] for i in range(len(off) - 1)]
        found |= {("side", *ends, up) for ends in joined(side)}
        found |= {("trend", *ends, up) for ends in joined(trend)}
        found |= {("near", *ends, up) for ends in joined([each for each in near if len(each) > 1])}
    return found


def joined(windows: Sequence[Any]) -> list[tuple[int, int]]:
    """The ends of windows, those that share a place put together."""
    ends: list[tuple[int, int]] = []
    for window in windows:
        if ends and window[0] <= ends[-1][1]:
            ends[-1] = (ends[-1][0], max(ends[-1][1], window[-1]))
        else:
            ends.append((window[0], window[-1]))
    return ends


def log_log(share: Fraction, greenwood: Fraction, z: float) -> tuple[float, float]:
    """The log-log interval of a share that is neither 0 nor 1."""
    middle, half = log(-log(share)), z * sqrt(greenwood) / abs(log(share))
    return exp(-exp(middle + half)), exp(-exp(middle - half))
