"""By when to start the next socket, and when another reading would help that decision most. Pure: samples in, days out.

Write T for the day the socket is tight and L for how long making takes, both uncertain. Started on day D, the next one
comes at D + L: too late if T < D + L, that is, if X = T - L < D. So *start by* is the `risk` quantile of X. It is also
the D that loses least when a tight day costs (1 - risk) and a day of wear given away costs `risk`, since that loss is
the quantile loss of X at D. This prices a reading: taken on day s it says something new about T, the start moves to
where the loss is least given what it says (no earlier than s: those days have gone by), and the expected loss shrinks.
A later reading is fresher but leaves less time to act; the day with the smallest expected loss is *measure by*.

What a reading may say is averaged over, by summing along a fine grid of its values; paths are weighted by how well
they agree with each. So nothing is assumed of the shape of the distribution of T.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor
from typing import NamedTuple

import numpy as np

from service.growth.lead import Lead
from service.growth.model.passages import Passages
from service.growth.model.process import Floats

DATES = 13
"""Days on which a reading is imagined, from today to the start."""

HORIZON_DAYS = 1095.0
"""What is not reached within three years counts as reached then."""

WORTH_ASKING = 0.15
"""Another reading is asked for if it is expected to cut the loss by this share."""


class Reading(NamedTuple):
    """A reading imagined `day` days from now, and what it leaves of the expected loss (days)."""

    day: int
    loss: float


@dataclass(frozen=True, slots=True)
class Plan:
    """When to act, in days from now; a negative start means that it is late.

    `start_by` is None if not within three years, `reading` if none is worth asking for. `loss` (days) is what is
    expected without another reading.
    """

    start_by: int | None
    loss: float
    reading: Reading | None

    @property
    def cut(self) -> float:
        """The share of the expected loss that the reading takes away."""
        return 1 - self.reading.loss / self.loss if self.reading else 0.0


def plan(paths: Passages, lead: Lead, risk: float) -> Plan:
    """When to start so that the chance of a tight socket before the next arrives stays at `risk` (0-1), and to measure.

    Raises ValueError unless 0 < risk < 1.
    """
    start = start_by(paths.due_days, lead, risk)
    decision = _Decision(paths.due_days, lead, risk)
    loss = float(decision.loss(np.ones((1, len(paths.due_days))), 0.0)[0])
    best = None
    if start is not None and start > 0:
        best = min(_readings(paths, decision, start), key=lambda reading: reading.loss)
        if best.loss > (1 - WORTH_ASKING) * loss:
            best = None
    return Plan(start, loss, best)


def start_by(due_days: Floats, lead: Lead, risk: float) -> int | None:
    """The last day to start, for samples of the day a socket is tight (infinity: not within three years)."""
    if not 0 < risk < 1:
        raise ValueError(f"the risk is a chance between 0 and 1, not {risk}")
    spare = np.sort((due_days[:, None] - lead.nodes()).ravel())
    latest = spare[int(risk * len(spare))]
    return floor(latest) if np.isfinite(latest) else None


class _Decision:
    """The loss of starting when it is best to, for any weights of the paths."""

    def __init__(self, due_days: Floats, lead: Lead, risk: float) -> None:
        spare = np.minimum(due_days, HORIZON_DAYS)[:, None] - lead.nodes()
        order = spare.ravel().argsort(kind="stable")
        self.spare, self.path = spare.ravel()[order], order // spare.shape[1]
        self.risk = risk

    def loss(self, weights: Floats, earliest: float) -> Floats:
        """The smallest expected loss (days) when starting no earlier than a day, for each row of weights."""
        share = weights[:, self.path]
        share = share / share.sum(axis=1, keepdims=True)
        below, moment = share.cumsum(axis=1), (share * self.spare).cumsum(axis=1)
        best = np.minimum((below < self.risk).sum(axis=1), len(self.spare) - 1)
        start = np.maximum(self.spare[best], earliest)
        last = np.searchsorted(self.spare, start, side="right") - 1
        row = np.arange(len(weights))
        held, mean_held = below[row, last], moment[row, last]
        late = start * held - mean_held
        early = (moment[:, -1] - mean_held) - start * (1 - held)
        return np.asarray((1 - self.risk) * late + self.risk * early)


def _readings(paths: Passages, decision: _Decision, start: int) -> Iterator[Reading]:
    for day in np.unique(np.linspace(0, min(start, HORIZON_DAYS), DATES).astype(int)).tolist():
        chance, weights = _heard(_sizes(paths, day), paths.tape)
        yield Reading(day, float(chance @ decision.loss(weights, day)))


def _sizes(paths: Passages, day: int) -> Floats:
    """The log size of every path on a day, straight between steps as first passages are."""
    after = int(np.clip(np.searchsorted(paths.days, day), 1, len(paths.days) - 1))
    part = (day - paths.days[after - 1]) / (paths.days[after] - paths.days[after - 1])
    return np.asarray(paths.log_size[:, after - 1] * (1 - part) + paths.log_size[:, after] * part)


def _heard(sizes: Floats, error: float) -> tuple[Floats, Floats]:
    """What a reading may say: Z chances, and for each the weights of the paths given it, Z x PATHS.

    Values one error apart are close enough: sums of a normal density at that spacing are exact to six digits.
    """
    values = np.arange(sizes.min() - 5 * error, sizes.max() + 5 * error, error)
    agree = np.exp(-0.5 * ((values[:, None] - sizes) / error) ** 2)
    chance = agree.sum(axis=1)
    return chance / chance.sum(), agree / chance[:, None]
