"""Making sheets of figures. Only the register itself does; reading what they are made from and keeping them are two
steps, for working them out takes seconds in which nobody should wait for a lock.
"""

from __future__ import annotations

import json
from datetime import date
from hashlib import sha256

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.figures.compiling import sheet
from service.figures.exact import Exactly
from service.figures.facts import Facts
from service.figures.gathered import gathered
from service.figures.gathering import first_day
from service.figures.rules import due_sheets
from service.figures.sheets import SheetView
from service.figures.tables import SheetRow
from service.kit.db import insert_unless_there


@usecase(May.KEEP_FIGURES)
def missing_sheets(work: Work) -> list[date]:
    """The last days of sheets that are due and not made yet, oldest first."""
    first = first_day(work)
    if first is None:
        return []
    made = set(work.session.scalars(sa.select(SheetRow.until)))
    return [until for until in due_sheets(work.today, first) if until not in made]


@usecase(May.KEEP_FIGURES)
def facts_until(work: Work, until: date) -> Facts:
    """Everything that a sheet up to a day is made from."""
    return gathered(work, until)


@usecase(May.KEEP_FIGURES)
def keep_sheet(work: Work, made: SheetView) -> bool:
    """Keep a sheet, once; False when there is one up to that day already, and then that one stands."""
    body = made.model_dump(mode="json")
    values = {
        "until": made.as_of,
        "computed_at": made.computed_at,
        "method": made.method,
        "body": body,
        "sha256": sha256(json.dumps(body, sort_keys=True).encode()).hexdigest(),
    }
    if not insert_unless_there(work.session, SheetRow, values):
        return False
    note(work, "made", "figures", changes={"until": [None, made.as_of.isoformat()]})
    return True


@usecase(May.SEE_EXACT_FIGURES)
def exact_figures(work: Work) -> SheetView:
    """The figures of the actor's own sites up to today, exact; that somebody looked is on record."""
    note(work, "read", "exact figures", changes={"sites": [None, sorted(work.actor.sites)]})
    return sheet(gathered(work, work.today, work.actor.sites), Exactly(), work.now)
