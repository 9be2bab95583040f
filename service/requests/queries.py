"""Reading requests, narrowed to the cases the actor may see."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.audit.tables import AuditRow
from service.kit.errors import Invalid, NotFound
from service.kit.paging import Page, after, decode, encode
from service.recipients.rules import fold, read_case_number
from service.recipients.scope import named
from service.recipients.tables import RecipientRow
from service.requests.described import described
from service.requests.lines import fields, line, lines, order, parts_of, waits_for
from service.requests.rules import UNSETTLED, WaitsFor, needed_why
from service.requests.schemas import (
    JoinedView,
    PhotoView,
    QuestionView,
    RequestCounts,
    RequestEvent,
    RequestFilter,
    RequestLine,
    RequestView,
    WaitView,
)
from service.requests.tables import PhotoRow, QuestionRow, RequestRow, WaitRow


@usecase(May.SEE_REQUESTS)
def requests(work: Work, wanted: RequestFilter) -> Page[RequestLine]:
    """Requests in the order of triage: by place, then by the day of tightness, then those that waited longest."""
    keys = order(work.today)
    statement = lines(work).where(*_wanted(work, wanted))
    if wanted.cursor is not None:
        statement = statement.where(after(keys, _position(wanted.cursor)))
    rows = work.session.execute(statement.order_by(*keys).limit(wanted.limit + 1)).all()
    shown = rows[: wanted.limit]
    parts = parts_of(work, [row.id for row in shown])
    last = shown[-1] if len(rows) > len(shown) else None
    more = encode((last.key_rank, last.key_tight.isoformat(), last.key_from.isoformat(), last.id)) if last else None
    return Page(items=[line(work, row, parts[row.id]) for row in shown], next=more)


@usecase(May.SEE_REQUESTS)
def request_counts(work: Work, wanted: RequestFilter) -> RequestCounts:
    """How many requests are not settled, of those asked for, state aside."""
    narrowed = wanted.model_copy(update={"state": None})
    each = lines(work).where(*_wanted(work, narrowed)).subquery().c
    counted = sa.select(
        each.key_rank,
        sa.func.count(),
        sa.func.count().filter(each.waits_for == WaitsFor.FAMILY),
        sa.func.count().filter(each.needed_by < work.today),
    ).group_by(each.key_rank)
    rows = work.session.execute(counted).all()
    return RequestCounts(
        all=sum(row[1] for row in rows),
        of_rank={row[0]: row[1] for row in rows},
        waiting_for_family=sum(row[2] for row in rows),
        overdue=sum(row[3] for row in rows),
    )


@usecase(May.SEE_REQUESTS)
def request(work: Work, request_id: int) -> RequestView:
    """One request; opening it is recorded. Raises NotFound for none, and for one of a case not theirs to see."""
    row = work.session.execute(lines(work).where(RequestRow.id == request_id)).one_or_none()
    if row is None:
        raise _no_such_request()
    work.read.add(row.recipient_id)
    parts = parts_of(work, [request_id])[request_id]
    why = needed_why(row.kind, row.asked_at.date(), row.needed_by, usable=row.usable, harm=row.harm)
    return RequestView.model_validate(
        {
            **fields(work, row, parts),
            "needed_why": why,
            "parts": described(work, parts),
            "waits": _all(work, WaitView, WaitRow, request_id),
            "questions": _all(work, QuestionView, QuestionRow, request_id),
            "photos": _all(work, PhotoView, PhotoRow, request_id),
            "joined": _joined(work, request_id),
            "joined_into": row.joined_into_id,
            "split_from": row.split_from_id,
            "split_into": _split_into(work, request_id),
        }
    )


@usecase(May.SEE_REQUESTS)
def request_history(work: Work, request_id: int) -> list[RequestEvent]:
    """What was done to a request, newest first; raises NotFound as `request` does."""
    request(work, request_id)
    rows = work.session.execute(
        sa.select(AuditRow.at, AuditRow.actor.label("by"), AuditRow.act, AuditRow.changes)
        .where(AuditRow.subject == "request", AuditRow.subject_id == request_id)
        .order_by(AuditRow.id.desc())
    )
    return [RequestEvent.model_validate(row._mapping) for row in rows]


@usecase(May.SEE_REQUESTS)
def photo(work: Work, request_id: int, photo_id: int) -> str:
    """The name of a photograph in the file store; raises NotFound for one that is not of a request they may see."""
    request(work, request_id)
    mine = sa.select(PhotoRow.sha256).where(PhotoRow.id == photo_id, PhotoRow.request_id == request_id)
    found = work.session.scalar(mine)
    if found is None:
        raise NotFound("This request has no such photograph.")
    return found


@usecase(May.SEE_REQUESTS)
def requests_of(work: Work, recipients: Collection[int]) -> dict[int, list[RequestLine]]:
    """What is asked for and not settled, by recipient, in the order of triage; for pages about cases."""
    found: dict[int, list[RequestLine]] = {each: [] for each in recipients}
    if not found:
        return found
    mine = (RequestRow.recipient_id.in_(recipients), RequestRow.state.in_(UNSETTLED))
    rows = work.session.execute(lines(work).where(*mine).order_by(*order(work.today))).all()
    parts = parts_of(work, [row.id for row in rows])
    for row in rows:
        found[row.recipient_id].append(line(work, row, parts[row.id]))
    return found


def _no_such_request() -> NotFound:
    """The refusal for a request that is not there, or is not theirs to see: the two look alike."""
    return NotFound("There is no request with this number among those you may see.")


def _wanted(work: Work, wanted: RequestFilter) -> list[sa.ColumnElement[bool]]:
    found = [RequestRow.state == wanted.state if wanted.state else RequestRow.state.in_(UNSETTLED)]
    if wanted.q:
        # A person by name or number, or a request by its words.
        said = sa.func.lower(RequestRow.words)
        in_words = [said.contains(word, autoescape=True) for word in wanted.q.lower().split()]
        found.append(sa.or_(sa.and_(*named(wanted.q)), sa.and_(*in_words)) if fold(wanted.q).split() else sa.true())
    if wanted.kind:
        found.append(RequestRow.kind == wanted.kind)
    if wanted.site:
        found.append(RecipientRow.site_id == site_choice(work, wanted.site))
    if wanted.waits_for:
        found.append(waits_for(wanted.waits_for))
    if wanted.case_number:
        found.append(RecipientRow.case_number == (read_case_number(wanted.case_number) or ""))
    return found


def _position(cursor: str) -> list[Any]:
    rank, tight, since, last = decode(cursor, (int, str, str, int))
    try:
        return [rank, date.fromisoformat(tight), date.fromisoformat(since), last]
    except ValueError as error:
        said = "This cursor is not valid. Start again from the first page, without a cursor."
        raise Invalid.at("cursor", said) from error


def _all(work: Work, view: Any, table: Any, request_id: int) -> list[Any]:
    rows = work.session.execute(
        sa.select(table.__table__).where(table.request_id == request_id).order_by(table.id)
    ).mappings()
    return [view.model_validate(row) for row in rows]


def _joined(work: Work, request_id: int) -> list[JoinedView]:
    columns = (RequestRow.id, RequestRow.asker, RequestRow.asked_by, RequestRow.asked_at, RequestRow.words)
    joined = sa.select(*columns).where(RequestRow.joined_into_id == request_id).order_by(RequestRow.id)
    return [JoinedView.model_validate(row._mapping) for row in work.session.execute(joined)]


def _split_into(work: Work, request_id: int) -> list[int]:
    split = sa.select(RequestRow.id).where(RequestRow.split_from_id == request_id).order_by(RequestRow.id)
    return list(work.session.scalars(split))
