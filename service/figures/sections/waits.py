"""How long people wait, and whether what was promised was kept."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from service.disclosure.beside import share_beside
from service.figures import lasting
from service.figures.counting import ANSWERED
from service.figures.curving import curve, half
from service.figures.cuts import BEFORE, year_sum
from service.figures.sheets import CurveView, FigureView, SectionView
from service.figures.telling import EVERYBODY, Telling
from service.figures.wording import in_weeks, per_cent

WEEKS: Final = (1, 2, 3, 4, 6, 8, 10, 12, 16, 20, 26, 39, 52)
BY: Final = ("kind", "site")


def section(telling: Telling) -> SectionView:
    """The distribution of waits, those still waiting included, and promises kept."""
    kept, curves = [*_kept(telling)], [*_curves(telling)]
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


def _kept(telling: Telling) -> Iterator[FigureView]:
    told = telling.told["requests"]
    groups = {EVERYBODY: [told.at(column=column) for column in ANSWERED[:2]]}
    for cut in BY:
        groups |= {row: [told.at(cut, row, column) for column in ANSWERED[:2]] for row in telling.rows("requests", cut)}
    for year in dict.fromkeys(row[:4] for row in telling.rows("requests", "quarter") if row != BEFORE):
        groups[year] = [told.sum(year_sum(year, column)) for column in ANSWERED[:2]]
    for of, (in_time, late) in groups.items():
        yield telling.figure("waits.in_time", share_beside(telling.rule, in_time, late), of)


def _curves(telling: Telling) -> Iterator[CurveView]:
    asked, told = telling.facts.requests, telling.told["requests"]
    groups = [(EVERYBODY, told.total, asked)]
    for cut in BY:
        groups += [(row, told.at(cut, row), some) for row, some in telling.parted("requests", cut, asked)]
    for of, count, some in groups:
        lives = lasting.waited(some, telling.as_of)
        yield curve(telling, "waits.curve", lives, WEEKS, unit="weeks", count=count, of=of)
