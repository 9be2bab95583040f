"""Whether some wait longer or stop sooner than others: differences with intervals, in a fixed order, never ranked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from service.disclosure.beside import difference_from_others
from service.figures.counting import ANSWERED, WORN
from service.figures.sheets import FigureView, SectionView
from service.figures.telling import Telling

BY: Final = ("age", "sex", "site", "language", "distance")
WHAT: Final = (("fairness.in_time", "requests", ANSWERED[:2]), ("fairness.worn", "devices", WORN[:2]))

WORDS: Final = {"fairness.in_time": "answered in time", "fairness.worn": "still worn"}


def section(telling: Telling) -> SectionView:
    """Each group against all others, for what was answered in time and for what is still worn."""
    figures = [each for key, population, columns in WHAT for each in _differences(telling, key, population, columns)]
    return SectionView(
        key="fairness",
        title="Fair to everybody",
        lead=_lead(figures),
        figures=figures,
        tables=[telling.table(population, cut) for _, population, _ in WHAT for cut in BY],
        notes=[
            (
                "Each group is set against all others together. A difference whose interval holds 0 may be none. Of "
                "twenty groups that are alike, one looks different by chance."
            ),
            "What is counted small or withheld is not compared.",
        ],
    )


def _differences(telling: Telling, key: str, population: str, columns: Sequence[str]) -> Iterator[FigureView]:
    told = telling.told[population]
    everybody = [told.at(column=column) for column in columns]
    for cut in BY:
        for row in telling.rows(population, cut):
            group = [told.at(cut, row, column) for column in columns]
            yield telling.figure(key, difference_from_others(telling.rule, group, everybody), f"{cut}: {row}")


def _lead(figures: Sequence[FigureView]) -> str:
    compared = [each for each in figures if each.low is not None and each.high is not None]
    apart = [each for each in compared if (each.low or 0) > 0 or (each.high or 0) < 0]
    if not compared:
        return "No group is large enough yet to be compared with the others."
    if not apart:
        return f"Of {len(compared)} comparisons none shows a difference larger than chance would."
    names = "; ".join(_said(each) for each in apart)
    shows = "one shows" if len(apart) == 1 else f"{len(apart)} show"
    return f"Of {len(compared)} comparisons {shows} a difference larger than chance would: {names}."


def _said(figure: FigureView) -> str:
    """As "site: Aldermouth (less often answered in time)"."""
    more = "more" if (figure.low or 0) > 0 else "less"
    return f"{figure.of} ({more} often {WORDS[figure.key]})"
