"""Sheets are made in the background: one a job, read in one transaction, worked out in none, kept in another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.disclosure import Rule
from service.figures.actions import facts_until, keep_sheet, missing_sheets
from service.figures.compiling import sheet
from service.figures.sheets import SheetView
from service.kit.jobs import enqueue
from service.settings import Settings

SHEETS_MAKE = "figures.make"


def _look(settings: Settings, work: Work, _payload: dict[str, Any]) -> Callable[[], SheetView] | None:
    missing = missing_sheets(work)
    if not missing:
        return None
    facts, now = facts_until(work, missing[0]), work.now
    rule = Rule(settings.disclosure_threshold, settings.disclosure_base)
    return lambda: sheet(facts, rule, now, (settings.comparison_cost, settings.comparison_source))


def _keep(work: Work, _payload: dict[str, Any], made: SheetView | None) -> None:
    if made is None:
        return
    keep_sheet(work, made)
    if missing_sheets(work):
        enqueue(work.session, SHEETS_MAKE, now=work.now, key=SHEETS_MAKE)


ERRANDS = {SHEETS_MAKE: (_look, _keep)}
DAILY: tuple[str, ...] = (SHEETS_MAKE,)
