"""What belongs on the work list, as SQL: each kind is a select of the same five columns, so that any may be joined.

`rank` puts sockets that are probably tight first, `act_by` is the day to act by (`NO_DAY` for none), `kind` tells
kinds apart, `subject` is the socket or the recipient, `recipient` whose case it is.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeAlias

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.casefile.rules import (
    MEASURE_ADULT_EVERY,
    MEASURE_CHILD_EVERY,
    PROBABLY,
    REVIEW_AHEAD,
    REVIEW_BEHIND,
    Kind,
    latest_birth,
)
from service.casefile.schemas import WorkFilter
from service.devices.queries import IN_PLACE
from service.devices.tables import DeviceRow, SocketRow
from service.growth.tables import ForecastRow
from service.kit.db import plus_days, plus_years
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.rules import REVIEW_AGES, CaseState, ConsentKind, Purpose, Responsibility, Verdict
from service.recipients.scope import named, visible
from service.recipients.tables import ConsentRow, ContactRow, LimbRow, RecipientRow, ReviewRow, SuitabilityRow

Keys: TypeAlias = sa.Select[tuple[int, date, int, int, int]]

NO_DAY = date.max
"""Sorts after every day, so that what has none comes last."""

NEVER = sa.literal(date.min, sa.Date)
"""Comes before every day."""

KINDS = tuple(Kind)


def keys(work: Work, wanted: WorkFilter, kind: Kind) -> Keys:
    """Everything of one kind that the actor may see and asked for."""
    mine = [visible(work.actor, work.today), *named(wanted.q)]
    if wanted.site:
        mine.append(RecipientRow.site_id == sa.select(SiteRow.id).where(SiteRow.code == wanted.site).scalar_subquery())
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
    .where(*IN_PLACE, RecipientRow.state == CaseState.ACTIVE)
)
"""Sockets in place of devices in use of active recipients, with their newest forecast if there is one."""


def _sockets(_today: date) -> Keys:
    return SOCKETS.with_only_columns(
        sa.case((ForecastRow.already >= PROBABLY, 0), else_=1).label("rank"),
        *_columns(Kind.SOCKET_DUE, ForecastRow.start_by, SocketRow.id),
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
        sa.and_(child, ~_agreed(ConsentKind.ASSENT, Purpose.DEVICE)),
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
    return sa.select(sa.literal(1).label("rank"), *_columns(kind, act_by, RecipientRow.id))


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
