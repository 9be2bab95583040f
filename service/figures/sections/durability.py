"""How long printed parts last, by version, and whether a new version lasts longer than the one before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from service.disclosure import Hidden
from service.disclosure.amounts import tell_amount
from service.disclosure.figures import rate
from service.disclosure.ratios import ToldRatio, tell_ratio
from service.figures import lasting
from service.figures.counting_things import BROKEN, by_design
from service.figures.curving import curve
from service.figures.facts import Stay
from service.figures.reading import number
from service.figures.sheets import ComparisonView, CurveView, FigureView, SectionView
from service.figures.telling import Telling, rounded
from service.statistics.comparing import logrank
from service.statistics.hazard import hazard_ratio

MONTHS: Final = (3, 6, 9, 12, 18, 24, 36)


def section(telling: Telling) -> SectionView:
    """Rates, curves and comparisons of every design."""
    stays = by_design(telling.facts.stays)
    comparisons = [each for design, of in stays.items() for each in _compared(telling, design, of)]
    return SectionView(
        key="durability",
        title="How long parts last",
        lead=_lead(comparisons),
        figures=[each for design, of in stays.items() for each in _rates(telling, design, of)],
        tables=[telling.table(f"parts: {design}", "version") for design in stays],
        curves=[each for design, of in stays.items() for each in _curves(telling, design, of)],
        comparisons=comparisons,
        notes=[
            "A part that was outgrown, moved or taken off counts as whole until that day.",
            (
                "A new version goes to those who come later; that they are other people, and other hands that print, "
                "may be a part of any difference."
            ),
        ],
    )


def _lead(comparisons: Sequence[ComparisonView]) -> str:
    sure = [each for each in comparisons if each.low is not None and each.high is not None]
    found = [each.verdict for each in sure if (each.low or 0) > 1 or (each.high or 0) < 1]
    if found:
        return " ".join(found)
    if sure:
        return "No version of a part is known to last longer or shorter than the one before it."
    return "There is not enough data yet to say of any part that one version lasts longer than another."


def _rates(telling: Telling, design: str, stays: Sequence[Stay]) -> Iterator[FigureView]:
    name = f"parts: {design}"
    told = telling.told[name]
    for row, some in telling.parted(name, "version", stays):
        years = lasting.years_in_place(some, telling.as_of)
        exposure = tell_amount(telling.rule, years, len(some), told=told.at("version", row))
        found = rate(telling.rule, told.at("version", row, BROKEN[0]), exposure)
        yield telling.figure("durability.rate", found, f"{design}, {row}")


def _curves(telling: Telling, design: str, stays: Sequence[Stay]) -> Iterator[CurveView]:
    name = f"parts: {design}"
    for row, some in telling.parted(name, "version", stays):
        lives, count = lasting.in_place(some, telling.as_of), telling.told[name].at("version", row)
        yield curve(telling, "durability.curve", lives, MONTHS, unit="months", count=count, of=f"{design}, {row}")


def _compared(telling: Telling, design: str, stays: Sequence[Stay]) -> Iterator[ComparisonView]:
    name = f"parts: {design}"
    for (old, before), (new, after) in pairwise(telling.parted(name, "version", stays)):
        broken = [telling.told[name].at("version", row, BROKEN[0]) for row in (old, new)]
        hidden = any(each.hidden is Hidden.WITHHELD for each in broken)
        yield _said(design, old, new, None if hidden else _ratio(telling, before, after))


def _ratio(telling: Telling, before: Sequence[Stay], after: Sequence[Stay]) -> ToldRatio | None:
    """How many times as fast parts of the older version break, if enough of both broke to say."""
    stays = [*before, *after]
    lives = lasting.in_place(stays, telling.as_of)
    older = np.arange(len(stays)) < len(before)
    found = hazard_ratio(lives, older, [each.device for each in stays]).estimate
    tested = logrank(lives, older)
    if found is None or tested is None:
        return None
    events = int(lives.event[older].sum()), int(lives.event[~older].sum())
    return tell_ratio(telling.rule, found.value, (found.low, found.high), tested.p, events)


def _said(design: str, old: str, new: str, found: ToldRatio | None) -> ComparisonView:
    if found is None:
        verdict = f"{design}: there is not enough data yet to compare {new} with {old}."
    elif found.low > 1:
        verdict = (
            f"{design}: {old} breaks about {number(found.value)} times as fast as {new} "
            f"({number(found.low)} to {number(found.high)} times): the change helped."
        )
    elif found.high < 1:
        verdict = (
            f"{design}: {new} breaks about {number(1 / found.value)} times as fast as {old} "
            f"({number(1 / found.high)} to {number(1 / found.low)} times): the change did harm."
        )
    else:
        verdict = (
            f"{design}: {old} breaks {number(found.low)} to {number(found.high)} times as fast as {new}, which may be "
            "no difference."
        )
    return ComparisonView(
        key="durability.compared",
        of=f"{design}, {old}",
        against=new,
        value=rounded(found.value) if found else None,
        low=rounded(found.low) if found else None,
        high=rounded(found.high) if found else None,
        p=found.p if found else "",
        suppressed=found is None,
        verdict=verdict,
    )
