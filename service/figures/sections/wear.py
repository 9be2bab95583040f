"""Whether devices are still worn, why not, what people say of them, and whether they reached their own goals."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import fmean
from typing import Final

from service.disclosure.amounts import tell_mean
from service.disclosure.beside import share_beside
from service.disclosure.figures import share
from service.figures import lasting
from service.figures.counting import WORN
from service.figures.counting_answers import (
    COMFORT_ROWS,
    GOALS,
    HOURS_ROWS,
    LEFT_OUT,
    PAIN_ROWS,
    REACHED,
    RECOMMEND_ROWS,
    attainments,
)
from service.figures.curving import curve
from service.figures.sheets import CurveView, FigureView, SectionView
from service.figures.telling import Telling
from service.figures.wording import per_cent
from service.statistics.intervals import wilson

MONTHS: Final = (3, 6, 12, 18, 24, 36, 48, 60)
BY: Final = ("kind", "age", "cause", "drive")

GOOD: Final = (
    ("comfort", COMFORT_ROWS[2], "comfort of 7 or more in 10"),
    ("pain", PAIN_ROWS[0], "no pain"),
    ("hours", HOURS_ROWS[2], "worn six hours a day or more"),
    ("recommend", RECOMMEND_ROWS[0], "would recommend it"),
)

PUBLISHED: Final = (
    (
        "In studies gathered by Biddiss and Chau (2007), 45 in 100 children rejected a body-powered prosthesis and "
        "35 in 100 an electric one; of adults 26 and 23. The studies differ among themselves in whom they asked, "
        "after how long, and in what they called rejection, and most asked clinics' patients. So the figures here "
        "are beside them, not against them."
    ),
    (
        "Of {of} printed devices followed in a small home trial of Damascus University, {aside} were put aside "
        "within three months: so few that the true share may be anywhere from {low:.0f} to {high:.0f} in 100."
    ),
)
SMALL_TRIAL: Final = (9, 16)
"""Put aside by three months, and followed."""


def section(telling: Telling) -> SectionView:
    """Still worn, by curves and counts; reasons; answers; goals."""
    told = telling.told["devices"]
    now = telling.figure("wear.now", share_beside(telling.rule, told.at(column=WORN[0]), told.at(column=WORN[1])))
    return SectionView(
        key="wear",
        title="Still wearing it",
        lead=per_cent(now, "of the devices that anybody has heard of in the last year are still worn"),
        figures=[now, *_by_row(telling), *_answers(telling), *_goals(telling)],
        tables=[
            *telling.tables("devices"),
            *telling.tables("asked"),
            *telling.tables("answers"),
            *telling.tables("goals"),
        ],
        curves=[*_curves(telling)],
        notes=[
            (
                "A device is one thing across all its sockets: a child who outgrew a socket and got another still "
                "wears it."
            ),
            *published(),
        ],
    )


def published() -> list[str]:
    """Published rejection rates, with what makes them hard to compare."""
    aside, of = SMALL_TRIAL
    between = wilson(aside, of)
    low, high = between if between is not None else (0.0, 1.0)
    return [each.format(aside=aside, of=of, low=100 * low, high=100 * high) for each in PUBLISHED]


def _by_row(telling: Telling) -> Iterator[FigureView]:
    told = telling.told["devices"]
    for cut in BY:
        for row in telling.rows("devices", cut):
            found = share_beside(telling.rule, told.at(cut, row, WORN[0]), told.at(cut, row, WORN[1]))
            yield telling.figure("wear.now", found, row)


def _curves(telling: Telling) -> Iterator[CurveView]:
    devices, told = telling.facts.devices, telling.told["devices"]
    yield curve(telling, "wear.curve", lasting.worn(devices), MONTHS, unit="months", count=told.total)
    for cut in BY:
        for row, some in telling.parted("devices", cut, devices):
            lives = lasting.worn(some)
            yield curve(telling, "wear.curve", lives, MONTHS, unit="months", count=told.at(cut, row), of=row)


def _answers(telling: Telling) -> Iterator[FigureView]:
    asked, told = telling.told["asked"], telling.told["answers"]
    yield telling.figure("wear.reached", share(telling.rule, asked.at(column=REACHED[0]), asked.total))
    for table, good, words in GOOD:
        rest = [told.at(table, row) for row in telling.rows("answers", table) if row not in {good, LEFT_OUT}]
        yield telling.figure("wear.answers", share_beside(telling.rule, told.at(table, good), *rest), words)


def _goals(telling: Telling) -> Iterator[FigureView]:
    told = telling.told["goals"]
    yield telling.figure("wear.goals", share_beside(telling.rule, told.at(column=GOALS[0]), told.at(column=GOALS[1])))
    found = attainments(telling.facts)
    yield telling.amount("wear.attainment", tell_mean(telling.rule, fmean(found) if found else 0.0, len(found)))
