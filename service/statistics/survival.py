"""How long things last: the product-limit estimate with delayed entry, and how sure it is.

    S(t) = product over event times u <= t of (1 - d(u) / n(u))

with d(u) failing and n(u) at risk (`lives.py` says who is). The interval is symmetric for log(-log S), by Greenwood's
sum G(t) = sum d / (n (n - d)):  S^exp(+-z sqrt(G) / |log S|).  It never leaves 0-1, but says nothing where S is 1 or 0:

- *S = 1*, nothing failed yet: high is 1, low is 0.025^(1/m), m being the fewest at risk so far. A survival below that
  would let nothing fail less than 2.5 times in 100 (each life seen is one chance more for it to show).
- *S = 0*, the last at risk failed and nobody entered after: low is 0, high that of just before; where all failed at
  once, 1 - 0.025^(1/n).

**Under delayed entry the set at risk may run empty early** while others enter later: one part followed from its first
day breaks on day 9, all others were followed from day 30 on. The product is 0 from day 9 on, for ever, whatever is seen
of the others. That is a hole in what was seen, not a fact about parts. So a curve is known only until the set at risk
first runs empty: after that it is None, and `note` says why. Ask instead for those that lasted past the hole:
`kaplan_meier(lives, since=30)` is the survival from day 30 of what was there on day 30.

Kaplan & Meier 1958, J. Am. Stat. Assoc. 53, 457-481; Tsai, Jewell & Wang 1987, Biometrika 74, 883-886 (delayed entry);
Kalbfleisch & Prentice 1980 (log-log); Brookmeyer & Crowley 1982, Biometrics 38, 29-41 (median).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.statistics.intervals import TAIL, Z95, Estimate, Interval
from service.statistics.lives import Floats, Integers, Lives

_ROUNDING = 1e-12
"""A product that should be one half exactly may miss it by so much."""


@dataclass(frozen=True, slots=True)
class Median:
    """When half had failed (days): the first event time with S <= 0.5. What was not reached is None."""

    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Curve:
    """A survival curve at its T event times: the share left after each, out of those there at `since`.

    It is known up to `until` (days), and beyond it only when everything had failed (`ended`). Where the set at risk ran
    empty before others entered, `note` says so. `low` and `high` are the interval.
    """

    lives: Lives
    since: float
    until: float
    ended: bool
    note: str
    times: Floats
    at_risk: Integers
    failed: Integers
    survival: Floats
    low: Floats
    high: Floats

    def at(self, day: float) -> Estimate | None:
        """The share still there after a day; None where it is not known."""
        if day < self.since or (day > self.until and not self.ended):
            return None
        place = int(np.searchsorted(self.times, day, side="right")) - 1
        if place < 0:
            return Estimate(1.0, *self._none_failed(day))
        return Estimate(float(self.survival[place]), float(self.low[place]), float(self.high[place]))

    def numbers(self, day: float) -> int:
        """How many are followed at a day: at risk then; at `since` itself, how many the curve begins with."""
        if day <= self.since:
            return int(((self.lives.entry <= self.since) & (self.lives.exit > self.since)).sum())
        return int(self.lives.at_risk(day))

    def median(self) -> Median:
        """When half had failed, with the first times at which the interval lets it be so."""
        return Median(self._halved(self.survival), self._halved(self.low), self._halved(self.high))

    def _halved(self, shares: Floats) -> float | None:
        reached = np.flatnonzero(shares <= 0.5 + _ROUNDING)
        return float(self.times[reached[0]]) if len(reached) else None

    def _none_failed(self, day: float) -> Interval:
        """What is known before anything failed."""
        if day <= self.since:
            return Interval(1.0, 1.0)
        return Interval(TAIL ** (1 / _fewest(self.lives, self.since, day)), 1.0)


def kaplan_meier(lives: Lives, since: float = 0.0) -> Curve:
    """The survival curve of those that were there at `since` (days)."""
    followed = lives.after(since)
    until, note = _known_until(followed, since)
    times = followed.times()
    times = times[times <= until]
    at_risk, failed = followed.at_risk(times), followed.failed(times)
    survival: Floats = np.cumprod(1 - failed / at_risk, dtype=np.float64)
    low, high = _interval(survival, at_risk, failed)
    ended = bool(len(survival)) and bool(survival[-1] == 0)
    return Curve(followed, since, until, ended, note, times, at_risk, failed, survival, low, high)


def _known_until(lives: Lives, since: float) -> tuple[float, str]:
    """Until when the product means something (days), and what to say if others were followed only later."""
    if not len(lives):
        return since, f"Nothing was followed past day {since:g}."
    entries, exits = np.sort(lives.entry), np.sort(lives.exit)
    if entries[0] > since:
        hole = since
    else:
        # Nobody is at risk just after an exit by which as many are over as have entered until then.
        hole = float(exits[np.arange(1, len(exits) + 1) == np.searchsorted(entries, exits, side="right")][0])
    times = lives.times()
    wiped = times[(lives.at_risk(times) == lives.failed(times)) & (times < exits[-1])]
    if len(wiped) and wiped[0] <= hole:
        # All fail at once, before others are followed: the product would be 0 from here on, so it stops just before.
        return float(np.nextafter(wiped[0], since)), _advice(lives, float(wiped[0]))
    return hole, _advice(lives, hole) if hole < exits[-1] else ""


def _advice(lives: Lives, hole: float) -> str:
    begins = lives.entry[lives.entry >= hole].min()
    return (
        f"Nothing that was followed by then was left after day {hole:g}, so what comes after is not known. "
        f"Others were followed from day {begins:g} on: ask for what becomes of those that lasted until then."
    )


def _interval(survival: Floats, at_risk: Integers, failed: Integers) -> tuple[Floats, Floats]:
    """The log-log interval at each event time, T and T."""
    with np.errstate(divide="ignore", invalid="ignore"):
        greenwood = np.cumsum(failed / (at_risk * (at_risk - failed)))
        width = np.exp(Z95 * np.sqrt(greenwood) / np.abs(np.log(survival)))
        low, high = survival**width, survival ** (1 / width)
    if len(survival) and survival[-1] == 0:
        low[-1] = 0.0
        high[-1] = high[-2] if len(survival) > 1 else 1 - TAIL ** (1 / at_risk[-1])
    return low, high


def _fewest(lives: Lives, since: float, until: float) -> int:
    """The smallest number at risk after `since` up to and at `until`; it is smallest just before somebody enters."""
    looked_at = np.append(lives.entry[(lives.entry > since) & (lives.entry <= until)], until)
    return int(lives.at_risk(looked_at).min())
