"""How long a socket will be worn: months from day one until the bare limb and the liner fill it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.growth.model.passage import first_passage, quantile

Floats = NDArray[np.float64]
MONTHS_IN_YEAR = 12.0
QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Months:
    """Months by which 1, 5 and 9 of 10 futures have come to it; None is beyond what is foreseen."""

    p10: float | None
    p50: float | None
    p90: float | None


def months_from(years: Floats, day_one: float) -> Floats:
    """Months since day one of the times that are left from it on, beginning with 0; both are in years from today."""
    return np.concatenate([[0.0], (years[years > day_one] - day_one) * MONTHS_IN_YEAR])


def from_day_one(years: Floats, paths: Floats, day_one: float) -> Floats:
    """The part of some paths (N x T, straight between `years`) from day one on, at `months_from(years, day_one)`.

    Day one lies before the last of `years`.
    """
    return np.column_stack([_at(years, paths, day_one), paths[:, years > day_one]])


def first_months(months: Floats, paths: Floats, most: float) -> Floats:
    """The part of some paths up to `most` months, that moment included."""
    return np.column_stack([paths[:, months < most], _at(months, paths, most)])


def until(months: Floats, paths: Sequence[Floats], limits: Sequence[float]) -> Floats:
    """For each future the months until the first of several sizes reaches its limit (same unit); infinite if none."""
    times = [first_passage(months, path, limit) for path, limit in zip(paths, limits, strict=True)]
    return np.asarray(np.min(times, axis=0))


def quantiles(until_each: Floats) -> Months:
    """What the times of all futures say together."""
    found = (quantile(until_each, p) for p in QUANTILES)
    return Months(*(value if np.isfinite(value) else None for value in found))


def share_beyond(until_each: Floats, months: float) -> float:
    """The share of futures in which it lasts at least so long."""
    return float(np.mean(until_each >= months))


def _at(times: Floats, paths: Floats, moment: float) -> Floats:
    """Where each path is at a moment between the first of `times` and the last."""
    after = min(int(np.searchsorted(times, moment, side="right")), len(times) - 1)
    share = (moment - times[after - 1]) / (times[after] - times[after - 1])
    return np.asarray(paths[:, after - 1] + share * (paths[:, after] - paths[:, after - 1]))
