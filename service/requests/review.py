"""What forecasts ask for: one request for the next socket when it is time to start, taken back when it no longer is.

When the day to start by has come and the case is open, a request for the next socket is opened, unless there is one.
While a case is paused none is opened, however tight what is worn may be: the work list has somebody ask about that, and
the first look after the case is resumed opens the request.
One that the forecast opened and nobody has agreed to closes by itself when the newest forecast's day lies `MARGIN`
ahead, or the device is worn no more. What a person opened is theirs to close, and what a person settled is not asked
for again before `LEFT_ALONE` has passed, unless another socket has been fitted since.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.audit.actions import note
from service.devices.queries import IN_PLACE
from service.devices.rules import Use
from service.devices.tables import DeviceRow, SocketRow
from service.growth.followups import ask_for_review
from service.growth.leads import lead_days_at
from service.growth.tables import ForecastRow
from service.kit.days import full_day
from service.recipients.rules import CaseState
from service.recipients.tables import RecipientRow
from service.requests.keeping import settle, write
from service.requests.rules import (
    LEFT_ALONE,
    MOVED,
    UNSETTLED,
    Asker,
    RequestKind,
    RequestState,
    is_called_off,
    need,
    needed_by,
)
from service.requests.tables import RequestRow

ASKED_BY = "the forecast"


def review(work: Work, recipient_id: int) -> None:
    """Bring the requests that the forecast opened for a recipient in line with the newest forecasts."""
    locked = sa.select(RecipientRow).where(RecipientRow.id == recipient_id).with_for_update()
    recipient = work.session.scalars(locked).one_or_none()
    if recipient is None:  # removed meanwhile
        return
    site = work.session.get_one(SiteRow, recipient.site_id)
    asked = {row.device_id: row for row in work.session.scalars(_next_sockets(recipient_id))}
    worn = {row.device_id: row for row in work.session.execute(_forecasts(recipient_id))}
    for device_id, row in asked.items():
        if row.asker is Asker.FORECAST and row.state is RequestState.OPEN:
            _take_back_or_follow(work, recipient, site, row, worn.get(device_id))
    for device_id, forecast in worn.items():
        if device_id not in asked and _is_time(work, recipient, forecast):
            _open(work, recipient, site, forecast)


def review_everybody(work: Work) -> None:
    """Ask for a review of everybody whose forecast has an open request, or says that it is time to start."""
    open_ones = sa.select(RequestRow.recipient_id).where(
        RequestRow.asker == Asker.FORECAST, RequestRow.state == RequestState.OPEN
    )
    due = sa.select(ForecastRow.recipient_id).where(ForecastRow.is_newest, ForecastRow.start_by <= work.today)
    for recipient_id in work.session.scalars(open_ones.union(due)).all():
        ask_for_review(work, recipient_id)


def _next_sockets(recipient_id: int) -> sa.Select[RequestRow]:
    return (
        sa.select(RequestRow)
        .where(
            RequestRow.recipient_id == recipient_id,
            RequestRow.kind == RequestKind.NEXT_SOCKET,
            RequestRow.state.in_(UNSETTLED),
        )
        .with_for_update()
    )


def _forecasts(recipient_id: int) -> sa.Select[*tuple[Any, ...]]:
    """The newest forecast of each socket that is worn."""
    columns = (DeviceRow.id.label("device_id"), SocketRow.fitted_on, ForecastRow.start_by, ForecastRow.p50)
    return (
        sa.select(*columns)
        .join(SocketRow, SocketRow.device_id == DeviceRow.id)
        .join(ForecastRow, sa.and_(ForecastRow.socket_id == SocketRow.id, ForecastRow.is_newest))
        .where(DeviceRow.recipient_id == recipient_id, *IN_PLACE)
        .order_by(DeviceRow.id)
    )


def _is_time(work: Work, recipient: RecipientRow, forecast: Any) -> bool:
    if forecast.start_by is None or forecast.start_by > work.today:
        return False
    if recipient.state in {CaseState.CLOSED, CaseState.PAUSED}:
        return False
    settled = sa.select(sa.func.max(RequestRow.settled_at)).where(
        RequestRow.recipient_id == recipient.id,
        RequestRow.device_id == forecast.device_id,
        RequestRow.kind == RequestKind.NEXT_SOCKET,
        RequestRow.joined_into_id.is_(None),
        RequestRow.settled_by != ASKED_BY,
    )
    at = work.session.scalar(settled)
    return at is None or at.date() < forecast.fitted_on or at.date() + LEFT_ALONE <= work.today


def _open(work: Work, recipient: RecipientRow, site: SiteRow, forecast: Any) -> None:
    on = full_day(forecast.start_by)
    row = RequestRow(
        recipient_id=recipient.id,
        device_id=forecast.device_id,
        kind=RequestKind.NEXT_SOCKET,
        need=need(RequestKind.NEXT_SOCKET, recipient.id, forecast.device_id),
        asker=Asker.FORECAST,
        asked_by=ASKED_BY,
        asked_at=work.now,
        words=f"The forecast says that the next socket should be started by {on}.",
        harm=False,
        usable=None,
        needed_by=_needed_by(work, site, forecast),
        tight_on=forecast.p50,
        state=RequestState.OPEN,
    )
    if write(work, row, ()) is None:  # else a person was quicker, and theirs stands
        note(work, "asked", "request", subject_id=row.id, recipient_id=recipient.id)


def _take_back_or_follow(
    work: Work, recipient: RecipientRow, site: SiteRow, row: RequestRow, forecast: Any | None
) -> None:
    if (why := _why_taken_back(work, recipient, row, forecast)) is not None:
        settle(work, row, RequestState.CLOSED, why)
        row.settled_by = ASKED_BY
        return
    if forecast is None:
        return
    row.tight_on = forecast.p50
    by = _needed_by(work, site, forecast)
    # A day to start that has gone by says nothing new: what is late does not become less so day by day.
    if abs(by - row.needed_by) >= MOVED and forecast.start_by >= row.asked_at.date():
        changes = {"needed_by": [row.needed_by.isoformat(), by.isoformat()]}
        row.needed_by = by
        note(work, "moved", "request", subject_id=row.id, recipient_id=recipient.id, changes=changes)


def _why_taken_back(work: Work, recipient: RecipientRow, row: RequestRow, forecast: Any | None) -> str | None:
    """Why the forecast no longer asks for a socket, in a sentence; None if it still does, or nobody can say yet."""
    if recipient.state is CaseState.CLOSED:
        return "The case was closed."
    device = work.session.get(DeviceRow, row.device_id) if row.device_id else None
    if device is not None and device.use is Use.STOPPED:
        return "The device is no longer used."
    if forecast is None or not is_called_off(forecast.start_by, work.today):
        return None
    when = f"by {full_day(forecast.start_by)}" if forecast.start_by else "not within three years"
    if forecast.fitted_on >= row.asked_at.date():
        return f"Another socket was fitted on {full_day(forecast.fitted_on)}; the one after it is to be started {when}."
    return f"The newest forecast says that the next socket is to be started {when}."


def _needed_by(work: Work, site: SiteRow, forecast: Any) -> Any:
    return needed_by(
        RequestKind.NEXT_SOCKET,
        work.today,
        usable=None,
        harm=False,
        replacement_days=site.replacement_days,
        lead_days=lead_days_at(work, site.id),
        start_by=forecast.start_by,
    )
