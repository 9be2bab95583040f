"""HTML face of recording parts: one form an act, so that each fits a phone and nothing typed is lost."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.assembly import actions, showing
from service.assembly.posted import said, said_of_socket
from service.assembly.schemas import (
    AddPrintedSocket,
    EndPlace,
    MovePart,
    PutPart,
    PutPartBack,
    ReplacePart,
    StrikePlace,
)
from service.devices.actions import may_keep_devices
from service.kit.schema import Id
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/recipients/{case_number}")

PLACE = "/parts-in-place/{place}"
PRINTED: Literal["printed"] = "printed"
BOUGHT: Literal["bought"] = "bought"
How = Annotated[Literal["printed", "bought"], Query()]
Whose = Annotated[str, Query(alias="case", max_length=40)]


@router.get("/devices/{device}/parts/new")
@reads
def put_form(work: Work, request: Request, case_number: str, device: Id, how: How = PRINTED) -> Response:
    """The form for a part that was put in place, printed or bought."""
    may_keep_devices(work)
    context = showing.new_part(work, case_number, device, bought=how == BOUGHT)
    return render(request, "assembly/put.html", {**context, **UNTOUCHED})


@router.post("/devices/{device}/parts/new")
@writes
def put_part(work: Work, case_number: str, device: Id, form: Posted, how: How = PRINTED) -> Response:
    """Record a part that was put in place."""
    with shown_again(
        "assembly/put.html", form, lambda: showing.new_part(work, case_number, device, bought=how == BOUGHT)
    ):
        actions.put_part(work, case_number, device, command(PutPart, said(form, printed=how == PRINTED)))
    return _to_device(case_number, device, "part-put")


@router.get("/devices/{device}/sockets/printed")
@reads
def socket_form(work: Work, request: Request, case_number: str, device: Id) -> Response:
    """The form for a fitted socket that was printed from a version made for this person."""
    may_keep_devices(work)
    return render(request, "assembly/socket.html", {**showing.new_socket(work, case_number, device), **UNTOUCHED})


@router.post("/devices/{device}/sockets/printed")
@writes
def add_printed_socket(work: Work, case_number: str, device: Id, form: Posted) -> Response:
    """Record a printed socket and the limits that follow from its file."""
    with shown_again("assembly/socket.html", form, lambda: showing.new_socket(work, case_number, device)):
        actions.add_printed_socket(work, case_number, device, command(AddPrintedSocket, said_of_socket(form)))
    return _to_device(case_number, device, "socket-recorded")


@router.get(f"{PLACE}/end")
@reads
def end_form(work: Work, request: Request, case_number: str, place: Id) -> Response:
    """The form for a part that came off."""
    may_keep_devices(work)
    return render(request, "assembly/end.html", {**showing.of_place(work, case_number, place), **UNTOUCHED})


@router.post(f"{PLACE}/end")
@writes
def end_place(work: Work, case_number: str, place: Id, form: Posted) -> Response:
    """Record that a part came off."""
    with shown_again("assembly/end.html", form, lambda: showing.of_place(work, case_number, place)):
        ended = actions.end_place(work, case_number, place, command(EndPlace, filled(form)))
    return _to_device(case_number, ended.device, "part-off")


@router.get(f"{PLACE}/replace")
@reads
def replace_form(work: Work, request: Request, case_number: str, place: Id) -> Response:
    """The form for a part that was put in place of another: what fits, and why other versions do not."""
    may_keep_devices(work)
    return render(request, "assembly/replace.html", {**showing.replacing(work, case_number, place), **UNTOUCHED})


@router.post(f"{PLACE}/replace")
@writes
def replace_part(work: Work, case_number: str, place: Id, form: Posted) -> Response:
    """Record that a part came off and another was put in its place."""
    with shown_again("assembly/replace.html", form, lambda: showing.replacing(work, case_number, place)):
        new = actions.replace_part(work, case_number, place, command(ReplacePart, said(form)))
    return _to_device(case_number, new.device, "part-replaced")


@router.get(f"{PLACE}/move")
@reads
def move_form(work: Work, request: Request, case_number: str, place: Id, whose: Whose = "") -> Response:
    """The form for a part that went into another device, of this person or of the one whose case number is given."""
    may_keep_devices(work)
    return render(request, "assembly/move.html", {**showing.moving(work, case_number, place, whose), **UNTOUCHED})


@router.post(f"{PLACE}/move")
@writes
def move_part(work: Work, case_number: str, place: Id, form: Posted, whose: Whose = "") -> Response:
    """Record that a part went into another device."""
    with shown_again("assembly/move.html", form, lambda: showing.moving(work, case_number, place, whose)):
        there = actions.move_part(work, case_number, place, command(MovePart, filled(form)))
    return _to_device(there.case_number, there.device, "part-moved")


@router.get(f"{PLACE}/strike")
@reads
def strike_form(work: Work, request: Request, case_number: str, place: Id) -> Response:
    """The form that strikes a part through which never was in place."""
    may_keep_devices(work)
    return render(request, "assembly/strike.html", {**showing.of_place(work, case_number, place), **UNTOUCHED})


@router.post(f"{PLACE}/strike")
@writes
def strike_place(work: Work, case_number: str, place: Id, form: Posted) -> Response:
    """Strike a part through that was recorded by mistake."""
    with shown_again("assembly/strike.html", form, lambda: showing.of_place(work, case_number, place)):
        struck = actions.strike_place(work, case_number, place, command(StrikePlace, filled(form)))
    return _to_device(case_number, struck.device, "part-struck")


@router.get(f"{PLACE}/put-back")
@reads
def put_back_form(work: Work, request: Request, case_number: str, place: Id) -> Response:
    """The form for a part that had not come off after all."""
    may_keep_devices(work)
    return render(request, "assembly/put_back.html", {**showing.of_place(work, case_number, place), **UNTOUCHED})


@router.post(f"{PLACE}/put-back")
@writes
def put_part_back(work: Work, case_number: str, place: Id, form: Posted) -> Response:
    """Record that a part is in place after all."""
    with shown_again("assembly/put_back.html", form, lambda: showing.of_place(work, case_number, place)):
        back = actions.put_part_back(work, case_number, place, command(PutPartBack, filled(form)))
    return _to_device(case_number, back.device, "part-back")


def _to_device(case_number: str, device: int, done: str) -> Response:
    return RedirectResponse(f"/recipients/{case_number}/devices/{device}?done={done}", 303)
