"""What a volunteer was asked so far, and what became of it."""

from __future__ import annotations

from collections import Counter
from statistics import median
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.matching.rules import OfferState
from service.matching.schemas import Asked, HistoryView
from service.matching.tables import OfferRow
from service.requests.rules import RequestState
from service.requests.tables import RequestRow
from service.statistics import wilson

MOST_SHOWN = 50


def history_of(work: Work, volunteer_id: int, name: str) -> HistoryView:
    """Everything offered to a volunteer, counted; the newest of it one by one."""
    rows = work.session.execute(
        sa.select(OfferRow.__table__, RequestRow.kind, RequestRow.settled_at, RequestRow.state.label("request_state"))
        .join(RequestRow, RequestRow.id == OfferRow.request_id)
        .where(OfferRow.volunteer_id == volunteer_id)
        .order_by(OfferRow.id.desc())
    ).all()
    count = Counter(row.state for row in rows)
    yes, no = count[OfferState.ACCEPTED], count[OfferState.DECLINED] + count[OfferState.LAPSED]
    interval = wilson(yes, yes + no)
    took = [days for row in rows if (days := _days(row)) is not None]
    return HistoryView(
        volunteer=volunteer_id,
        name=name,
        offered=len(rows),
        accepted=yes,
        declined=count[OfferState.DECLINED],
        lapsed=count[OfferState.LAPSED],
        said_yes=None if interval is None else (yes / (yes + no), *interval),
        median_days=median(took) if took else None,
        items=[_asked(row) for row in rows[:MOST_SHOWN]],
    )


def _asked(row: Any) -> Asked:
    given = {"offer": row.id, "why": row.answer_why, "days": _days(row)}
    return Asked.model_validate({**row._mapping, **given})


def _days(row: Any) -> int | None:
    """Days from yes to handed over; None for what was not."""
    handed_over = row.state is OfferState.ACCEPTED and row.request_state is RequestState.ANSWERED
    return (row.settled_at.date() - row.answered_at.date()).days if handed_over else None
