"""Reading what figures are made from, as it was on a day: people, their devices, what they asked for.

Reads of the whole register in few statements; who may ask is for the use case that calls. `Scope` narrows them to some
sites for a coordinator's exact figures.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from service.access.work import Work
from service.accounts.rules import great_circle_km
from service.accounts.tables import SiteRow, TownRow
from service.assembly.stays import STANDING
from service.assembly.tables import PartRow, PlaceRow
from service.devices.queries import STANDING as STANDING_SOCKET
from service.devices.tables import DeviceRow, SocketRow, SockReportRow
from service.figures.facts import BODY_POWERED, EXTERNALLY_POWERED, PASSIVE, Asked, Device, Person
from service.figures.following import heard_in_follow_ups, not_used_since
from service.measurements.tables import MeasurementRow
from service.parts.rules import PartKind
from service.recipients.rules import Purpose
from service.recipients.tables import ConsentRow, LimbRow, RecipientRow
from service.requests.rules import RequestState
from service.requests.tables import RequestRow, WaitRow

POWERED = (PartKind.MOTOR, PartKind.BOARD, PartKind.BATTERY)
PULLED = (PartKind.LINE, PartKind.HARNESS, PartKind.TERMINAL_DEVICE)


def at(sites: Collection[int] | None) -> sa.ColumnElement[bool]:
    """SQL: recipients of some sites; None is everywhere."""
    return sa.true() if sites is None else RecipientRow.site_id.in_(sites)


def people(work: Work, until: date, sites: Collection[int] | None = None) -> dict[int, Person]:
    """Everybody on record by id, with whether they agreed to be counted and had not taken it back by a day."""
    home, theirs = aliased(TownRow), aliased(TownRow)
    agreed = sa.exists().where(
        ConsentRow.recipient_id == RecipientRow.id,
        ConsentRow.purpose == Purpose.STATISTICS,
        ConsentRow.given_on <= until,
        # Somebody who took their yes back since is not told of years before either.
        ConsentRow.withdrawn_on.is_(None),
    )
    found = (
        sa.select(
            RecipientRow.id,
            SiteRow.name,
            RecipientRow.birth_date,
            RecipientRow.sex,
            RecipientRow.language,
            *(theirs.latitude, theirs.longitude, home.latitude, home.longitude),
            agreed,
        )
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .outerjoin(theirs, theirs.id == RecipientRow.town_id)
        .outerjoin(home, home.id == SiteRow.town_id)
        .where(at(sites))
    )
    return {
        row[0]: Person(row[1], row[2], row[3], row[4], _km(row[5:9]), counted=bool(row[9]))
        for row in work.session.execute(found)
    }


def _km(places: Any) -> float | None:
    north, east, home_north, home_east = places
    return None if north is None or home_north is None else great_circle_km((north, east), (home_north, home_east))


def devices(work: Work, until: date, sites: Collection[int] | None = None) -> list[Device]:
    """Every device that was worn by a day, whosever it is."""
    begun, heard = _begun(until), _heard(until)
    found = (
        sa.select(
            DeviceRow.id,
            DeviceRow.recipient_id,
            LimbRow.level,
            LimbRow.cause,
            DeviceRow.stopped_on,
            DeviceRow.stopped_why,
            begun.c.on,
            heard.c.on,
            DeviceRow.created_at,
        )
        .join(begun, begun.c.device_id == DeviceRow.id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .outerjoin(heard, heard.c.device_id == DeviceRow.id)
        .outerjoin(LimbRow, sa.and_(LimbRow.recipient_id == DeviceRow.recipient_id, LimbRow.side == DeviceRow.side))
        .where(begun.c.on <= until, at(sites))
    )
    drives, said = _drives(work, until), not_used_since(work, until)
    answered = heard_in_follow_ups(work, until)
    worn = []
    for row in work.session.execute(found):
        stopped = (row[4], row[5].label if row[5] is not None else "") if row[4] and row[4] <= until else None
        # What a family says comes before what somebody writes down of it, if it is earlier.
        stopped = min((each for each in (stopped, said.get(row[0])) if each is not None), default=None)
        heard_on = max(on for on in (row[6], row[7], answered.get(row[0])) if on is not None)
        worn.append(
            Device(
                id=row[0],
                recipient=row[1],
                level=row[2],
                cause=row[3],
                drive=drives.get(row[0], PASSIVE),
                begun_on=row[6],
                stopped_on=max(stopped[0], row[6]) if stopped else None,
                why=stopped[1] if stopped else "",
                heard_on=heard_on,
                known_from=row[8].astimezone(work.now.tzinfo).date(),
            )
        )
    return worn


def _begun(until: date) -> sa.Subquery:
    """By device, the first day that a socket or another part was in place."""
    each = sa.union_all(
        sa.select(SocketRow.device_id, SocketRow.fitted_on.label("on")).where(STANDING_SOCKET),
        sa.select(PlaceRow.device_id, PlaceRow.since.label("on")).where(STANDING),
    ).subquery()
    first = sa.select(each.c.device_id, sa.func.min(each.c.on).label("on")).where(each.c.on <= until)
    return first.group_by(each.c.device_id).subquery()


def _heard(until: date) -> sa.Subquery:
    """By device, the last day that tells it was worn: a part put in, socks, a request; of its wearer, a reading."""
    asked = sa.func.date(RequestRow.asked_at, type_=sa.Date)
    each = sa.union_all(
        sa.select(SocketRow.device_id, SocketRow.fitted_on.label("on")).where(STANDING_SOCKET),
        sa.select(PlaceRow.device_id, PlaceRow.since.label("on")).where(STANDING),
        sa.select(SockReportRow.device_id, SockReportRow.worn_on.label("on")).where(SockReportRow.struck_at.is_(None)),
        sa.select(RequestRow.device_id, asked.label("on")).where(RequestRow.device_id.is_not(None)),
        sa.select(DeviceRow.id.label("device_id"), MeasurementRow.taken_on.label("on")).join(
            MeasurementRow, MeasurementRow.recipient_id == DeviceRow.recipient_id
        ),
    ).subquery()
    last = sa.select(each.c.device_id, sa.func.max(each.c.on).label("on")).where(each.c.on <= until)
    return last.group_by(each.c.device_id).subquery()


def _drives(work: Work, until: date) -> dict[int, str]:
    """What moves each device that has, or ever had, a part that moves it."""
    found = (
        sa.select(PlaceRow.device_id, sa.func.max(sa.case((PartRow.kind.in_(POWERED), 1), else_=0)))
        .join(PartRow, PartRow.id == PlaceRow.part_id)
        .where(STANDING, PlaceRow.since <= until, PartRow.kind.in_((*POWERED, *PULLED)))
        .group_by(PlaceRow.device_id)
    )
    return {device: EXTERNALLY_POWERED if powered else BODY_POWERED for device, powered in work.session.execute(found)}


def requests(work: Work, until: date, sites: Collection[int] | None = None) -> list[Asked]:
    """All that was asked for by a day, as it stood then; what was joined to another request counts once, with it."""
    waited = (
        sa.select(WaitRow.request_id, WaitRow.since, sa.func.coalesce(WaitRow.until, until))
        .where(WaitRow.since <= until)
        .order_by(WaitRow.id)
    )
    stood: dict[int, int] = {}
    for request, since, ended in work.session.execute(waited):
        stood[request] = stood.get(request, 0) + max(0, (min(ended, until) - since).days)
    found = (
        sa.select(
            RequestRow.id,
            RequestRow.recipient_id,
            RequestRow.kind,
            RequestRow.state,
            RequestRow.asked_at,
            RequestRow.settled_at,
            RequestRow.promised_on,
            RequestRow.needed_by,
        )
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .where(RequestRow.joined_into_id.is_(None), at(sites))
    )
    zone = work.now.tzinfo
    asked = []
    for row in work.session.execute(found):
        on = row[4].astimezone(zone).date()
        settled = row[5].astimezone(zone).date() if row[5] is not None else None
        if on > until:
            continue
        settled = settled if settled is not None and settled <= until else None
        state = row[3] if settled is not None else RequestState.OPEN
        asked.append(Asked(row[1], row[2], state, on, settled, row[6] or row[7], stood.get(row[0], 0)))
    return asked


def first_day(work: Work) -> date | None:
    """The first day that anything was worn or asked for; None in an empty register."""
    asked = work.session.scalar(sa.select(sa.func.min(RequestRow.asked_at)))
    worn = (
        work.session.scalar(sa.select(sa.func.min(SocketRow.fitted_on)).where(STANDING_SOCKET)),
        work.session.scalar(sa.select(sa.func.min(PlaceRow.since)).where(STANDING)),
        asked.astimezone(work.now.tzinfo).date() if asked is not None else None,
    )
    return min((on for on in worn if on is not None), default=None)
