"""What is true of trustees' figures without asking a database: up to which day they go, and in which bands."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from service.kit.clock import age_on

METHOD: Final = "1"
"""The version of everything that turns rows into figures; it goes up with every change that could move one."""

GRACE: Final = timedelta(days=14)
"""So long after a quarter has ended its sheet is made: what happened in its last days is written down by then."""

PAST_REPORTS: Final = 2
"""So many years back a register that is new to figures makes reports of; earlier years were known too badly."""

SILENT: Final = timedelta(days=365)
"""Whose device nobody has heard of for so long is not known to be worn."""

LAST_QUARTERS: Final = 16
"""So many quarters stand in the run charts: twelve are the least that limits are drawn from."""

DAYS_A_YEAR: Final = 365.25
DAYS_A_MONTH: Final = DAYS_A_YEAR / 12
DAYS_A_WEEK: Final = 7.0

AGES: Final = ((0, "under 5"), (5, "5 to 11"), (12, "12 to 17"), (18, "18 and over"))
FAR_KM: Final = ((0.0, "under 10 km"), (10.0, "10 to 30 km"), (30.0, "over 30 km"))
UNKNOWN: Final = "not known"


def quarter_end(on: date) -> date:
    """The last day of the last quarter that was over by a day, that day's own excluded."""
    first_month = 3 * ((on.month - 1) // 3) + 1
    return date(on.year, first_month, 1) - timedelta(days=1)


def due_sheets(today: date, first: date) -> list[date]:
    """The last days of the last years and of the last quarter that sheets can be made for, oldest first.

    `first` is the day of the first thing on record: nothing is told of years before it.
    """
    newest = quarter_end(today - GRACE)
    years = [date(year, 12, 31) for year in range(newest.year - PAST_REPORTS, newest.year + 1)]
    return sorted({on for on in (*years, newest) if first <= on <= newest})


def past_years(until: date) -> range:
    """Years whose reports may have told totals that a sheet up to a day must not give away."""
    return range(until.year - 10, until.year)


def quarter(on: date) -> str:
    """As "2026, 3rd quarter" is written in a table: `2026 Q3`."""
    return f"{on.year} Q{(on.month - 1) // 3 + 1}"


def quarters(until: date, count: int = LAST_QUARTERS) -> tuple[str, ...]:
    """The last quarters up to a day, oldest first."""
    last = until.year * 4 + (until.month - 1) // 3
    return tuple(f"{each // 4} Q{each % 4 + 1}" for each in range(last - count + 1, last + 1))


def age_band(born: date, on: date) -> str:
    """In which band an age falls."""
    return _band(AGES, age_on(born, on))


def distance_band(km: float | None) -> str:
    """In which band a distance falls; towns are not always on record."""
    return UNKNOWN if km is None else _band(FAR_KM, km)


def _band(bands: tuple[tuple[float, str], ...], value: float) -> str:
    inside = (name for (since, name), (until, _) in pairwise(bands) if since <= value < until)
    return next(inside, bands[-1][1])


def year_asked(since: date | None, until: date | None) -> int | None:
    """The whole calendar year that a period is; None for both left out (all years together).

    Raises ValueError with what to do for any other period: what lies between two of them would tell single people.
    """
    if since is None and until is None:
        return None
    if since is None or until is None or since > until:
        raise ValueError(_WHOLE_YEARS)
    if (since.month, since.day, until.month, until.day) != (1, 1, 12, 31) or since.year != until.year:
        raise ValueError(_WHOLE_YEARS)
    return since.year


_WHOLE_YEARS: Final = (
    "Figures are told for one whole calendar year, from 1 January to 31 December, or for all years together. Other "
    "periods could be subtracted from one another until they tell of one person."
)
