"""The forecasts' record as it may be shown: nobody can be picked out of it.

Counts are rounded to the nearest five; 1 to 7 are hidden, and so is every figure that rests on fewer than eight.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple, TypeVar

from service.growth.record import HORIZONS, Judged, Tally
from service.kit.schema import View
from service.statistics import Estimate

FEWEST = 8
ROUNDED_TO = 5

K = TypeVar("K")


class Estimated(View):
    """A figure and its 95 per cent interval."""

    value: float
    low: float
    high: float


class RecordLine(View):
    """How forecasts made `horizon_days` before a socket came off have done.

    Either of one `model` version or, over all, of sockets that came off in one `year`. `replayed` ones were worked out
    afterwards from what had been measured by then, the others at the time. `judged` counts sockets and `outgrown`
    those of them found outgrown: to the nearest five, null when 1 to 7. `coverage` (0-1) is the share that came between
    p10 and p90, and should be 0.8. `bias_days` is the median of how much later the forecast was than the finding,
    `pinball_days` the mean quantile loss. Each is null when it rests on fewer than eight sockets.
    """

    model: str | None
    year: int | None
    replayed: bool
    horizon_days: int
    judged: int | None
    outgrown: int | None
    coverage: Estimated | None
    bias_days: Estimated | None
    pinball_days: float | None


class ForecastRecord(View):
    """The record by model version, and over time; only sockets that have come off are in it."""

    by_model: list[RecordLine]
    by_year: list[RecordLine]


class Entry(NamedTuple):
    """A judged forecast with what it is listed under."""

    model: str
    replayed: bool
    horizon_days: int
    judged: Judged


def told(entries: Iterable[Entry]) -> ForecastRecord:
    """The record of some judged forecasts, gone through once; those made at the time stand before those replayed."""
    by_model: defaultdict[tuple[bool, str], dict[int, Tally]] = defaultdict(_tallies)
    by_year: defaultdict[tuple[bool, int], dict[int, Tally]] = defaultdict(_tallies)
    for entry in entries:
        by_model[entry.replayed, entry.model][entry.horizon_days].add(entry.judged)
        by_year[entry.replayed, entry.judged.ended_on.year][entry.horizon_days].add(entry.judged)
    return ForecastRecord(
        by_model=[_line(days, tally, replayed=of[0], model=of[1]) for of, days, tally in _each(by_model)],
        by_year=[_line(days, tally, replayed=of[0], year=of[1]) for of, days, tally in _each(by_year)],
    )


def _tallies() -> dict[int, Tally]:
    return {days: Tally() for days in HORIZONS}


def _each(groups: Mapping[K, dict[int, Tally]]) -> Iterable[tuple[K, int, Tally]]:
    for of in sorted(groups):  # type: ignore[type-var] # both kinds of keys are tuples that sort
        for days, tally in groups[of].items():
            yield of, days, tally


def _line(days: int, tally: Tally, *, replayed: bool, model: str | None = None, year: int | None = None) -> RecordLine:
    enough, found = tally.known >= FEWEST, tally.outgrown >= FEWEST
    pinball = tally.pinball()
    return RecordLine(
        model=model,
        year=year,
        replayed=replayed,
        horizon_days=days,
        judged=_counted(tally.judged),
        outgrown=_counted(tally.outgrown),
        coverage=_estimated(tally.coverage(), 2) if enough else None,
        bias_days=_estimated(tally.bias(), 0) if found else None,
        pinball_days=round(pinball, 1) if found and pinball is not None else None,
    )


def _counted(count: int) -> int | None:
    if 0 < count < FEWEST:
        return None
    return ROUNDED_TO * round(count / ROUNDED_TO)


def _estimated(found: Estimate | None, digits: int) -> Estimated | None:
    if found is None:
        return None
    return Estimated(value=round(found.value, digits), low=round(found.low, digits), high=round(found.high, digits))
