"""How long people wait, and whether what was promised was kept."""

from __future__ import annotations

from typing import Final

from service.disclosure.beside import share_beside
from service.figures import lasting
from service.figures.counting import ANSWERED, counted_requests
from service.figures.curving import curve, half
from service.figures.cuts import BEFORE, of_person, of_requests, year_sum
from service.figures.sheets import SectionView
from service.figures.telling import Telling
from service.figures.wording import in_weeks, per_cent

WEEKS: Final = (1, 2, 3, 4, 6, 8, 10, 12, 16, 20, 26, 39, 52)
BY: Final = ("kind", "site")


def section(telling: Telling) -> SectionView:
    """The distribution of waits, those still waiting included, and promises kept."""
    asked = counted_requests(telling.facts)
    told = telling.told["requests"]
    kept = [
        telling.figure(
            "waits.in_time", share_beside(telling.rule, *(told.at(column=column) for column in ANSWERED[:2]))
        ),
        *(
            telling.figure(
                "waits.in_time",
                share_beside(telling.rule, *(told.at(cut, row, column) for column in ANSWERED[:2])),
                row,
            )
            for cut in BY
            for row in telling.rows("requests", cut)
        ),
        *(
            telling.figure(
                "waits.in_time",
                share_beside(telling.rule, *(told.sum(year_sum(year, each)) for each in ANSWERED[:2])),
                year,
            )
            for year in dict.fromkeys(row[:4] for row in telling.rows("requests", "quarter") if row != BEFORE)
        ),
    ]
    curves = [
        curve(telling, "waits.curve", lasting.waited(asked, telling.as_of), WEEKS, unit="weeks", count=told.total)
    ]
    sites = telling.rows("requests", "site")
    people = telling.facts.people
    by = [*of_requests(), *of_person(lambda each: people[each.recipient], lambda each: each.asked_on, sites)]
    for cut in by:
        for row in cut.rows if cut.name in BY else ():
            waited = lasting.waited([each for each in asked if cut.row_of(each) == row], telling.as_of)
            curves.append(
                curve(telling, "waits.curve", waited, WEEKS, unit="weeks", count=told.at(cut.name, row), of=row)
            )
    halves = [half(telling, "waits.half", each) for each in curves]
    return SectionView(
        key="waits",
        title="How long people wait",
        lead=f"{per_cent(kept[0], 'of what was answered was there in time')} {in_weeks(halves[0])}",
        figures=[*kept, *halves],
        tables=[telling.table("requests", name) for name in BY],
        curves=curves,
        notes=[
            "A mean would leave out whoever still waits. The curve counts them for as long as they have waited.",
            "Days on which the charity waited for a family or a clinician are taken out.",
        ],
    )
