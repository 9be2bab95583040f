"""Recording what recipients wear. Each act writes its audit entry and asks for a new forecast in one transaction."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.devices import rules
from service.devices.fitting import check_past, end, end_previous, judged_limits, take_reports, why_stopped, worn_on
from service.devices.queries import NEWEST_FIRST, STANDING, device, settings, sock_report
from service.devices.rules import EndReason, Use
from service.devices.schemas import (
    AddDevice,
    AddSetting,
    AddSocket,
    ChangeDevice,
    DeviceHistory,
    EndSocket,
    PutBack,
    ReportSocks,
    SettingView,
    SocketView,
    SockReportView,
    StrikeReport,
)
from service.devices.tables import ControlSettingRow, DeviceRow, LimitRow, SocketRow, SockReportRow
from service.kit.errors import Conflict, Invalid, NotFound
from service.recipients.followups import ask_for_forecast
from service.recipients.queries import seen_recipient
from service.recipients.schemas import SeenRecipient


@usecase(May.KEEP_DEVICES)
def may_keep_devices(_work: Work) -> None:
    """Whether to show the forms for devices, sockets and settings at all; refuses as recording would."""


@usecase(May.REPORT_SOCKS)
def may_report_socks(_work: Work) -> None:
    """Whether to show the form for a sock report at all; refuses as `report_socks` would."""


@usecase(May.KEEP_DEVICES)
def add_device(work: Work, case_number: str, command: AddDevice) -> DeviceHistory:
    """Record a device; raises Invalid for a side without a limb difference, or one that `replaces` does not share."""
    seen = seen_recipient(work, case_number)
    if seen.limbs and command.side not in seen.limbs:
        described = rules.sides_in_words(seen.limbs)
        raise Invalid.at(
            "side",
            f"This case describes a limb difference on the {described} only. Check the side, or describe the limb.",
        )
    replaced = _to_be_replaced(work, seen, command)
    row = DeviceRow(
        recipient_id=seen.id,
        purpose=command.purpose,
        side=command.side,
        note=command.note,
        replaces_id=command.replaces,
        use=Use.IN_USE,
        created_at=work.now,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    if replaced is not None:
        _take_over(work, seen, replaced, row.id, command.replaced_becomes)
    _record(work, seen, "recorded", "device", row.id)
    return device(work, case_number, row.id)


@usecase(May.KEEP_DEVICES)
def change_device(work: Work, case_number: str, device_id: int, command: ChangeDevice) -> DeviceHistory:
    """Change a device's particulars or its use; stopping it needs a reason and leaves its socket on record as it is."""
    seen, row = _own_device(work, case_number, device_id)
    given = command.model_dump(exclude_none=True)
    if given.get("use", row.use) is Use.STOPPED:
        given = {"stopped_on": row.stopped_on or work.today, **given, **why_stopped(row, given)}
        check_past(work, seen, "stopped_on", given["stopped_on"])
    elif given.keys() & {"stopped_why", "stopped_reason", "stopped_on"}:
        raise Invalid.at("use", 'A reason or a day to stop needs use "stopped".')
    else:
        given |= {"stopped_why": None, "stopped_reason": "", "stopped_on": None}
    before = {name: getattr(row, name) for name in given}
    changes = {name: [_plain(before[name]), _plain(value)] for name, value in given.items() if value != before[name]}
    for name, value in given.items():
        setattr(row, name, value)
    _record(work, seen, "changed", "device", row.id, changes=changes)
    return device(work, case_number, row.id)


@usecase(May.KEEP_DEVICES)
def add_socket(work: Work, case_number: str, device_id: int, command: AddSocket) -> SocketView:
    """Record a fitted socket with its limits.

    Raises Conflict while another is in place that `previous` does not end, and Invalid for days or limits that
    cannot be.
    """
    seen, row = _own_device(work, case_number, device_id)
    if row.use is Use.STOPPED:
        raise Conflict("This device is stopped. Put it back in use before you record a socket for it.")
    check_past(work, seen, "fitted_on", command.fitted_on)
    doubts = judged_limits(work, seen, row, command)
    end_previous(work, seen, row, command)
    stood = sa.select(SocketRow.fitted_on, SocketRow.ended_on).where(SocketRow.device_id == row.id, STANDING)
    spans = [rules.Span(*days) for days in work.session.execute(stood)]
    if (problem := rules.fitting_problem(command.fitted_on, spans)) is not None:
        raise Invalid.at("fitted_on", problem)

    given = {**command.model_dump(include={"fitted_on", "note"}), "socks_at_fitting": list(command.socks_at_fitting)}
    socket = SocketRow(device_id=row.id, **given)
    work.session.add(socket)
    work.session.flush()  # the id is needed below
    for limit, said in zip(command.limits, doubts, strict=True):
        work.session.add(LimitRow(socket_id=socket.id, doubts=said, **{**limit.model_dump(), "side": row.side}))
    take_reports(work, socket)
    _record(work, seen, "recorded", "socket", socket.id)
    return _socket_view(work, case_number, socket)


@usecase(May.KEEP_DEVICES)
def end_socket(work: Work, case_number: str, device_id: int, socket_id: int, command: EndSocket) -> SocketView:
    """Record that a socket came off for good, or strike one through that was recorded by mistake.

    Raises Conflict when that is on record already.
    """
    seen, socket = _own_socket(work, case_number, device_id, socket_id)
    if socket.end_reason is EndReason.MISTAKE:
        raise Conflict("This socket was struck through already, as recorded by mistake. There is nothing more to do.")
    if socket.ended_on is not None and command.end_reason is not EndReason.MISTAKE:
        raise Conflict("This socket has come off already; the day and the reason are on record.")
    end(work, seen, socket, command)
    _follow_up(work, seen)
    return _socket_view(work, case_number, socket)


@usecase(May.KEEP_DEVICES)
def put_back_socket(work: Work, case_number: str, device_id: int, socket_id: int, command: PutBack) -> SocketView:
    """Record that the last socket of a device is worn after all.

    Raises Conflict while it is in place, when it was struck through, or when another came after it.
    """
    seen, socket = _own_socket(work, case_number, device_id, socket_id)
    last = sa.select(SocketRow.id).where(SocketRow.device_id == device_id, STANDING).order_by(*NEWEST_FIRST).limit(1)
    if socket.ended_on is None:
        raise Conflict("This socket is in place already. There is nothing to do.")
    if socket.end_reason is EndReason.MISTAKE:
        raise Conflict("This socket was struck through, as recorded by mistake. Record the one that is worn anew.")
    if work.session.scalar(last) != socket.id:
        raise Conflict(
            "Another socket came after this one. If that was recorded by mistake, say so there first; "
            "then put this one back."
        )
    changes = {"ended_on": [socket.ended_on.isoformat(), None], "why": [None, command.why]}
    socket.ended_on = socket.end_reason = socket.ended_by = None
    socket.end_note = ""
    take_reports(work, socket)
    _record(work, seen, "put back", "socket", socket.id, changes=changes)
    return _socket_view(work, case_number, socket)


@usecase(May.REPORT_SOCKS)
def report_socks(work: Work, case_number: str, command: ReportSocks) -> SockReportView:
    """Record the socks worn on a day.

    Raises Invalid when it is not plain which device is meant or no socket of it was in place that day, and Conflict
    when the very same report is on record.
    """
    seen = seen_recipient(work, case_number)
    check_past(work, seen, "on", command.on)
    if (problem := rules.socks_problem(command.plies)) is not None:
        raise Invalid.at("plies", problem)
    device_id = _meant_device(work, seen, command.device)
    socket_id = worn_on(work, device_id, command.on)
    if socket_id is None:
        raise Invalid.at(
            "on", "No socket of this device was in place on that day. Check the day, or record the socket first."
        )
    same_day = sa.select(SockReportRow.plies, SockReportRow.fit).where(
        SockReportRow.socket_id == socket_id,
        SockReportRow.worn_on == command.on,
        SockReportRow.struck_at.is_(None),
    )
    if (list(command.plies), command.fit) in [tuple(row) for row in work.session.execute(same_day)]:
        raise Conflict("This report is on record already. There is nothing more to do.")

    report = SockReportRow(
        device_id=device_id,
        socket_id=socket_id,
        worn_on=command.on,
        plies=list(command.plies),
        fit=command.fit,
        note=command.note,
        recorded_at=work.now,
        recorded_by=work.actor.name,
    )
    work.session.add(report)
    work.session.flush()  # the id is needed below
    _record(work, seen, "recorded", "sock report", report.id)
    return sock_report(work, case_number, report.id)


@usecase(May.REPORT_SOCKS)
def strike_report(work: Work, case_number: str, report_id: int, command: StrikeReport) -> SockReportView:
    """Strike a sock report through, with who and why; raises Conflict when it is struck already."""
    seen = seen_recipient(work, case_number)
    sock_report(work, case_number, report_id)  # raises NotFound unless it belongs to the case
    # Locked before it is looked at, so that of two people striking it at once the second finds it struck.
    report = work.session.get_one(SockReportRow, report_id, with_for_update=True)
    if report.struck_at is not None:
        raise Conflict("This report was struck through already. There is nothing more to do.")
    report.struck_at, report.struck_by, report.struck_why = work.now, work.actor.name, command.why
    _record(work, seen, "struck", "sock report", report_id, changes={"why": [None, command.why]})
    return sock_report(work, case_number, report_id)


@usecase(May.KEEP_DEVICES)
def add_setting(work: Work, case_number: str, device_id: int, command: AddSetting) -> SettingView:
    """Record a control setting; earlier ones of the same name stay as history."""
    seen, row = _own_device(work, case_number, device_id)
    check_past(work, seen, "set_on", command.set_on)
    setting = ControlSettingRow(device_id=row.id, **command.model_dump())
    work.session.add(setting)
    work.session.flush()  # the view reads what was just written
    note(work, "recorded", "control setting", subject_id=setting.id, recipient_id=seen.id)
    return next(each for each in settings(work, case_number, row.id) if each.id == setting.id)


def _to_be_replaced(work: Work, seen: SeenRecipient, command: AddDevice) -> DeviceRow | None:
    if command.replaces is None:
        return None
    row = work.session.get(DeviceRow, command.replaces)
    if row is None or row.recipient_id != seen.id:
        raise Invalid.at("replaces", "There is no such device in this case.")
    if row.side is not command.side:
        raise Invalid.at("replaces", f"That device is worn on the {row.side}. Choose one of the same side.")
    return row


def _take_over(work: Work, seen: SeenRecipient, old: DeviceRow, new_id: int, becomes: Use) -> None:
    for setting in settings(work, seen.case_number, old.id):
        if setting.current:
            copied = setting.model_dump(include={"name", "value", "unit", "note"})
            work.session.add(ControlSettingRow(device_id=new_id, set_on=work.today, **copied))
    if old.use is Use.STOPPED:
        return
    note(work, "changed", "device", subject_id=old.id, recipient_id=seen.id, changes={"use": [old.use, becomes]})
    old.use = becomes
    if becomes is Use.STOPPED:
        old.stopped_on, old.stopped_reason = work.today, "replaced"


def _meant_device(work: Work, seen: SeenRecipient, device_id: int | None) -> int:
    # Locked, so that of the same report sent twice at once the second finds the first.
    mine = sa.select(DeviceRow).where(DeviceRow.recipient_id == seen.id).order_by(DeviceRow.id).with_for_update()
    owned = work.session.scalars(mine).all()
    if device_id is not None:
        if device_id not in {row.id for row in owned}:
            raise Invalid.at("device", "There is no such device in this case.")
        return device_id
    in_use = [row for row in owned if row.use is Use.IN_USE]
    if len(in_use) == 1:
        return in_use[0].id
    if not in_use:
        raise Invalid.at("device", "No device is in use. Record the device first, or say which one was worn.")
    names = "; ".join(f"{row.id} ({row.purpose}, {row.side})" for row in in_use)
    raise Invalid.at("device", f"Several devices are in use. Say which one was worn: {names}.")


def _own_device(work: Work, case_number: str, device_id: int) -> tuple[SeenRecipient, DeviceRow]:
    seen = seen_recipient(work, case_number)
    # Locked, so that two people recording a socket at once do so one after the other.
    row = work.session.get(DeviceRow, device_id, with_for_update=True)
    if row is None or row.recipient_id != seen.id:
        raise NotFound("There is no such device in this case.")
    return seen, row


def _own_socket(work: Work, case_number: str, device_id: int, socket_id: int) -> tuple[SeenRecipient, SocketRow]:
    seen, row = _own_device(work, case_number, device_id)
    socket = work.session.get(SocketRow, socket_id)
    if socket is None or socket.device_id != row.id:
        raise NotFound("There is no such socket in this device.")
    return seen, socket


def _socket_view(work: Work, case_number: str, socket: SocketRow) -> SocketView:
    return next(each for each in device(work, case_number, socket.device_id).sockets if each.id == socket.id)


def _record(
    work: Work, seen: SeenRecipient, act: str, subject: str, subject_id: int, *, changes: dict[str, Any] | None = None
) -> None:
    note(work, act, subject, subject_id=subject_id, recipient_id=seen.id, changes=changes)
    _follow_up(work, seen)


def _follow_up(work: Work, seen: SeenRecipient) -> None:
    ask_for_forecast(work, seen.id)
    work.session.flush()  # the view that is answered reads what was just written


def _plain(value: Any) -> Any:
    return value if isinstance(value, str | int | None) else str(value)
