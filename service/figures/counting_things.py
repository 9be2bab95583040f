"""From facts to populations: parts in place, sockets of children, and the forecasts of them. Exact."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from service.devices.rules import EndReason
from service.figures import cuts
from service.figures.counting import Counted, first_of, population
from service.figures.cuts import Cut
from service.figures.facts import FOUND, Facts, Judged, Stay, Worn
from service.figures.rules import past_years
from service.kit.clock import age_on

BROKEN: Final = ("broke", "did not break")
"""Two columns only: the fewer there are, the fewer of them are small, and the less has to be withheld."""
FITTED: Final = ("replaced before it was tight", "found tight", "came off otherwise", "in place")


def of_things(facts: Facts) -> list[Counted]:
    """Parts by design, sockets, forecasts."""
    return [*_parts(facts), _sockets(facts), _forecasts(facts)]


def broken_column(stay: Stay) -> str:
    """Whether a part broke; what is still in place, or came off otherwise, has not."""
    return BROKEN[0] if stay.came_off is EndReason.BROKEN else BROKEN[1]


def by_design(stays: Iterable[Stay]) -> dict[str, list[Stay]]:
    """The stays of printed parts by their design."""
    found: dict[str, list[Stay]] = {}
    for stay in stays:
        found.setdefault(stay.design, []).append(stay)
    return dict(sorted(found.items()))


def version_row(number: int) -> str:
    """A version as a row is called."""
    return f"version {number}"


def _parts(facts: Facts) -> list[Counted]:
    return [_design(design, stays) for design, stays in by_design(facts.stays).items()]


def _design(design: str, stays: list[Stay]) -> Counted:
    versions = tuple(version_row(number) for number in sorted({each.version for each in stays}))
    by: list[Cut[Stay]] = [Cut("version", "By version", versions, lambda each: version_row(each.version))]
    counted = population(f"parts: {design}", design, BROKEN, stays, broken_column, by=by)
    # Versions are compared by what broke of each; what broke of all together is of no use to anybody.
    return replace(counted, population=replace(counted.population, keep=BROKEN[:1]))


def childrens_sockets(facts: Facts) -> list[Worn]:
    """The sockets of those who were under 18 when it was fitted."""
    return [each for each in facts.sockets if age_on(facts.people[each.recipient].born, each.fitted_on) < 18]


def _fitted_column(socket: Worn) -> str:
    if socket.tight_on is not None:
        return FITTED[1]
    if socket.ended_on is None:
        return FITTED[3]
    return FITTED[0] if socket.why is EndReason.OUTGROWN else FITTED[2]


def _sockets(facts: Facts) -> Counted:
    things = childrens_sockets(facts)
    first = first_of((each.fitted_on for each in things), facts)
    year: Cut[Worn] = cuts.by_year("By the year it was fitted", lambda each: each.fitted_on, first, facts.until)
    sums = cuts.up_to(year.rows, past_years(facts.until))
    return population("sockets", "Children's sockets", FITTED, things, _fitted_column, by=[year], sums=sums)


def _forecasts(facts: Facts) -> Counted:
    models = tuple(sorted({each.model for each in facts.judged}))
    by: list[Cut[Judged]] = [Cut("model", "By the model's version", models or ("none",), lambda each: each.model)]
    return population("forecasts", "Forecasts judged", FOUND, facts.judged, lambda each: each.found, by=by)
