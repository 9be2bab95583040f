"""Reading what figures are made from, as it was on a day: parts and sockets in place, and how forecasts of them did."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from datetime import date

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.assembly.stays import STANDING
from service.assembly.tables import PartRow, PlaceRow
from service.devices.queries import STANDING as STANDING_SOCKET
from service.devices.rules import EndReason, Fit
from service.devices.tables import DeviceRow, LimitRow, SocketRow, SockReportRow
from service.figures.facts import EARLY, LATE, OTHERWISE, WITHIN, Judged, Stay, Worn
from service.figures.gathering import at
from service.growth.judging import in_force
from service.measurements.tables import MeasurementRow, ReadingRow
from service.parts.tables import DesignRow, VersionRow
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow

JUDGED_DAYS = 90
"""Forecasts are judged as they stood so many days before the socket came off."""


def stays(work: Work, until: date, sites: Collection[int] | None = None, *, like: int | None = None) -> Iterator[Stay]:
    """Every stay of a printed part of a design, as it stood on a day; the stays of one part follow each other.

    `like` is a device: only stays of parts of the designs that are in it.
    """
    found = (
        sa.select(
            PlaceRow.part_id,
            DesignRow.name,
            VersionRow.number,
            PlaceRow.device_id,
            PlaceRow.since,
            PlaceRow.until,
            PlaceRow.came_off,
            PlaceRow.recorded_at,
        )
        .join(PartRow, PartRow.id == PlaceRow.part_id)
        .join(VersionRow, VersionRow.id == PartRow.version_id)
        .join(DesignRow, DesignRow.id == VersionRow.design_id)
        .where(STANDING, PlaceRow.since <= until)
        .order_by(PlaceRow.part_id, PlaceRow.since, PlaceRow.id)
    )
    if sites is not None:
        found = found.join(DeviceRow, DeviceRow.id == PlaceRow.device_id)
        found = found.join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id).where(at(sites))
    if like is not None:
        in_it = (
            sa.select(VersionRow.design_id)
            .join(PartRow, PartRow.version_id == VersionRow.id)
            .join(PlaceRow, PlaceRow.part_id == PartRow.id)
            .where(PlaceRow.device_id == like, STANDING, VersionRow.design_id.is_not(None))
        )
        found = found.where(VersionRow.design_id.in_(in_it))
    part, age = None, 0
    for row in work.session.execute(found.execution_options(yield_per=10_000)):
        age = age if row[0] == part else 0
        off = row[5] if row[5] is not None and row[5] <= until else None
        recorded = row[7].date()
        # What was written down only after it had come off is known from its first day to its last.
        known = row[4] if row[5] is not None and row[5] <= recorded else max(row[4], recorded)
        yield Stay(row[1], row[2], row[3], row[4], off, row[6] if off is not None else None, age, known)
        part, age = row[0], age + ((off or until) - row[4]).days


def by_site(work: Work, known: Iterable[Stay]) -> dict[str, list[Stay]]:
    """Stays in devices of cases that the actor may see, by their site's name."""
    found = (
        sa.select(DeviceRow.id, SiteRow.name)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .where(visible(work.actor, work.today))
    )
    site_of = {row.id: row.name for row in work.session.execute(found)}
    parted: dict[str, list[Stay]] = {}
    for stay in known:
        if stay.device in site_of:
            parted.setdefault(site_of[stay.device], []).append(stay)
    return parted


def sockets(work: Work, until: date, sites: Collection[int] | None = None) -> list[Worn]:
    """Every socket in place by a day, with the first day that it was known to be tight."""
    tight = _tight(until)
    found = (
        sa.select(DeviceRow.recipient_id, SocketRow.fitted_on, SocketRow.ended_on, SocketRow.end_reason, tight.c.on)
        .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .outerjoin(tight, tight.c.socket_id == SocketRow.id)
        .where(STANDING_SOCKET, SocketRow.fitted_on <= until, at(sites))
    )
    return [
        Worn(row[0], row[1], row[2], row[3], row[4])
        if row[2] is not None and row[2] <= until
        else Worn(row[0], row[1], None, None, row[4])
        for row in work.session.execute(found)
    ]


def _tight(until: date) -> sa.Subquery:
    """By socket, the first day that socks were reported tight in it, or that a reading met its limit at that level."""
    worn_then = sa.or_(SocketRow.ended_on.is_(None), SocketRow.ended_on >= MeasurementRow.taken_on)
    measured = (
        sa.select(SocketRow.id.label("socket_id"), MeasurementRow.taken_on.label("on"))
        .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
        .join(LimitRow, LimitRow.socket_id == SocketRow.id)
        .join(MeasurementRow, MeasurementRow.recipient_id == DeviceRow.recipient_id)
        .join(ReadingRow, ReadingRow.measurement_id == MeasurementRow.id)
        .where(
            ReadingRow.dimension == LimitRow.dimension,
            ReadingRow.side == DeviceRow.side,
            ReadingRow.level_mm.is_not_distinct_from(LimitRow.level_mm),
            ReadingRow.value >= LimitRow.tight_at_mm,
            ReadingRow.struck_at.is_(None),
            MeasurementRow.taken_on >= SocketRow.fitted_on,
            worn_then,
        )
    )
    said = sa.select(SockReportRow.socket_id, SockReportRow.worn_on.label("on")).where(
        SockReportRow.fit == Fit.TIGHT, SockReportRow.struck_at.is_(None)
    )
    each = sa.union_all(said, measured).subquery()
    first = sa.select(each.c.socket_id, sa.func.min(each.c.on).label("on")).where(each.c.on <= until)
    return first.group_by(each.c.socket_id).subquery()


def judged(work: Work, until: date, sites: Collection[int] | None = None) -> list[Judged]:
    """How the forecasts in force three months before sockets came off did; none that were replayed."""
    found = in_force(JUDGED_DAYS, replayed=False).where(SocketRow.ended_on <= until, at(sites))
    rows = work.session.execute(found.add_columns(RecipientRow.id.label("recipient")))
    return [Judged(row.recipient, row.model, _found(row)) for row in rows]


def _found(row: sa.Row[tuple[object, ...]]) -> str:
    if row.end_reason is not EndReason.OUTGROWN:
        return OTHERWISE
    if row.p10 is None or row.ended_on < row.p10:
        return EARLY
    return WITHIN if row.p90 is None or row.ended_on <= row.p90 else LATE
