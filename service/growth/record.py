"""How well forecasts have done: pure, one judged forecast at a time, in memory that does not grow with their number.

A forecast is judged by the day its socket was *found* outgrown, which is later than the day it became tight by as long
as nobody noticed. A socket that came off for another reason (broken, worn out, …) tells only that it had not been found
outgrown by then: it is censored there. To leave those out would mislead: what is left are the children who grew fast,
and a sound forecast would look too late. So coverage is a product-limit estimate (Kaplan & Meier 1958), in which each
socket counts for as long as it was worn. Its time is the forecast's own: an end is placed on the scale of the
forecast's probabilities, straight between p10, p50 and p90, in steps of a hundredth; whoever is censored within a step
counts half there, as in a life table.

- *coverage* of p10 to p90, aim 0.80: product-limit; Wilson's interval, with as many sockets as Greenwood's variance
  says the estimate is worth. Without censoring it is plain Wilson on the plain share.
- *bias* in days: the median of (forecast median - day found outgrown), above zero for forecasts that were too late;
  the interval is exact and free of a distribution, from order statistics (a sign test turned round).
- *pinball* in days: the mean quantile loss over p10, p50, p90.

The last two know only sockets found outgrown, and so lean towards early ends. *Not within three years* counts as three
years.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate
from typing import NamedTuple

from service.statistics import Estimate, wilson

HORIZONS = (30, 90, 180, 365)
"""Days before a socket's end at which the forecast then in force is judged."""

THREE_YEARS = 1095
LEVELS = (0.1, 0.5, 0.9)
P10, P50, P90 = 10, 50, 90
"""Places of the quantiles among the hundredths of probability."""


class Judged(NamedTuple):
    """A forecast, the day its socket came off, and whether it was found outgrown (else it is censored there)."""

    as_of: date
    p10: date | None
    p50: date | None
    p90: date | None
    ended_on: date
    outgrown: bool


@dataclass(slots=True)
class Tally:
    """Judged forecasts of one kind: counts by the place of the end (see `_place`), and errors by day."""

    ends: list[int] = field(default_factory=lambda: [0] * (P90 + 1))
    censored: list[int] = field(default_factory=lambda: [0] * (P90 + 1))
    errors: Counter[int] = field(default_factory=Counter)
    loss: float = 0.0

    def add(self, judged: Judged) -> None:
        """Count one more."""
        days = [_days(judged, due) for due in (judged.p10, judged.p50, judged.p90)]
        ended = (judged.ended_on - judged.as_of).days
        place = _place(ended, days)
        if not judged.outgrown:
            self.censored[place] += 1
            return
        self.ends[place] += 1
        self.errors[days[1] - ended] += 1
        misses = [ended - day for day in days]
        self.loss += sum(max(p * miss, (p - 1) * miss) for p, miss in zip(LEVELS, misses, strict=True)) / len(LEVELS)

    @property
    def judged(self) -> int:
        """How many forecasts were judged."""
        return sum(self.ends) + sum(self.censored)

    @property
    def outgrown(self) -> int:
        """How many of them had their socket found outgrown."""
        return sum(self.ends)

    @property
    def known(self) -> int:
        """How many are known to have come true or not: found outgrown, or worn longer than p90."""
        return self.outgrown + self.censored[-1]

    def coverage(self) -> Estimate | None:
        """The share that came between p10 and p90 (0-1); None without any that is known."""
        if not self.known:
            return None
        to_p10, first = self._worn_through(0, P10)
        to_p90, second = self._worn_through(P10, P90)
        share = to_p10 * (1 - to_p90)
        variance = to_p10**2 * ((1 - to_p90) ** 2 * first + to_p90**2 * second)
        worth = min(share * (1 - share) / variance, self.judged) if variance > 0 and 0 < share < 1 else self.known
        interval = wilson(share * worth, worth)
        return None if interval is None else Estimate(share, *interval)

    def _worn_through(self, since: int, until: int) -> tuple[float, float]:
        """Of those worn up to one place, the share worn on to another, and Greenwood's sum for its variance."""
        share, greenwood = 1.0, 0.0
        at_risk = sum(self.ends[since:]) + sum(self.censored[since:])
        for ended, censored in zip(self.ends[since:until], self.censored[since:until], strict=True):
            exposed = at_risk - censored / 2
            if ended:
                share *= max(0.0, 1 - ended / exposed)
                greenwood += ended / (exposed * (exposed - ended)) if exposed > ended else 0.0
            at_risk -= ended + censored
        return share, greenwood

    def bias(self) -> Estimate | None:
        """The median error in days, above zero for forecasts that were too late; None under six found outgrown."""
        count = self.outgrown
        inner = _inner_rank(count)
        if inner < 1:
            return None
        middle = (self._ranked((count + 1) // 2) + self._ranked(count // 2 + 1)) / 2
        return Estimate(middle, self._ranked(inner), self._ranked(count + 1 - inner))

    def _ranked(self, rank: int) -> int:
        """The error of a rank, counted from 1."""
        ordered = sorted(self.errors)
        below = accumulate(self.errors[error] for error in ordered)
        return next(error for error, count in zip(ordered, below, strict=True) if count >= rank)

    def pinball(self) -> float | None:
        """The mean quantile loss in days."""
        return self.loss / self.outgrown if self.outgrown else None


def _inner_rank(count: int) -> int:
    """The largest rank k for which (k-th smallest, k-th largest) holds the median 95 times in 100; 0 if none does."""
    tail, ways, rank = 0, 1, 0
    while 40 * (tail + ways) <= 2**count and rank < count:
        tail += ways
        ways = ways * (count - rank) // (rank + 1)
        rank += 1
    return rank


def _place(ended: int, days: list[int]) -> int:
    """Where an end lies among a forecast's hundredths: P90 for all that come after p90."""
    p10, p50, p90 = days
    if ended > p90:
        return P90
    ranges = ((p50, p90, P50, P90), (p10, p50, P10, P50), (0, p10, 0, P10))
    since, until, first, after = next(each for each in ranges if ended >= each[0])
    part = (ended - since) / (until - since) if until > since else 0.0
    return min(after - 1, first + int(part * (after - first)))


def _days(judged: Judged, due: date | None) -> int:
    return THREE_YEARS if due is None else (due - judged.as_of).days
