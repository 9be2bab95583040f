"""How sure a share, a count, a rate and a difference of shares are: intervals of 95 per cent."""

from __future__ import annotations

from math import hypot, isfinite, sqrt
from typing import Final, NamedTuple

from scipy.special import gammaincinv

Z95: Final = 1.959963984540054
"""The normal quantile that leaves 2.5 per cent on each side."""

TAIL: Final = 0.025
"""What an interval of 95 per cent leaves on each side."""


class Interval(NamedTuple):
    """Where a figure lies, 95 times in 100."""

    low: float
    high: float


class Estimate(NamedTuple):
    """A figure with its 95 per cent interval."""

    value: float
    low: float
    high: float


def wilson(successes: float, trials: float) -> Interval | None:
    """The interval of a share (0-1) by Wilson's score; None without a trial.

    The roots p of |s/n - p| = z sqrt(p (1 - p) / n). Numbers need not be whole: a share that was estimated from
    censored lives is worth so many trials, and may be given as share * worth and worth.

    Wilson 1927, J. Am. Stat. Assoc. 22, 209-212.
    """
    if not 0 <= successes <= trials or not isfinite(trials):
        raise ValueError(f"successes lie between none and all of the trials: {successes} of {trials}")
    if trials == 0:
        return None
    share, spread = successes / trials, Z95**2 / trials
    middle = (share + spread / 2) / (1 + spread)
    half = Z95 * sqrt(share * (1 - share) / trials + spread / (4 * trials)) / (1 + spread)
    # At none and at all one end is the share itself; rounding must not put it on the wrong side.
    return Interval(min(share, max(0.0, middle - half)), max(share, min(1.0, middle + half)))


def garwood(count: int) -> Interval:
    """The exact interval of a Poisson mean, given what was counted.

    Low is the mean at which `count` or more come 2.5 times in 100, high that at which `count` or fewer do: quantiles
    of Gamma(count) and Gamma(count + 1), halves of chi-square ones. It holds at least 95 times in 100, more often for
    small means.

    Garwood 1936, Biometrika 28, 437-442.
    """
    if count < 0 or count != int(count):
        raise ValueError(f"a count is a whole number from 0, not {count}")
    low = float(gammaincinv(count, TAIL)) if count else 0.0
    return Interval(low, float(gammaincinv(count + 1, 1 - TAIL)))


def rate(count: int, exposure: float) -> Estimate | None:
    """Events per unit of exposure (a device-year, say), with Garwood's interval; None without exposure."""
    low, high = garwood(count)
    if exposure == 0 and count == 0:
        return None
    if not 0 < exposure < float("inf"):
        raise ValueError(f"{count} events need an exposure above 0, not {exposure}")
    return Estimate(count / exposure, low / exposure, high / exposure)


def newcombe(successes: float, trials: float, others: float, other_trials: float) -> Estimate | None:
    """The first share less the second (-1 to 1) by Newcombe's hybrid score; None where either has no trial.

    With shares p, q and their Wilson intervals (l, u), (m, v): p - q, from p - q - sqrt((p - l)^2 + (v - q)^2) to
    p - q + sqrt((u - p)^2 + (q - m)^2). The two groups must be different people.

    Newcombe 1998, Statistics in Medicine 17, 873-890, method 10.
    """
    first, second = wilson(successes, trials), wilson(others, other_trials)
    if first is None or second is None:
        return None
    p, q = successes / trials, others / other_trials
    low = p - q - hypot(p - first.low, second.high - q)
    high = p - q + hypot(first.high - p, q - second.low)
    return Estimate(p - q, max(-1.0, low), min(1.0, high))
