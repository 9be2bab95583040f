"""HTML face of what devices are made of: a device, a day, a part and its acts, and who wears what."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from starlette.datastructures import FormData

from service.access.work import Work
from service.assembly import showing
from service.assembly.schemas import OnDay, WornFilter
from service.kit.schema import Id
from service.web.edge import reads
from service.web.forms import UNTOUCHED, command, shown_again
from service.web.render import render

router = APIRouter()

CASE = "/recipients/{case_number}"


@router.get(f"{CASE}/devices/{{device}}")
@reads
def device(work: Work, request: Request, case_number: str, device: Id) -> Response:
    """A device: drawn, its parts, its socket in place with its limits, its history and its settings."""
    return render(request, "devices/device.html", showing.of_device(work, case_number, device))


@router.get(f"{CASE}/parts")
@reads
def day(work: Work, request: Request, case_number: str) -> Response:
    """What every device of a recipient was made of on a day."""
    asked = FormData(request.query_params)
    with shown_again("assembly/day.html", asked, lambda: showing.on_a_day(work, case_number, None)):
        wanted = command(OnDay, {"on": asked.get("on")})
        return render(request, "assembly/day.html", {**showing.on_a_day(work, case_number, wanted.on), **UNTOUCHED})


@router.get(f"{CASE}/parts-in-place/{{place}}")
@reads
def part(work: Work, request: Request, case_number: str, place: Id) -> Response:
    """A part: what it is made of, where it has been, and what may replace it."""
    return render(request, "assembly/part.html", showing.of_part(work, case_number, place))


@router.get("/lots/{lot}/worn")
@reads
def lot_worn(work: Work, request: Request, lot: Id, wanted: Annotated[WornFilter, Query()]) -> Response:
    """Who wears something made from a lot."""
    return render(request, "assembly/worn.html", showing.who_wears(work, wanted, lot=lot))


@router.get("/parts/versions/{version}/worn")
@reads
def version_worn(work: Work, request: Request, version: Id, wanted: Annotated[WornFilter, Query()]) -> Response:
    """Who wears something printed from a version."""
    return render(request, "assembly/worn.html", showing.who_wears(work, wanted, version=version))
