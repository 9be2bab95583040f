"""Reading what recipients wear, narrowed to the cases the actor may see."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.devices.rules import EndReason, Use
from service.devices.schemas import (
    DeviceHistory,
    DeviceView,
    LimitView,
    SettingView,
    SocketView,
    SockReportView,
    WornSocket,
)
from service.devices.tables import ControlSettingRow, DeviceRow, LimitRow, SocketRow, SockReportRow
from service.kit.errors import NotFound
from service.kit.paging import Listing, Page, decode, encode
from service.recipients.queries import seen_recipient
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow

MOST_REPORTS_SHOWN = 12
"""Sock reports that a device's page lists; the case's history has them all."""


@usecase(May.SEE_CASES)
def devices(work: Work, case_number: str) -> list[DeviceView]:
    """Every device of a recipient, those in use first, each with its socket in place."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    return sorted(_devices(work, DeviceRow.recipient_id == seen.id), key=_in_use_first)


@usecase(May.SEE_CASES)
def device(work: Work, case_number: str, device_id: int) -> DeviceHistory:
    """One device with its sockets and settings; raises NotFound unless it belongs to the case."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    found = _histories(work, DeviceRow.recipient_id == seen.id, DeviceRow.id == device_id)
    if not found:
        raise NotFound("There is no such device in this case.")
    return found[0]


@usecase(May.SEE_CASES)
def histories(work: Work, case_number: str) -> list[DeviceHistory]:
    """Every device of a recipient with its sockets and settings, those in use first."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    return sorted(_histories(work, DeviceRow.recipient_id == seen.id), key=_in_use_first)


@usecase(May.SEE_CASES)
def settings(work: Work, case_number: str, device_id: int) -> list[SettingView]:
    """A device's control settings, newest first."""
    return device(work, case_number, device_id).settings


@usecase(May.SEE_CASES)
def sock_reports(work: Work, case_number: str, wanted: Listing) -> Page[SockReportView]:
    """A recipient's sock reports in the order they were recorded, newest first."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    statement = _REPORTS.where(DeviceRow.recipient_id == seen.id).order_by(SockReportRow.id.desc())
    if wanted.cursor is not None:
        statement = statement.where(SockReportRow.id < decode(wanted.cursor, (int,))[0])
    rows = work.session.execute(statement.limit(wanted.limit + 1)).all()
    more = encode((rows[wanted.limit - 1].id,)) if len(rows) > wanted.limit else None
    return Page(items=[_report(row._mapping) for row in rows[: wanted.limit]], next=more)


@usecase(May.SEE_CASES)
def sock_report(work: Work, case_number: str, report_id: int) -> SockReportView:
    """One sock report; raises NotFound unless it belongs to the case."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    statement = _REPORTS.where(SockReportRow.id == report_id, DeviceRow.recipient_id == seen.id)
    row = work.session.execute(statement).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no such sock report in this case.")
    return _report(row)


@usecase(May.SEE_CASES)
def device_reports(work: Work, case_number: str, device_id: int) -> list[SockReportView]:
    """The newest sock reports of a device, struck ones too, newest first; at most `MOST_REPORTS_SHOWN`."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    of_device = _REPORTS.where(DeviceRow.recipient_id == seen.id, DeviceRow.id == device_id)
    newest = of_device.order_by(SockReportRow.worn_on.desc(), SockReportRow.id.desc()).limit(MOST_REPORTS_SHOWN)
    return [_report(row) for row in work.session.execute(newest).mappings()]


@usecase(May.SEE_CASES)
def worn_sockets(work: Work, recipient_ids: Collection[int]) -> list[WornSocket]:
    """Sockets in place of devices in use, for some recipients; their sock reports that count, oldest first."""
    rows = work.session.execute(
        sa.select(
            DeviceRow.recipient_id.label("recipient"),
            DeviceRow.id.label("device"),
            DeviceRow.purpose,
            DeviceRow.side,
            SocketRow.id.label("socket"),
            SocketRow.fitted_on,
            SocketRow.socks_at_fitting,
        )
        .join(SocketRow, SocketRow.device_id == DeviceRow.id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(DeviceRow.recipient_id.in_(recipient_ids), *IN_PLACE, visible(work.actor, work.today))
        .order_by(DeviceRow.recipient_id, DeviceRow.id)
    ).mappings()
    worn = list(rows)
    limits = _limits(work, [each["socket"] for each in worn])
    reports = _counting_reports(work, [each["socket"] for each in worn])
    return [
        WornSocket.model_validate({**each, "limits": limits[each["socket"]], "reports": reports[each["socket"]]})
        for each in worn
    ]


STANDING = SocketRow.end_reason.is_distinct_from(EndReason.MISTAKE)
"""SQL: a socket that was not struck through, so one that is or was in place."""

NEWEST_FIRST = (SocketRow.fitted_on.desc(), SocketRow.id.desc())
"""SQL: the order of a device's sockets."""

IN_PLACE = (DeviceRow.use == Use.IN_USE, SocketRow.ended_on.is_(None))
"""SQL: a socket that is worn now, so one that a forecast belongs to."""

_REPORTS = sa.select(
    SockReportRow.id,
    SockReportRow.device_id.label("device"),
    SockReportRow.socket_id.label("socket"),
    DeviceRow.purpose,
    SockReportRow.worn_on.label("on"),
    SockReportRow.plies,
    SockReportRow.fit,
    SockReportRow.note,
    SockReportRow.recorded_by,
    SockReportRow.recorded_at,
    SockReportRow.struck_at,
    SockReportRow.struck_by,
    SockReportRow.struck_why,
).join(DeviceRow, DeviceRow.id == SockReportRow.device_id)


def _devices(work: Work, *conditions: sa.ColumnElement[bool]) -> list[DeviceView]:
    rows = list(work.session.execute(sa.select(DeviceRow.__table__).where(*conditions)).mappings())
    in_place = _sockets(work, SocketRow.device_id.in_([row["id"] for row in rows]), SocketRow.ended_on.is_(None))
    of_device = {socket.device: socket for socket in in_place}
    return [
        DeviceView.model_validate({**row, "replaces": row["replaces_id"], "socket": of_device.get(row["id"])})
        for row in rows
    ]


def _histories(work: Work, *conditions: sa.ColumnElement[bool]) -> list[DeviceHistory]:
    found = _devices(work, *conditions)
    ids = [each.id for each in found]
    settings_of = _settings(work, ids)
    sockets_of: defaultdict[int, list[SocketView]] = defaultdict(list)
    for socket in _sockets(work, SocketRow.device_id.in_(ids)):
        sockets_of[socket.device].append(socket)
    return [
        DeviceHistory(**each.model_dump(), sockets=sockets_of[each.id], settings=settings_of[each.id]) for each in found
    ]


def _in_use_first(device: DeviceView) -> tuple[int, int]:
    return list(Use).index(device.use), -device.id


def _sockets(work: Work, *conditions: sa.ColumnElement[bool]) -> list[SocketView]:
    rows = list(
        work.session.execute(sa.select(SocketRow.__table__).where(*conditions).order_by(*NEWEST_FIRST)).mappings()
    )
    limits = _limits(work, [row["id"] for row in rows])
    return [SocketView.model_validate({**row, "device": row["device_id"], "limits": limits[row["id"]]}) for row in rows]


def _limits(work: Work, socket_ids: list[int]) -> defaultdict[int, list[LimitView]]:
    found: defaultdict[int, list[LimitView]] = defaultdict(list)
    statement = sa.select(LimitRow.__table__).where(LimitRow.socket_id.in_(socket_ids))
    for row in work.session.execute(statement.order_by(LimitRow.dimension, LimitRow.level_mm)).mappings():
        found[row["socket_id"]].append(LimitView.model_validate(dict(row)))
    return found


def _counting_reports(work: Work, socket_ids: list[int]) -> defaultdict[int, list[SockReportView]]:
    found: defaultdict[int, list[SockReportView]] = defaultdict(list)
    statement = _REPORTS.where(SockReportRow.socket_id.in_(socket_ids), SockReportRow.struck_at.is_(None))
    for row in work.session.execute(statement.order_by(SockReportRow.worn_on, SockReportRow.id)).mappings():
        found[row["socket"]].append(_report(row))
    return found


def _report(row: sa.RowMapping) -> SockReportView:
    struck = row["struck_at"] and {"at": row["struck_at"], "by": row["struck_by"], "why": row["struck_why"]}
    return SockReportView.model_validate({**row, "struck": struck})


def _settings(work: Work, device_ids: list[int]) -> defaultdict[int, list[SettingView]]:
    newest_first = (ControlSettingRow.set_on.desc(), ControlSettingRow.id.desc())
    statement = sa.select(ControlSettingRow.__table__).where(ControlSettingRow.device_id.in_(device_ids))
    found: defaultdict[int, list[SettingView]] = defaultdict(list)
    named: set[tuple[int, str]] = set()
    for row in work.session.execute(statement.order_by(*newest_first)).mappings():
        name = (row["device_id"], row["name"])
        found[row["device_id"]].append(SettingView.model_validate({**row, "current": name not in named}))
        named.add(name)
    return found
