"""What it costs, as far as anybody records it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from service.disclosure import Rule, Told
from service.disclosure.amounts import ToldAmount, tell_amount
from service.figures import lasting
from service.figures.counting_acts import MADE
from service.figures.facts import Spent
from service.figures.reading import number
from service.figures.sheets import FigureView, SectionView
from service.figures.telling import EVERYBODY, Telling
from service.figures.wording import between
from service.statistics.sums import ratio_of_sums

MONTHS_A_YEAR: Final = 12


def section(telling: Telling) -> SectionView:
    """Material for each build that was fitted, for each month worn, and hours of printing; by site."""
    figures = [*_of(telling, EVERYBODY, telling.facts.spent)]
    for site, some in telling.parted("builds", "site", telling.facts.spent):
        figures += _of(telling, site, some)
    each_build = between(figures[0])
    cost, source = telling.money
    beside = [f"Elsewhere a device costs {number(cost)}: {source}."] if cost is not None else []
    return SectionView(
        key="costs",
        title="What it costs",
        lead=(
            f"Material for each build that was fitted cost about {each_build}."
            if each_build
            else "What a build costs cannot be told yet."
        ),
        figures=figures,
        tables=telling.tables("builds"),
        notes=[
            *beside,
            (
                "Only material that is printed is recorded, with failed prints. Bought parts, post, travel and above "
                "all the hours of volunteers are not, so this is not what it would cost to have it made."
            ),
        ],
    )


def _of(telling: Telling, of: str, spent: list[Spent]) -> Iterator[FigureView]:
    rule, builds = telling.rule, telling.told["builds"]
    row = {} if of == EVERYBODY else {"table": "site", "row": of}
    fitted, printed = builds.at(**row, column=MADE[0]), builds.at(**row)
    money = tell_amount(rule, sum(each.cents for each in spent) / 100, len(spent), told=printed)
    sure = ratio_of_sums([each.cents / 100 for each in spent], [float(each.fitted_on is not None) for each in spent])
    yield telling.ratio("costs.device", money, _as_amount(rule, fitted), of, sure=sure)
    if of == EVERYBODY:
        devices = telling.facts.devices
        worn = tell_amount(rule, MONTHS_A_YEAR * lasting.years_worn(devices), len(devices))
        yield telling.ratio("costs.month", money, worn, of)
    yield telling.amount(
        "costs.hours", tell_amount(rule, sum(each.hours for each in spent), len(spent), told=printed), of
    )


def _as_amount(rule: Rule, told: Told) -> ToldAmount:
    """A told count as what a sum is divided by."""
    window = rule.window(told)
    if told.value is None or window.high is None:
        return ToldAmount(None, None, None, told)
    return ToldAmount(float(told.value), float(window.low), float(window.high), told)
