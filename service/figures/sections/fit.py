"""Whether sockets fit: days that children spent in tight ones, how many they needed, how good the forecasts were."""

from __future__ import annotations

from service.disclosure.amounts import tell_amount
from service.disclosure.beside import share_beside
from service.disclosure.figures import rate
from service.figures.counting_things import childrens_sockets
from service.figures.facts import FOUND
from service.figures.sheets import SectionView
from service.figures.telling import Telling
from service.figures.wording import number, per_cent

DAYS_A_YEAR = 365.25


def section(telling: Telling) -> SectionView:
    """Tight days and sockets for each child and year, and the forecasts' own record."""
    sockets, until = childrens_sockets(telling.facts), telling.as_of
    told, judged = telling.told["sockets"], telling.told["forecasts"]
    worn = sum(((each.ended_on or until) - each.fitted_on).days for each in sockets) / DAYS_A_YEAR
    # A socket is known tight from the day somebody said or measured so until it came off.
    tight = sum(((each.ended_on or until) - each.tight_on).days for each in sockets if each.tight_on is not None)
    years, days = (tell_amount(telling.rule, amount, len(sockets), told=told.total) for amount in (worn, float(tight)))
    figures = [
        telling.ratio("fit.tight", days, years),
        telling.figure("fit.sockets", rate(telling.rule, told.total, years)),
        telling.figure(
            "fit.forecasts", share_beside(telling.rule, *(judged.at(column=column) for column in FOUND[:3]))
        ),
    ]
    tight_days = figures[0].value
    said = (
        f"For each year that a child wore a socket, it is known to have been tight for {number(tight_days)} days."
        if tight_days is not None
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
