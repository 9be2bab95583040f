"""The card that lies on the bench beside a build, as a page that is printed on one sheet."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access.work import Work
from service.gate.queries import job_card
from service.kit.schema import Id
from service.web.edge import frame, reads
from service.web.qr import code
from service.web.render import render

router = APIRouter()


@router.get("/builds/{build_id}/job-card")
@reads
def card(work: Work, request: Request, build_id: Id) -> Response:
    """The job card of a build."""
    return render(request, "builds/job_card.html", _context(work, request, build_id))


def _context(work: Work, request: Request, build_id: int) -> dict[str, Any]:
    address = f"{frame(request).settings.base_url.rstrip('/')}/builds/{build_id}"
    return {"card": job_card(work, build_id), "code": code(address)}
