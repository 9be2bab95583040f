"""How long making and delivering a socket takes: a distribution, learned from past requests once there are enough.

Log-normal: times are positive, and now and then one takes far longer. Requests still waiting count too, as *at least
so long*: leaving them out would make a slow site look fast.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erfc, exp, log, pi, sqrt
from statistics import NormalDist
from typing import Self

import numpy as np

from service.growth.model.process import Floats

ENOUGH = 10
"""So many finished requests before they are believed rather than the site's own estimate."""

USUAL_SPREAD = 1 / 3
"""The standard deviation, relative to the median, where nothing says otherwise. Judgement."""

LEAST_LOG_SD = 0.05
"""Nobody is more regular than this, however alike a few past times were."""

WORTH_MOVING_DAYS = 1.0
"""A lead time learned anew counts once its usual or its longest days have moved by so many: less moves no plan."""

NODES = 11
STEPS = 200
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class Lead:
    """Days from starting a socket to its arrival, log-normal; `learned_from` counts the requests behind it, or 0."""

    median: float
    log_sd: float
    learned_from: int = 0

    @classmethod
    def of(cls, days: float, spread: float | None = None) -> Self:
        """From a median and a standard deviation, in days; without one, a third of the median."""
        relative = USUAL_SPREAD if spread is None else spread / days
        # A log-normal's variance is median^2 x (x - 1) with x = exp(log_sd^2).
        return cls(days, sqrt(log((1 + sqrt(1 + 4 * relative**2)) / 2)))

    @property
    def days(self) -> int:
        """The median in whole days, at least one."""
        return max(1, round(self.median))

    def quantile(self, probability: float) -> float:
        """The days within which so large a share arrives."""
        return self.median * exp(self.log_sd * _NORMAL.inv_cdf(probability))

    def nodes(self) -> Floats:
        """A few equally likely lead times that stand for all."""
        return np.array([self.quantile((i + 0.5) / NODES) for i in range(NODES)])


def has_moved(before: Lead | None, now: Lead | None) -> bool:
    """Whether what is learned now (None: too few to learn from) says something else than what was learned before."""
    if before is None or now is None:
        return before is not now
    return any(abs(before.quantile(p) - now.quantile(p)) >= WORTH_MOVING_DAYS for p in (0.5, 0.9))


def learned(observed: Sequence[tuple[float, bool]], otherwise: Lead) -> Lead:
    """The lead time that past requests show, as (days, censored): censored ones are waited for still.

    `otherwise` while fewer than ENOUGH have finished. Maximum likelihood, by expectation and maximisation.
    """
    finished = [log(days) for days, censored in observed if not censored]
    waiting = [log(days) for days, censored in observed if censored]
    if len(finished) < ENOUGH:
        return otherwise
    count, total = len(observed), sum(finished)
    mean = total / len(finished)
    sd = max(LEAST_LOG_SD, sqrt(sum((x - mean) ** 2 for x in finished) / len(finished)))
    for _step in range(STEPS):
        expected = [_beyond(x, mean, sd) for x in waiting]
        at = (total + sum(first for first, _ in expected)) / count
        squares = sum((x - at) ** 2 for x in finished)
        squares += sum(variance + (first - at) ** 2 for first, variance in expected)
        mean, sd = at, max(LEAST_LOG_SD, sqrt(squares / count))
    return Lead(exp(mean), sd, count)


def _beyond(least: float, mean: float, sd: float) -> tuple[float, float]:
    """Mean and variance of a normal known to exceed `least`."""
    a = (least - mean) / sd
    tail = erfc(a / sqrt(2)) / 2
    if tail < 1e-300:  # so far out that it is only just beyond
        return least, 0.0
    ratio = exp(-(a**2) / 2) / sqrt(2 * pi) / tail
    return mean + sd * ratio, sd**2 * max(0.0, 1 + a * ratio - ratio**2)
