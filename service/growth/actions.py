"""Working forecasts out: for figures somebody sends, and for every socket in place.

A stored forecast is its own record (when, by which model, from which inputs), so it writes no audit entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.growth.followups import ask_for_review
from service.growth.lead import Lead, has_moved, learned
from service.growth.leads import lead_in
from service.growth.model import MODEL
from service.growth.queries import past_cases, socket_cases, wearers
from service.growth.record import Judged
from service.growth.recorded import Entry
from service.growth.rules import inputs_hash, lead_why
from service.growth.schemas import ForecastAnswer
from service.growth.start_dates import AskStartDate, StartDate, acting, lead_view, start_date
from service.growth.stateless import answer
from service.growth.stored import AskForecasts, ForecastAnswers, PastCase, SocketCase
from service.growth.tables import ForecastRow, LearnedLeadRow
from service.recipients.followups import ask_for_forecast


@usecase(May.ASK_FORECASTS)
def ask(_work: Work, command: AskForecasts) -> ForecastAnswers:
    """Forecast from figures given, in their order; nothing is read from the register or stored."""
    return ForecastAnswers(items=[answer(case) for case in command.cases])


@usecase(May.ASK_FORECASTS)
def ask_start_date(_work: Work, command: AskStartDate) -> StartDate:
    """When to start and when to measure, from figures given; nothing is read from the register or stored."""
    return start_date(command)


@usecase(May.REFRESH_FORECASTS)
def refresh(work: Work, recipient_id: int) -> None:
    """Bring a recipient's stored forecasts up to date; those of sockets no longer worn stay as record only."""
    cases = socket_cases(work, recipient_id)
    mine = sa.select(ForecastRow).where(ForecastRow.recipient_id == recipient_id, ForecastRow.is_newest)
    newest = {row.socket_id: row for row in work.session.scalars(mine)}
    gone = newest.keys() - {each.socket for each in cases}
    for socket_id in gone:
        newest[socket_id].is_newest = False
    stored = [_refresh_one(work, recipient_id, each, newest.get(each.socket)) for each in cases]
    # The same forecast may ask for something now: the case it is for may have been paused until this moment.
    is_time = any(row.is_newest and row.start_by and row.start_by <= work.today for row in newest.values())
    if any(stored) or gone or is_time:
        ask_for_review(work, recipient_id)


@usecase(May.REFRESH_FORECASTS)
def refresh_everybody(work: Work) -> None:
    """Ask for a refresh of everybody who wears a socket: a forecast ages even when nothing is recorded."""
    for recipient_id in wearers(work):
        ask_for_forecast(work, recipient_id)


@usecase(May.REFRESH_FORECASTS)
def learn_lead(work: Work, site_id: int, observed: Sequence[tuple[float, bool]]) -> None:
    """Learn how long making takes at a site from its requests, as (days, still waited for).

    Its forecasts are refreshed if that says something new; else all stays as it is, the count of requests too.
    """
    found = learned(observed, otherwise=Lead.of(1))
    kept = replace(found, median=round(found.median, 2), log_sd=round(found.log_sd, 4))
    now = kept if kept.learned_from else None
    row = work.session.get(LearnedLeadRow, site_id)
    if not has_moved(lead_in(row) if row is not None else None, now):
        return
    if row is not None:
        work.session.delete(row)
        work.session.flush()  # a site has one, so the old one goes before the new one comes
    if now is not None:
        values = {"days": now.days, "median_days": now.median, "log_sd": now.log_sd, "learned_from": now.learned_from}
        work.session.add(LearnedLeadRow(site_id=site_id, learned_at=work.now, **values))
    for recipient_id in wearers(work, site_id):
        ask_for_forecast(work, recipient_id)


@usecase(May.REFRESH_FORECASTS)
def replay(work: Work, after: int, *, keep: bool) -> tuple[list[Entry], int | None]:
    """What the present model would have said of sockets that have come off, for a batch of recipients after an id.

    Returns the judged forecasts, and the id to go on after, None at the end. Kept ones (`keep`) are part of the record,
    and told apart by having been worked out long after the day they are for; none is kept twice.
    """
    cases, more = past_cases(work, after)
    there = sa.select(ForecastRow.socket_id, ForecastRow.as_of).where(
        ForecastRow.socket_id.in_([past.socket for past in cases]), ForecastRow.model == MODEL
    )
    kept = {tuple(row) for row in work.session.execute(there)} if keep else set()
    entries = []
    for past in cases:
        found = answer(past.case)
        judged = Judged(past.case.as_of, found.due.p10, found.due.p50, found.due.p90, past.ended_on, past.outgrown)
        entries.append(Entry(found.model, replayed=True, horizon_days=past.horizon_days, judged=judged))
        if keep and (past.socket, past.case.as_of) not in kept:
            row = _row(work, past.recipient, past, found)
            row.answer = _without_curve(row.answer)
            work.session.add(row)
    return entries, more


def _refresh_one(work: Work, recipient_id: int, of: SocketCase, before: ForecastRow | None) -> bool:
    """Whether another forecast was stored; the same inputs make the same one."""
    made_from = _made_from(of)
    if before is not None:
        if (before.inputs_hash, before.model) == (made_from, MODEL):
            return False
        before.is_newest = False
        before.answer = _without_curve(before.answer)
        work.session.flush()  # the database allows one newest, so the old one goes before the new one comes
    found = answer(of.case)
    act = acting(of.case, of.lead, of.tight_risk)
    row = _row(work, recipient_id, of, found)
    row.is_newest, row.start_by, row.measure_by = True, act.start_by, act.measure_by
    lead = {"lead": lead_view(of.lead).model_dump(mode="json"), "lead_why": lead_why(of.lead)}
    row.answer |= {"start_why": act.start_why, "measure_why": act.measure_why, **lead}
    work.session.add(row)
    return True


def _row(work: Work, recipient_id: int, of: SocketCase | PastCase, found: ForecastAnswer) -> ForecastRow:
    """A forecast of a socket as it is stored for the record; its explanation has a column of its own."""
    stored = found.model_copy(update={"warnings": [*found.warnings, *of.left_out]})
    return ForecastRow(
        recipient_id=recipient_id,
        device_id=of.device,
        socket_id=of.socket,
        is_newest=False,
        as_of=of.case.as_of,
        computed_at=work.now,
        model=found.model,
        inputs_hash=_made_from(of),
        p10=found.due.p10,
        p50=found.due.p50,
        p90=found.due.p90,
        already=found.already,
        limiting_dimension=found.limiting and found.limiting.dimension,
        answer=stored.model_dump(mode="json", exclude={"explanation"}),
        explanation=found.explanation,
    )


def _made_from(of: SocketCase | PastCase) -> str:
    return inputs_hash(of.model_dump(mode="json", include={"case", "lead", "tight_risk", "left_out"}))


def _without_curve(stored: dict[str, Any]) -> dict[str, Any]:
    """What a record is judged by; the drawing of it is most of its size, and is never shown again."""
    return {name: value for name, value in stored.items() if name != "curve"}
