"""Reading the work list: what is to be done for the cases the actor may see, most pressing first."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.casefile import worklist
from service.casefile.items import items
from service.casefile.rules import PROBABLY, Kind
from service.casefile.schemas import WorkCounts, WorkFilter, WorkItem
from service.growth.tables import ForecastRow
from service.kit.errors import Invalid
from service.kit.paging import Page, after, decode, encode


@usecase(May.SEE_CASES)
def work_list(work: Work, wanted: WorkFilter) -> Page[WorkItem]:
    """What is to be done: first sockets that are probably tight already, then by the day to act by."""
    every = _keys(work, wanted, [wanted.kind] if wanted.kind else list(Kind))
    order = (every.c.rank, every.c.act_by, every.c.kind, every.c.subject)
    statement = sa.select(every).order_by(*order).limit(wanted.limit + 1)
    if wanted.cursor is not None:
        statement = statement.where(after(order, _position(wanted.cursor)))
    rows = work.session.execute(statement).all()
    shown = rows[: wanted.limit]
    last = shown[-1] if len(rows) > len(shown) else None
    more = encode((last.rank, last.act_by.isoformat(), last.kind, last.subject)) if last else None
    return Page(items=items(work, shown), next=more)


@usecase(May.SEE_CASES)
def work_counts(work: Work, wanted: WorkFilter) -> WorkCounts:
    """How much there is to do of every kind, the kind asked for aside."""
    every = _keys(work, wanted, Kind)
    per_kind = sa.select(every.c.kind, sa.func.count()).group_by(every.c.kind)
    found = {worklist.KINDS[kind]: count for kind, count in work.session.execute(per_kind)}
    later = sa.case((ForecastRow.start_by > work.today, ForecastRow.start_by))
    sockets = worklist.keys(work, wanted, Kind.SOCKET_DUE).with_only_columns(
        sa.func.count().filter(ForecastRow.start_by <= work.today).label("start_now"),
        sa.func.min(later).label("next_start"),
        sa.func.count().filter(ForecastRow.already >= PROBABLY).label("probably_tight"),
    )
    counts = {kind: found.get(kind, 0) for kind in Kind}
    return WorkCounts.model_validate({"of_kind": counts, **work.session.execute(sockets).mappings().one()})


def _keys(work: Work, wanted: WorkFilter, kinds: Iterable[Kind]) -> sa.Subquery:
    return sa.union_all(*(worklist.keys(work, wanted, kind) for kind in kinds)).subquery()


def _position(cursor: str) -> list[Any]:
    rank, day, kind, subject = decode(cursor, (int, str, int, int))
    try:
        return [rank, date.fromisoformat(day), kind, subject]
    except ValueError:
        raise Invalid.at(
            "cursor", "This cursor is not valid. Start again from the first page, without a cursor."
        ) from None
