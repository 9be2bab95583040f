"""Reading what belongs in somebody's calendar, as they may see it today."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.calendars.rules import AHEAD, BEHIND, Entry
from service.calendars.schemas import FeedView
from service.calendars.tables import FeedRow
from service.devices.queries import IN_PLACE
from service.devices.tables import DeviceRow, SocketRow
from service.growth.tables import ForecastRow
from service.matching.rules import OfferState
from service.matching.tables import OfferRow
from service.recipients.rules import CaseState
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.requests.rules import UNSETTLED, RequestKind
from service.requests.tables import RequestRow
from service.safety.tables import IncidentRow, ReviewTaskRow
from service.volunteers.tables import AbsenceRow, VettingRow, VolunteerRow


@usecase(May.KEEP_OWN_ACCOUNT)
def feed(work: Work) -> FeedView:
    """The actor's own feed."""
    row = work.session.get(FeedRow, work.actor.account_id)
    if row is None:
        return FeedView(stands=False, made_at=None, fetched_at=None)
    return FeedView(stands=row.key_hash is not None, made_at=row.made_at, fetched_at=row.fetched_at)


@usecase(May.KEEP_OWN_ACCOUNT)
def entries(work: Work) -> list[Entry]:
    """The days that matter to the actor: their own jobs and days away, and what runs out in the cases they may see."""
    return [*_jobs(work), *_away(work), *_vettings(work), *_of_cases(work)]


def _mine(work: Work) -> sa.ColumnElement[bool]:
    return VolunteerRow.account_id == work.actor.account_id


def _within(work: Work, day: Any) -> sa.ColumnElement[bool]:
    return sa.and_(day >= work.today - BEHIND, day <= work.today + AHEAD)


def _jobs(work: Work) -> Iterator[Entry]:
    rows = work.session.execute(
        sa.select(OfferRow.id, OfferRow.deadline, RequestRow.kind)
        .join(VolunteerRow, VolunteerRow.id == OfferRow.volunteer_id)
        .join(RequestRow, RequestRow.id == OfferRow.request_id)
        .where(_mine(work), OfferRow.state == OfferState.ACCEPTED, RequestRow.settled_at.is_(None))
        .where(_within(work, OfferRow.deadline))
    )
    for row in rows:
        what = RequestKind(row.kind).label
        yield Entry(f"job-{row.id}", row.deadline, f"What you agreed to make is due: {what}", "/assignments")


def _away(work: Work) -> Iterator[Entry]:
    rows = work.session.execute(
        sa.select(AbsenceRow.id, AbsenceRow.since, AbsenceRow.until)
        .join(VolunteerRow, VolunteerRow.id == AbsenceRow.volunteer_id)
        .where(_mine(work), _within(work, AbsenceRow.until))
    )
    for row in rows:
        yield Entry(f"away-{row.id}", row.since, "You are away: nothing is offered to you", "/volunteering", row.until)


def _vettings(work: Work) -> Iterator[Entry]:
    rows = work.session.execute(
        sa.select(VettingRow.id, VettingRow.review_due_on)
        .join(VolunteerRow, VolunteerRow.id == VettingRow.volunteer_id)
        .where(_mine(work), VettingRow.ended_on.is_(None), _within(work, VettingRow.review_due_on))
    )
    for row in rows:
        yield Entry(f"vetting-{row.id}", row.review_due_on, "Your check is due for review, by policy", "/volunteering")


def _of_cases(work: Work) -> Iterator[Entry]:
    seen = visible(work.actor, work.today)
    if work.actor.can(May.SEE_REQUESTS):
        promised = (
            sa.select(RequestRow.id, RequestRow.promised_on)
            .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
            .where(seen, RequestRow.state.in_(UNSETTLED), _within(work, RequestRow.promised_on))
        )
        for row in work.session.execute(promised):
            says = f"Request {row.id} was promised for today"
            yield Entry(f"promise-{row.id}", row.promised_on, says, f"/requests/{row.id}")
    if work.actor.can(May.SEE_CASES):
        due = (
            sa.select(SocketRow.id, ForecastRow.start_by)
            .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
            .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
            .join(ForecastRow, sa.and_(ForecastRow.socket_id == SocketRow.id, ForecastRow.is_newest))
            .where(seen, *IN_PLACE, RecipientRow.state == CaseState.ACTIVE, _within(work, ForecastRow.start_by))
        )
        for socket in work.session.execute(due):
            yield Entry(f"socket-{socket.id}", socket.start_by, "The next socket should be started", "/work-list")
    if work.actor.can(May.JUDGE_INCIDENTS):
        yield from _safety(work, seen)


def _safety(work: Work, seen: sa.ColumnElement[bool]) -> Iterator[Entry]:
    looks = (
        sa.select(ReviewTaskRow.id, ReviewTaskRow.due_on)
        .join(RecipientRow, RecipientRow.id == ReviewTaskRow.recipient_id)
        .where(seen, ReviewTaskRow.done_at.is_(None), _within(work, ReviewTaskRow.due_on))
    )
    for row in work.session.execute(looks):
        yield Entry(f"look-{row.id}", row.due_on, "Somebody should have been looked at by today", f"/reviews/{row.id}")
    clocks = (
        sa.select(IncidentRow.id, IncidentRow.report_by)
        .join(RecipientRow, RecipientRow.id == IncidentRow.recipient_id)
        .where(seen, IncidentRow.closed_at.is_(None), _within(work, IncidentRow.report_by))
    )
    for incident in work.session.execute(clocks):
        says = "The last day to report an incident; your own rules decide"
        yield Entry(f"incident-{incident.id}", incident.report_by, says, f"/incidents/{incident.id}")
