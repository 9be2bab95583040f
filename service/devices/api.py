"""REST face of devices, sockets in place, sock reports and control settings."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.devices import actions, queries
from service.devices.schemas import (
    AddDevice,
    AddSetting,
    AddSocket,
    ChangeDevice,
    DeviceHistory,
    DeviceView,
    EndSocket,
    PutBack,
    ReportSocks,
    SettingView,
    SocketView,
    SockReportView,
    StrikeReport,
)
from service.kit.paging import Listing, Page
from service.kit.schema import Id
from service.web.edge import reads, writes

router = APIRouter(prefix="/recipients/{case_number}", tags=["devices"])


@router.post("/devices", status_code=201)
@writes
def add_device(work: Work, case_number: str, command: AddDevice) -> DeviceHistory:
    """Record a device."""
    return actions.add_device(work, case_number, command)


@router.get("/devices")
@reads
def devices(work: Work, case_number: str) -> Page[DeviceView]:
    """Every device of a recipient, those in use first."""
    return Page(items=queries.devices(work, case_number))


@router.get("/devices/{device}")
@reads
def device(work: Work, case_number: str, device: Id) -> DeviceHistory:
    """One device with all its sockets and settings."""
    return queries.device(work, case_number, device)


@router.patch("/devices/{device}")
@writes
def change_device(work: Work, case_number: str, device: Id, command: ChangeDevice) -> DeviceHistory:
    """Change a device's particulars or its use; what is left out stays."""
    return actions.change_device(work, case_number, device, command)


@router.post("/devices/{device}/sockets", status_code=201)
@writes
def add_socket(work: Work, case_number: str, device: Id, command: AddSocket) -> SocketView:
    """Record a fitted socket and its limits."""
    return actions.add_socket(work, case_number, device, command)


@router.post("/devices/{device}/sockets/{socket}/end")
@writes
def end_socket(work: Work, case_number: str, device: Id, socket: Id, command: EndSocket) -> SocketView:
    """Record that a socket came off for good, or that it was recorded by mistake."""
    return actions.end_socket(work, case_number, device, socket, command)


@router.post("/devices/{device}/sockets/{socket}/put-back")
@writes
def put_back_socket(work: Work, case_number: str, device: Id, socket: Id, command: PutBack) -> SocketView:
    """Record that a socket which had come off is worn after all."""
    return actions.put_back_socket(work, case_number, device, socket, command)


@router.post("/devices/{device}/settings", status_code=201)
@writes
def add_setting(work: Work, case_number: str, device: Id, command: AddSetting) -> SettingView:
    """Record a control setting."""
    return actions.add_setting(work, case_number, device, command)


@router.get("/devices/{device}/settings")
@reads
def settings(work: Work, case_number: str, device: Id) -> Page[SettingView]:
    """A device's control settings, newest first; `current` marks the newest of each name."""
    return Page(items=queries.settings(work, case_number, device))


@router.post("/sock-reports", status_code=201)
@writes
def report_socks(work: Work, case_number: str, command: ReportSocks) -> SockReportView:
    """Report the socks worn together on a day."""
    return actions.report_socks(work, case_number, command)


@router.get("/sock-reports")
@reads
def sock_reports(work: Work, case_number: str, wanted: Annotated[Listing, Query()]) -> Page[SockReportView]:
    """Sock reports in the order they were recorded, newest first."""
    return queries.sock_reports(work, case_number, wanted)


@router.post("/sock-reports/{report}/strike")
@writes
def strike_report(work: Work, case_number: str, report: Id, command: StrikeReport) -> SockReportView:
    """Strike a sock report through; it stays on record and counts no more."""
    return actions.strike_report(work, case_number, report, command)
