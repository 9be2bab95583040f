"""Change over time: what each quarter was like, and whether any of it is more than the usual ups and downs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import dropwhile

from service.disclosure.beside import share_beside
from service.figures.counting import ANSWERED
from service.figures.cuts import BEFORE
from service.figures.sheets import RunView, SectionView
from service.figures.telling import Telling, rounded
from service.statistics.runs import Finding, chart


def section(telling: Telling) -> SectionView:
    """Run charts of requests, and of those answered in time."""
    told = telling.told["requests"]
    every = [row for row in telling.rows("requests", "quarter") if row != BEFORE]
    # Quarters before the first request are none in which nobody asked: the register had not begun.
    quarters = list(dropwhile(lambda row: told.at("quarter", row).value == 0, every))
    asked = [told.at("quarter", quarter).value for quarter in quarters]
    kept = [
        share_beside(telling.rule, *(told.at("quarter", quarter, column) for column in ANSWERED[:2])).value
        for quarter in quarters
    ]
    charts = [
        _run(
            "change.asked", "Requests", "requests", quarters, [None if each is None else float(each) for each in asked]
        ),
        _run("change.in_time", "Answered in time", "share", quarters, kept),
    ]
    found = [finding for each in charts for finding in each[1]]
    return SectionView(
        key="change",
        title="Change over time",
        lead=_lead(found),
        tables=[telling.table("requests", "quarter")],
        runs=[view for view, _ in charts],
        notes=["Limits are drawn from twelve quarters on, and only from those with enough to tell of."],
    )


def _lead(found: Sequence[Finding]) -> str:
    if not found:
        return "Nothing here is more than the usual ups and downs, or there is too little to say."
    latest = max(found, key=lambda each: each.last).words
    return f"{latest} Of {len(found)} such findings this is the latest; all stand below." if len(found) > 1 else latest


def _run(
    key: str, title: str, unit: str, quarters: Sequence[str], values: Sequence[float | None]
) -> tuple[RunView, list[Finding]]:
    known = [(quarter, value) for quarter, value in zip(quarters, values, strict=True) if value is not None]
    found = chart([value for _, value in known], [quarter for quarter, _ in known])
    said = [replace(each, words=f"{title}: {each.words}") for each in found.findings]
    view = RunView(
        key=key,
        title=title,
        unit=unit,
        quarters=list(quarters),
        values=[rounded(value) for value in values],
        mean=rounded(found.limits.mean) if found.limits else None,
        low=rounded(found.limits.low) if found.limits else None,
        high=rounded(found.limits.high) if found.limits else None,
        findings=[each.words for each in said],
        why=found.note,
    )
    return view, said
