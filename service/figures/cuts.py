"""By what figures may be cut, and by nothing else: each a name, a title and the row that a thing falls in.

That the cuts are fixed is part of the protection: whoever could ask for any two groups that differ by one child could
take their difference. So no cut crosses another, and none is made on demand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Generic, TypeVar

from service.disclosure import Cell, Sum
from service.figures.facts import BODY_POWERED, EXTERNALLY_POWERED, PASSIVE, Asked, Device, Person
from service.figures.rules import AGES, FAR_KM, UNKNOWN, age_band, distance_band, quarter, quarters
from service.recipients.rules import Cause, Level, Sex
from service.requests.rules import RequestKind

T = TypeVar("T")

BEFORE: Final = "before"
"""The row of all quarters before those that are shown."""

AGE_ROWS: Final = tuple(name for _, name in AGES)
FAR_ROWS: Final = (*(name for _, name in FAR_KM), UNKNOWN)
SEX_ROWS: Final = ("girls and women", "boys and men", "not said")
LANGUAGE_ROWS: Final = ("English at home", "another language at home")
CAUSE_ROWS: Final = ("from birth", "after an amputation", UNKNOWN)
LEVEL_ROWS: Final = ("part of a hand", "wrist or forearm", "elbow or above", UNKNOWN)
DRIVE_ROWS: Final = (PASSIVE, BODY_POWERED, EXTERNALLY_POWERED)

_HAND = frozenset({Level.PHALANGEAL, Level.METACARPAL, Level.CARPAL})
_SEXES = {Sex.FEMALE: SEX_ROWS[0], Sex.MALE: SEX_ROWS[1], Sex.UNSPECIFIED: SEX_ROWS[2]}
_CAUSES = {Cause.CONGENITAL: CAUSE_ROWS[0], Cause.ACQUIRED: CAUSE_ROWS[1], None: UNKNOWN}


@dataclass(frozen=True)
class Cut(Generic[T]):
    """One way to part things: `rows` in the order they are shown, and which of them a thing is in."""

    name: str
    title: str
    rows: tuple[str, ...]
    row_of: Callable[[T], str]


def level_row(level: Level | None) -> str:
    """The kind of device, as far as the level of the limb tells it."""
    if level is None:
        return UNKNOWN
    if level in _HAND:
        return LEVEL_ROWS[0]
    return LEVEL_ROWS[2] if level.is_above_forearm else LEVEL_ROWS[1]


def of_person(person_of: Callable[[T], Person], on: Callable[[T], date], sites: tuple[str, ...]) -> list[Cut[T]]:
    """The cuts by who somebody is; the age is that on the day of what is counted."""
    return [
        Cut("age", "By age", AGE_ROWS, lambda each: age_band(person_of(each).born, on(each))),
        Cut("sex", "By sex", SEX_ROWS, lambda each: _SEXES[person_of(each).sex]),
        Cut("site", "By site", sites, lambda each: person_of(each).site),
        Cut("language", "By language", LANGUAGE_ROWS, lambda each: LANGUAGE_ROWS[person_of(each).language != "en"]),
        Cut("distance", "By distance to the site", FAR_ROWS, lambda each: distance_band(person_of(each).km)),
    ]


def of_devices() -> list[Cut[Device]]:
    """The cuts by what a device is."""
    return [
        Cut("kind", "By kind of device", LEVEL_ROWS, lambda each: level_row(each.level)),
        Cut("cause", "By cause", CAUSE_ROWS, lambda each: _CAUSES[each.cause]),
        Cut("drive", "By drive", DRIVE_ROWS, lambda each: each.drive),
    ]


def of_requests() -> list[Cut[Asked]]:
    """The cut by what was asked for."""
    rows = tuple(kind.label for kind in RequestKind)
    return [Cut("kind", "By what was asked for", rows, lambda each: each.kind.label)]


def by_year(title: str, on: Callable[[T], date], first: date, until: date) -> Cut[T]:
    """The cut by calendar year of something."""
    rows = tuple(str(year) for year in range(first.year, until.year + 1))
    return Cut("year", title, rows, lambda each: str(on(each).year))


def by_quarter(title: str, on: Callable[[T], date], until: date) -> Cut[T]:
    """The cut by quarter of something; all before the quarters shown are one row."""
    rows = quarters(until)
    return Cut(
        "quarter", title, (BEFORE, *rows), lambda each: quarter(on(each)) if quarter(on(each)) in rows else BEFORE
    )


def up_to(years: Iterable[str], past: Iterable[int]) -> list[Sum]:
    """All up to the end of past years: the totals that earlier reports told, which later ones must not give away."""
    rows = list(years)
    found = [(year, tuple(Cell("year", row) for row in rows if int(row) <= year)) for year in past]
    return [Sum(f"up to {year}", cells) for year, cells in found if cells]


def years_of_quarters(rows: Sequence[str], columns: Sequence[str], past: Iterable[int]) -> list[Sum]:
    """Of a table by quarter, what each whole year adds up to, in all and by column, and all up to past years.

    Years are not a cut of their own beside quarters: their cells would be sums of the others', and unguarded.
    """
    quarters = [row for row in rows if row != BEFORE]
    sums: list[Sum] = []
    for year in dict.fromkeys(row[:4] for row in quarters):
        of_year = [row for row in quarters if row[:4] == year]
        sums += [
            Sum(year_sum(year, column), tuple(Cell("quarter", row, column) for row in of_year))
            for column in (None, *columns)
        ]
    for ended in past:
        cells = tuple(Cell("quarter", row) for row in rows if row == BEFORE or int(row[:4]) <= ended)
        if len(cells) > 1:
            sums.append(Sum(f"up to {ended}", cells))
    return sums


def year_sum(year: str, column: str | None = None) -> str:
    """The name of what a year adds up to, in all or in a column."""
    return year if column is None else f"{year}, {column}"
