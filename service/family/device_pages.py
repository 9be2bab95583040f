"""The pages of a family about the device: something broke, how many socks, where is my request. A choice is a tap."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.assembly.answers import PartInPlace
from service.assembly.queries import parts_in_place
from service.assembly.showing import Drawn, drawn
from service.devices.posted import read_report
from service.devices.queries import worn_sockets
from service.devices.schemas import ReportSocks, WornSocket
from service.family import actions
from service.family.door import Door, by_link
from service.family.queries import colours, how_far
from service.family.rules import ASKED_FOR, HAPPENED, PARTS, SOCKS, SOMETHING_ELSE
from service.family.schemas import TellBroken
from service.kit.errors import Invalid
from service.kit.schema import Id
from service.recipients.queries import seen_recipient
from service.requests.queries import requests
from service.requests.schemas import RequestFilter
from service.web.edge import writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/family/{token}")

ALSO = "also-"
"""How the fields begin in which further parts are ticked that went the same way."""

Chosen = Annotated[str | None, Query(max_length=40)]


@router.get("/socks")
@writes
@by_link
def socks(work: Work, request: Request, door: Door, device: Id | None = None, plies: Chosen = None) -> Response:
    """Which device, which socks, then how it feels: one a page, and each a tap."""
    return render(request, "family/socks.html", {**_socks(work, door, device, plies), **UNTOUCHED})


@router.post("/socks")
@writes
@by_link
def tell_socks(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Report the socks worn today, and say back what it means."""
    with shown_again("family/socks.html", form, lambda: _socks(work, door, None, None)):
        told = actions.tell_socks(work, door.family.case_number, command(ReportSocks, read_report(form, work.today)))
    return render(request, "family/socks_told.html", door.context(told=told), status=201)


@router.get("/broken")
@writes
@by_link
def broken(
    work: Work,
    request: Request,
    door: Door,
    *,
    device: Id | None = None,
    part: Chosen = None,
    happened: Chosen = None,
) -> Response:
    """Which part, what happened, then whether it can be used: one a page, and each a tap."""
    return render(request, "family/broken.html", {**_broken(work, door, device, part, happened), **UNTOUCHED})


@router.post("/broken")
@writes
@by_link
def tell_broken(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Ask for what broke."""
    with shown_again("family/broken.html", form, lambda: _again(work, door, filled(form))):
        new = actions.tell_broken(work, door.family.case_number, _told(work, door, filled(form)))
    return render(request, "family/broken_told.html", door.context(new=new), status=201)


@router.get("/requests")
@writes
@by_link
def asked_for(work: Work, request: Request, door: Door) -> Response:
    """Where what was asked for stands."""
    found = requests(work, RequestFilter(case_number=door.family.case_number)).items
    return render(
        request,
        "family/requests.html",
        door.context(found=found, asked_for=ASKED_FOR, how_far=how_far(work), day=door.words.day),
    )


def _socks(work: Work, door: Door, device: int | None, plies: str | None) -> dict[str, Any]:
    worn: list[WornSocket] = worn_sockets(work, [door.family.recipient])
    chosen = device if device is not None or len(worn) != 1 else worn[0].device
    return door.context(worn=worn, device=chosen, plies=plies, usual=SOCKS)


def _made_of(work: Work, door: Door) -> list[Drawn]:
    """The devices as they are made up now, with their parts called as families call them."""
    limbs = seen_recipient(work, door.family.case_number).limbs
    found = parts_in_place(work, door.family.case_number).items
    return [_in_words(drawn(each, limbs), door) for each in found if each.parts and not each.lies_by]


def _in_words(made: Drawn, door: Door) -> Drawn:
    # A number fits on a finger in every language; the list beside the drawing says what it stands for.
    there = [area for area in made.drawing.areas if area.key in PARTS and area.state == "there"]
    areas = (
        replace(area, name=door.words(PARTS[area.key]), label=str(number), word="")
        for number, area in enumerate(there, 1)
    )
    return replace(made, drawing=replace(made.drawing, areas=tuple(areas)))


def _broken(work: Work, door: Door, device: int | None, part: str | None, happened: str | None) -> dict[str, Any]:
    known = part if part in {*PARTS, SOMETHING_ELSE} else None
    made_of = _made_of(work, door)
    beside = [area for made in made_of if made.assembly.device == device for area in made.drawing.areas]
    return door.context(
        made_of=made_of,
        others=[(area.key, area.name) for area in beside if area.key != known],
        colours=colours(work) if known != SOMETHING_ELSE else [],
        device=device,
        part=known,
        called=PARTS.get(known or ""),
        happened=happened if happened in HAPPENED else None,
        parts=PARTS,
        ways=HAPPENED,
    )


def _again(work: Work, door: Door, given: dict[str, str]) -> dict[str, Any]:
    device = given.get("device", "")
    number = int(device) if device.isdecimal() and len(device) < len(str(2**31)) else None
    return _broken(work, door, number, given.get("part"), given.get("happened"))


def _told(work: Work, door: Door, given: dict[str, str]) -> TellBroken:
    """What was chosen, with the part that is drawn there named by its place."""
    area = given.pop("part", SOMETHING_ELSE)
    also = [name.removeprefix(ALSO) for name in list(given) if name.startswith(ALSO) and given.pop(name)]
    if area == SOMETHING_ELSE:
        if not given.get("words"):
            raise Invalid.at("words", "Say in a few words what it is.")
        return command(TellBroken, given)
    device = [made for made in _made_of(work, door) if str(made.assembly.device) == given.get("device")]
    there = {part.area: part for made in device for part in reversed(made.parts)}
    if missing := [each for each in (area, *also) if each not in there]:
        raise Invalid.at("part", f"There is no such part now: {missing[0][:40]}.")
    return command(TellBroken, {**given, "parts": [_which(there[each]) for each in dict.fromkeys((area, *also))]})


def _which(part: PartInPlace) -> dict[str, Any]:
    return {"place": part.place} if part.place else {"kind": part.kind, "digit": part.digit}
