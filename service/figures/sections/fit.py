"""Whether sockets fit: days that children spent in tight ones, how many they needed, how good the forecasts were."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from service.disclosure.amounts import tell_amount
from service.disclosure.beside import share_beside
from service.disclosure.figures import rate
from service.figures.counting_things import childrens_sockets
from service.figures.facts import FOUND, Worn
from service.figures.rules import DAYS_A_YEAR
from service.figures.sheets import SectionView
from service.figures.telling import Telling
from service.figures.wording import between, per_cent
from service.statistics.sums import ratio_of_sums


def section(telling: Telling) -> SectionView:
    """Tight days and sockets for each child and year, and the forecasts' own record."""
    sockets, until = childrens_sockets(telling.facts), telling.as_of
    told, judged = telling.told["sockets"], telling.told["forecasts"]
    worn, tight = _by_child(sockets, until)
    days, years = (tell_amount(telling.rule, sum(each), len(sockets), told=told.total) for each in (tight, worn))
    figures = [
        telling.ratio("fit.tight", days, years, sure=ratio_of_sums(tight, worn)),
        telling.figure("fit.sockets", rate(telling.rule, told.total, years)),
        telling.figure(
            "fit.forecasts", share_beside(telling.rule, *(judged.at(column=column) for column in FOUND[:3]))
        ),
    ]
    tight_days = between(figures[0])
    said = (
        f"For each year that a child wore a socket, it is known to have been tight for {tight_days} days."
        if tight_days
        else "How long children spend in a tight socket cannot be told yet."
    )
    return SectionView(
        key="fit",
        title="Sockets that fit",
        lead=f"{said} {per_cent(figures[2], 'forecasts came true within their range')}",
        figures=figures,
        tables=[*telling.tables("sockets"), *telling.tables("forecasts")],
        notes=["A forecast's range is meant to hold the day 80 times in 100: more is too vague, less too sure."],
    )


def _by_child(sockets: Sequence[Worn], until: date) -> tuple[list[float], list[float]]:
    """Of each child the years a socket was worn, and the days it was known to be tight.

    A socket is known tight from the day somebody said or measured so until it came off.
    """
    worn: defaultdict[int, float] = defaultdict(float)
    tight: defaultdict[int, float] = defaultdict(float)
    for each in sockets:
        ended = each.ended_on or until
        worn[each.recipient] += (ended - each.fitted_on).days / DAYS_A_YEAR
        tight[each.recipient] += (ended - each.tight_on).days if each.tight_on is not None else 0
    return list(worn.values()), [tight[child] for child in worn]
