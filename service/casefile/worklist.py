"""What belongs on the work list, as SQL: each kind is a select of the same five columns, so that any may be joined.

`rank` puts sockets first that were reported or measured tight (0), then those that are probably tight, likeliest first
(thousandths of what speaks against it, from 1), then all else (`CALM`). `act_by` is the day to act by (`NO_DAY` for
none), `kind` tells kinds apart, `subject` is the socket or the recipient, `recipient` whose case it is.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeAlias

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.queries import site_choice
from service.casefile.rules import (
    MEASURE_ADULT_EVERY,
    MEASURE_CHILD_EVERY,
    REVIEW_AHEAD,
    REVIEW_BEHIND,
    Kind,
    latest_birth,
)
from service.casefile.schemas import WorkFilter
from service.casefile.signs import tight_since
from service.devices.queries import IN_PLACE
from service.devices.tables import DeviceRow, SocketRow
from service.growth.tables import ForecastRow
from service.kit.chances import PROBABLY
from service.kit.db import plus_days, plus_years
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.rules import (
    ASSENT_FROM_AGE,
    REVIEW_AGES,
    CaseState,
    ConsentKind,
    Purpose,
    Responsibility,
    Verdict,
)
from service.recipients.scope import named, visible
from service.recipients.tables import ConsentRow, ContactRow, LimbRow, RecipientRow, ReviewRow, SuitabilityRow

Keys: TypeAlias = sa.Select[tuple[int, date, int, int, int]]

NO_DAY = date.max
"""Sorts after every day, so that what has none comes last."""

NEVER = sa.literal(date.min, sa.Date)
"""Comes before every day."""

CALM = 1000
"""The rank of what does not hurt today."""

KINDS = tuple(Kind)


def keys(work: Work, wanted: WorkFilter, kind: Kind) -> Keys:
    """Everything of one kind that the actor may see and asked for."""
    mine = [visible(work.actor, work.today), *named(wanted.q)]
    if wanted.site:
        mine.append(RecipientRow.site_id == site_choice(work, wanted.site))
    if wanted.state:
        mine.append(RecipientRow.state == wanted.state)
    if wanted.side and kind is not Kind.SOCKET_DUE:
        mine.append(_exists(LimbRow, LimbRow.side == wanted.side))
    if wanted.side and kind is Kind.SOCKET_DUE:
        mine.append(DeviceRow.side == wanted.side)
    return _OF_KIND[kind](work.today).where(*mine)


SOCKETS = (
    sa.select(SocketRow.id)
    .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
    .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
    .outerjoin(ForecastRow, sa.and_(ForecastRow.socket_id == SocketRow.id, ForecastRow.is_newest))
    .where(*IN_PLACE, RecipientRow.state != CaseState.CLOSED)
)
"""Sockets in place of devices in use of cases that are not closed, with their newest forecast if there is one."""

START_BY = sa.case(
    (sa.or_(RecipientRow.state != CaseState.PAUSED, ForecastRow.already >= PROBABLY), ForecastRow.start_by)
)
"""By when to start the next socket; while a case is paused nothing is started, but what may hurt is asked about."""


def _sockets(today: date) -> Keys:
    since = tight_since(today)
    against = sa.cast(sa.func.round((1 - ForecastRow.already) * CALM), sa.Integer)
    rank = sa.case((since.is_not(None), 0), (ForecastRow.already >= PROBABLY, 1 + against), else_=CALM)
    act_by = sa.func.coalesce(since, START_BY, type_=sa.Date)
    return SOCKETS.with_only_columns(rank.label("rank"), *_columns(Kind.SOCKET_DUE, act_by, SocketRow.id))


def socket_counts(work: Work, wanted: WorkFilter) -> sa.Select[*tuple[Any, ...]]:
    """How many sockets there are of each urgency, as `WorkCounts` names them."""
    sockets = keys(work, wanted, Kind.SOCKET_DUE).with_only_columns(
        tight_since(work.today).label("since"), START_BY.label("start_by"), ForecastRow.already, ForecastRow.p50
    )
    each = sockets.subquery().c
    start_now = each.start_by <= work.today
    expected_later = sa.and_(each.start_by > work.today, each.p50.is_not(None))
    return sa.select(
        sa.func.count(each.since).label("signs"),
        sa.func.count().filter(each.since.is_(None), start_now).label("start_now"),
        sa.func.min(sa.case((expected_later, each.start_by))).label("next_start"),
        sa.func.count().filter(each.since.is_(None), start_now, each.already >= PROBABLY).label("probably_tight"),
    )


def _overdue(today: date) -> Keys:
    child = _is_child(today)
    recent = sa.case((child, today - MEASURE_CHILD_EVERY), else_=today - MEASURE_ADULT_EVERY)
    every = sa.case((child, MEASURE_CHILD_EVERY.days), else_=MEASURE_ADULT_EVERY.days)
    counted = sa.select(MeasurementRow.taken_on).where(*COUNTED).correlate(RecipientRow)
    last = counted.order_by(MeasurementRow.taken_on.desc()).limit(1).scalar_subquery()
    act_by = sa.func.coalesce(plus_days(last, every), RecipientRow.state_since)
    return _recipients(Kind.MEASUREMENT_OVERDUE, act_by).where(
        RecipientRow.state == CaseState.ACTIVE, sa.func.coalesce(last, NEVER) < recent
    )


def _missing(today: date) -> Keys:
    child = _is_child(today)
    can_say = RecipientRow.birth_date <= latest_birth(ASSENT_FROM_AGE, today)
    newest_note = (SuitabilityRow.noted_on.desc(), SuitabilityRow.id.desc())
    verdict = sa.select(SuitabilityRow.verdict).where(SuitabilityRow.recipient_id == RecipientRow.id)
    is_guardian = (ContactRow.ended_on.is_(None), ContactRow.responsibility == Responsibility.YES)
    lacks = sa.or_(
        RecipientRow.prescriber_name == "",
        RecipientRow.latex_allergy.is_(None),
        ~_exists(LimbRow),
        ~_agreed(ConsentKind.CONSENT, Purpose.RECORDS),
        ~_agreed(ConsentKind.CONSENT, Purpose.DEVICE),
        verdict.order_by(*newest_note).limit(1).scalar_subquery().is_distinct_from(Verdict.SUITABLE),
        sa.and_(child, ~_exists(ContactRow, *is_guardian)),
        sa.and_(child, can_say, ~_agreed(ConsentKind.ASSENT, Purpose.DEVICE)),
    )
    open_cases = RecipientRow.state.in_([CaseState.ENQUIRY, CaseState.ACTIVE])
    return _recipients(Kind.MISSING, sa.null()).where(open_cases, lacks)


def _reviews(today: date) -> Keys:
    younger, older = REVIEW_AGES
    near = today + REVIEW_AHEAD
    age = sa.case((RecipientRow.birth_date <= latest_birth(older, near), older), else_=younger)
    birthday = plus_years(RecipientRow.birth_date, age)
    return _recipients(Kind.REVIEW, birthday).where(
        RecipientRow.state != CaseState.CLOSED,
        RecipientRow.birth_date <= latest_birth(younger, near),
        birthday >= plus_days(sa.cast(sa.func.date(RecipientRow.created_at), sa.String), -REVIEW_BEHIND.days),
        ~_exists(ReviewRow, ReviewRow.age == age),
    )


_OF_KIND: dict[Kind, Callable[[date], Keys]] = {
    Kind.SOCKET_DUE: _sockets,
    Kind.MEASUREMENT_OVERDUE: _overdue,
    Kind.MISSING: _missing,
    Kind.REVIEW: _reviews,
}

COUNTED = (
    MeasurementRow.recipient_id == RecipientRow.id,
    sa.exists().where(ReadingRow.measurement_id == MeasurementRow.id, ReadingRow.struck_at.is_(None)),
)
"""A session counts while a reading of it does."""


def _recipients(kind: Kind, act_by: Any) -> Keys:
    return sa.select(sa.literal(CALM).label("rank"), *_columns(kind, act_by, RecipientRow.id))


def _columns(kind: Kind, act_by: Any, subject: Any) -> tuple[Any, ...]:
    return (
        sa.func.coalesce(act_by, sa.literal(NO_DAY, sa.Date), type_=sa.Date).label("act_by"),
        sa.literal(KINDS.index(kind)).label("kind"),
        subject.label("subject"),
        RecipientRow.id.label("recipient"),
    )


def _is_child(today: date) -> sa.ColumnElement[bool]:
    return RecipientRow.birth_date > latest_birth(REVIEW_AGES[-1], today)


def _exists(table: Any, *conditions: sa.ColumnElement[bool]) -> sa.Exists:
    return sa.exists().where(table.recipient_id == RecipientRow.id, *conditions).correlate(RecipientRow)


def _agreed(kind: ConsentKind, purpose: Purpose) -> sa.Exists:
    standing = (ConsentRow.kind == kind, ConsentRow.purpose == purpose, ConsentRow.withdrawn_on.is_(None))
    return _exists(ConsentRow, *standing)
