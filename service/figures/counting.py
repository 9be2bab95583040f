"""From facts to populations: what is counted, into which columns, by which cuts. Exact: nothing here is told yet."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final, TypeVar

from service.devices.rules import StoppedWhy
from service.disclosure import Population, Sum, counted
from service.figures import cuts
from service.figures.cuts import Cut
from service.figures.facts import Asked, Device, Facts, Person
from service.figures.rules import SILENT, past_years
from service.requests.rules import RequestState

T = TypeVar("T")

COUNTED: Final = ("counted",)
WORN: Final = ("still worn", "stopped", "not heard of for a year")
ANSWERED: Final = ("in time", "late", "still waited for", "closed without")
NOT_STOPPED, NO_REASON = "not stopped", "no reason on record"
REASON_ROWS: Final = (*(why.label for why in StoppedWhy), NO_REASON, NOT_STOPPED)


@dataclass(frozen=True)
class Counted:
    """A population with its title and the cuts that its tables are made by."""

    title: str
    cuts: tuple[Cut[Any], ...]
    population: Population

    def cut(self, name: str) -> Cut[Any]:
        """The cut of a table."""
        return next(each for each in self.cuts if each.name == name)


def population(
    name: str,
    title: str,
    columns: Sequence[str],
    things: Collection[T],
    column_of: Callable[[T], str],
    *,
    by: Collection[Cut[T]],
    sums: Sequence[Sum] = (),
) -> Counted:
    """Count things into columns, once by each cut; raises ValueError for one that is in no row or column."""
    found = counted(
        name,
        columns,
        {cut.name: cut.rows for cut in by},
        ((column_of(thing), {cut.name: cut.row_of(thing) for cut in by}) for thing in things),
        sums,
    )
    return Counted(title, tuple(by), found)


def of_people(facts: Facts) -> list[Counted]:
    """The people, their devices and what they asked for."""
    sites = facts.sites
    return [_people(facts, sites), _devices(facts, sites), _requests(facts, sites)]


def _people(facts: Facts, sites: tuple[str, ...]) -> Counted:
    first: dict[int, date] = {}
    for device in facts.devices:
        first[device.recipient] = min(device.begun_on, first.get(device.recipient, device.begun_on))
    served = list(first.items())

    def who(each: tuple[int, date]) -> Person:
        return facts.people[each[0]]

    year: Cut[tuple[int, date]] = cuts.by_year(
        "By the year of the first device", lambda each: each[1], first_of(first.values(), facts), facts.until
    )
    by = [*cuts.of_person(who, lambda each: each[1], sites), year]
    sums = cuts.up_to(year.rows, past_years(facts.until))
    return population("people", "People with a device", COUNTED, served, lambda _: COUNTED[0], by=by, sums=sums)


def worn_column(facts: Facts, device: Device) -> str:
    """Whether a device is worn, as far as is known."""
    if device.stopped_on is not None:
        return WORN[1]
    return WORN[2] if facts.until - device.heard_on > SILENT else WORN[0]


def _devices(facts: Facts, sites: tuple[str, ...]) -> Counted:
    year: Cut[Device] = cuts.by_year(
        "By the year it was first worn",
        lambda each: each.begun_on,
        first_of((each.begun_on for each in facts.devices), facts),
        facts.until,
    )
    by: list[Cut[Device]] = [
        *cuts.of_devices(),
        *cuts.of_person(lambda each: facts.people[each.recipient], lambda each: each.begun_on, sites),
        year,
        Cut(
            "reason",
            "By why it was stopped",
            REASON_ROWS,
            lambda each: NOT_STOPPED if each.stopped_on is None else each.why or NO_REASON,
        ),
    ]
    sums = cuts.up_to(year.rows, past_years(facts.until))
    return population(
        "devices", "Devices", WORN, facts.devices, lambda each: worn_column(facts, each), by=by, sums=sums
    )


def answered_column(request: Asked) -> str:
    """Whether a request was answered by its day; the days its clock stood still do not count against anybody."""
    if request.settled_on is None:
        return ANSWERED[2]
    if request.state is not RequestState.ANSWERED:
        return ANSWERED[3]
    return ANSWERED[0] if request.settled_on <= request.by + timedelta(days=request.waited) else ANSWERED[1]


def _requests(facts: Facts, sites: tuple[str, ...]) -> Counted:
    quarter: Cut[Asked] = cuts.by_quarter("By the quarter it was asked for", lambda each: each.asked_on, facts.until)
    by: list[Cut[Asked]] = [
        *cuts.of_requests(),
        *cuts.of_person(lambda each: facts.people[each.recipient], lambda each: each.asked_on, sites),
        quarter,
    ]
    sums = cuts.years_of_quarters(quarter.rows, ANSWERED, past_years(facts.until))
    return population("requests", "Requests", ANSWERED, facts.requests, answered_column, by=by, sums=sums)


def first_of(days: Iterable[date], facts: Facts) -> date:
    """The first of some days; where there are none, the last that is counted."""
    return min(days, default=facts.until)
