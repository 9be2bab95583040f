"""What a family says when a safety notice concerns a device of its own: one tap, on the first page."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.family.door import Door, by_link
from service.kit.schema import Id
from service.notices.actions import answer_for_own
from service.notices.schemas import SayOfNotice
from service.web.edge import writes
from service.web.forms import Posted, command, filled

router = APIRouter(prefix="/family/{token}")


@router.post("/notices/{notice}")
@writes
@by_link
def say_of_notice(work: Work, request: Request, door: Door, notice: Id, form: Posted) -> Response:  # noqa: ARG001
    """Keep what they say, and show the first page again, which says it back."""
    answer_for_own(work, notice, command(SayOfNotice, filled(form)).answer)
    return RedirectResponse(door.home, 303)
