"""HTML face of what a volunteer was asked so far, and how what they made fared on the bench."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access.work import Work
from service.gate.queries import first_time
from service.kit.schema import Id
from service.matching.queries import history as asked_so_far
from service.web.edge import reads
from service.web.render import render

router = APIRouter()


@router.get("/volunteers/{volunteer}/history")
@reads
def history(work: Work, request: Request, volunteer: Id) -> Response:
    """What a volunteer was asked so far, and made."""
    found = {"history": asked_so_far(work, volunteer), "first_time": first_time(work, volunteer)}
    return render(request, "matching/history.html", found)
