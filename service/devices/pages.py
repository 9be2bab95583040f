"""HTML face of devices: one form a page, so that each fits a phone and nothing typed is lost."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.devices import actions, queries
from service.devices.limit_rows import Limited
from service.devices.posted import limits_at_their_rows, read_report, read_socket
from service.devices.rules import LIMIT_DIMENSIONS, EndReason, Use
from service.devices.schemas import (
    AddDevice,
    AddSetting,
    AddSocket,
    ChangeDevice,
    EndSocket,
    LimitView,
    PutBack,
    ReportSocks,
    StrikeReport,
)
from service.devices.showing import device_context
from service.kit.errors import NotFound
from service.kit.schema import Id
from service.measurements.queries import readings_for
from service.recipients.queries import seen_recipient
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/recipients/{case_number}")


@router.get("/socks")
@reads
def socks_form(work: Work, request: Request, case_number: str) -> Response:
    """The form for the socks worn today."""
    actions.may_report_socks(work)
    return render(request, "devices/socks.html", {**_socks_context(work, case_number), **UNTOUCHED})


@router.post("/socks")
@writes
def report_socks(work: Work, case_number: str, form: Posted) -> Response:
    """Report the socks worn on a day."""
    with shown_again("devices/socks.html", form, lambda: _socks_context(work, case_number)):
        actions.report_socks(work, case_number, command(ReportSocks, read_report(form, work.today)))
    return RedirectResponse(f"/recipients/{case_number}?done=socks-reported", 303)


@router.get("/socks/{report}/strike")
@reads
def strike_form(work: Work, request: Request, case_number: str, report: Id) -> Response:
    """The form that strikes a sock report through."""
    actions.may_report_socks(work)
    return render(request, "devices/strike.html", {**_strike_context(work, case_number, report), **UNTOUCHED})


@router.post("/socks/{report}/strike")
@writes
def strike_report(work: Work, case_number: str, report: Id, form: Posted) -> Response:
    """Strike a sock report through."""
    with shown_again("devices/strike.html", form, lambda: _strike_context(work, case_number, report)):
        struck = actions.strike_report(work, case_number, report, command(StrikeReport, filled(form)))
    return _to_device(case_number, struck.device, "socks-struck")


@router.get("/devices/new")
@reads
def new_form(work: Work, request: Request, case_number: str) -> Response:
    """The form for a new device."""
    actions.may_keep_devices(work)
    return render(request, "devices/new.html", {**_new_context(work, case_number), **UNTOUCHED})


@router.post("/devices/new")
@writes
def add_device(work: Work, case_number: str, form: Posted) -> Response:
    """Record a device."""
    with shown_again("devices/new.html", form, lambda: _new_context(work, case_number)):
        made = actions.add_device(work, case_number, command(AddDevice, filled(form)))
    return _to_device(case_number, made.id, "device-recorded")


@router.get("/devices/{device}/change")
@reads
def change_form(work: Work, request: Request, case_number: str, device: Id) -> Response:
    """The form for a device's particulars and use."""
    actions.may_keep_devices(work)
    context = device_context(work, case_number, device)
    typed = context["device"].model_dump(
        mode="json", include={"purpose", "note", "use", "stopped_why", "stopped_reason", "stopped_on"}
    )
    return render(request, "devices/change.html", {**context, **UNTOUCHED, "typed": typed})


@router.post("/devices/{device}/change")
@writes
def change_device(work: Work, case_number: str, device: Id, form: Posted) -> Response:
    """Change a device; a reason and a day left over from an earlier stop mean nothing for one that is used."""
    with shown_again("devices/change.html", form, lambda: device_context(work, case_number, device)):
        given = {"purpose": "", "note": "", **filled(form)}
        if given.get("use") != Use.STOPPED:
            given = {name: value for name, value in given.items() if not name.startswith("stopped_")}
        actions.change_device(work, case_number, device, command(ChangeDevice, given))
    return _to_device(case_number, device, "device-changed")


@router.get("/devices/{device}/sockets/new")
@reads
def socket_form(work: Work, request: Request, case_number: str, device: Id) -> Response:
    """The form for a fitted socket."""
    actions.may_keep_devices(work)
    return render(request, "devices/socket.html", {**_socket_context(work, case_number, device), **UNTOUCHED})


@router.post("/devices/{device}/sockets/new")
@writes
def add_socket(work: Work, case_number: str, device: Id, form: Posted) -> Response:
    """Record a fitted socket and its limits."""
    with shown_again("devices/socket.html", form, lambda: _socket_context(work, case_number, device)):
        values, rows = read_socket(form)
        with limits_at_their_rows(rows):
            actions.add_socket(work, case_number, device, command(AddSocket, values))
    return _to_device(case_number, device, "socket-recorded")


@router.get("/devices/{device}/sockets/{socket}/end")
@reads
def end_form(work: Work, request: Request, case_number: str, device: Id, socket: Id) -> Response:
    """The form for a socket that came off for good, or was recorded by mistake."""
    actions.may_keep_devices(work)
    return render(request, "devices/end.html", {**_end_context(work, case_number, device, socket), **UNTOUCHED})


@router.post("/devices/{device}/sockets/{socket}/end")
@writes
def end_socket(work: Work, case_number: str, device: Id, socket: Id, form: Posted) -> Response:
    """Record that a socket came off for good, or was recorded by mistake."""
    with shown_again("devices/end.html", form, lambda: _end_context(work, case_number, device, socket)):
        ended = actions.end_socket(work, case_number, device, socket, command(EndSocket, filled(form)))
    return _to_device(case_number, device, "socket-struck" if ended.end_reason is EndReason.MISTAKE else "socket-ended")


@router.get("/devices/{device}/sockets/{socket}/put-back")
@reads
def put_back_form(work: Work, request: Request, case_number: str, device: Id, socket: Id) -> Response:
    """The form for a socket that is worn after all."""
    actions.may_keep_devices(work)
    return render(request, "devices/put_back.html", {**_end_context(work, case_number, device, socket), **UNTOUCHED})


@router.post("/devices/{device}/sockets/{socket}/put-back")
@writes
def put_back_socket(work: Work, case_number: str, device: Id, socket: Id, form: Posted) -> Response:
    """Record that a socket is worn after all."""
    with shown_again("devices/put_back.html", form, lambda: _end_context(work, case_number, device, socket)):
        actions.put_back_socket(work, case_number, device, socket, command(PutBack, filled(form)))
    return _to_device(case_number, device, "socket-put-back")


@router.get("/devices/{device}/settings/new")
@reads
def setting_form(work: Work, request: Request, case_number: str, device: Id) -> Response:
    """The form for a control setting."""
    actions.may_keep_devices(work)
    return render(request, "devices/setting.html", {**device_context(work, case_number, device), **UNTOUCHED})


@router.post("/devices/{device}/settings/new")
@writes
def add_setting(work: Work, case_number: str, device: Id, form: Posted) -> Response:
    """Record a control setting."""
    with shown_again("devices/setting.html", form, lambda: device_context(work, case_number, device)):
        actions.add_setting(work, case_number, device, command(AddSetting, filled(form)))
    return _to_device(case_number, device, "setting-recorded")


def _to_device(case_number: str, device: int, done: str) -> Response:
    return RedirectResponse(f"/recipients/{case_number}/devices/{device}?done={done}", 303)


def _socks_context(work: Work, case_number: str) -> dict[str, Any]:
    person = seen_recipient(work, case_number)
    devices = [each for each in queries.devices(work, case_number) if each.use is Use.IN_USE and each.socket]
    reports = [report for worn in queries.worn_sockets(work, [person.id]) for report in worn.reports]
    last = max(reports, key=lambda report: (report.on, report.id), default=None)
    return {"person": person, "devices": devices, "last": last}


def _strike_context(work: Work, case_number: str, report: int) -> dict[str, Any]:
    return {"person": seen_recipient(work, case_number), "report": queries.sock_report(work, case_number, report)}


def _new_context(work: Work, case_number: str) -> dict[str, Any]:
    return {"person": seen_recipient(work, case_number), "devices": queries.devices(work, case_number)}


def _end_context(work: Work, case_number: str, device: int, socket: int) -> dict[str, Any]:
    context = device_context(work, case_number, device)
    found = [each for each in context["device"].sockets if each.id == socket]
    if not found:
        raise NotFound("There is no such socket in this device.")
    return {**context, "socket": found[0]}


def _socket_context(work: Work, case_number: str, device: int) -> dict[str, Any]:
    context = device_context(work, case_number, device)
    person, shown = context["person"], context["device"]
    before: list[LimitView] = next((each.limits for each in shown.sockets if not each.mistaken), [])
    readings = readings_for(work, [person.id])[person.id]
    rows = Limited(shown.side, person.limbs.get(shown.side), before, readings, work.today).rows()
    return {**context, "rows": rows, "drawn": [row.drawn for row in rows if row.drawn], "dimensions": LIMIT_DIMENSIONS}
