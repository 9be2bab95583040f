"""The page of a case on which a coordinator makes and ends its family's links, and sees to what they said."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.family import actions, queries
from service.family.schemas import MakeLink
from service.kit.schema import Id
from service.recipients.queries import recipient
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/recipients/{case_number}/family")


@router.get("")
@reads
def family(work: Work, request: Request, case_number: str) -> Response:
    """Links, and what the family said."""
    return render(request, "family/links.html", {**_context(work, case_number), **UNTOUCHED, "made": None})


@router.post("")
@writes
def make_link(work: Work, request: Request, case_number: str, form: Posted) -> Response:
    """Make a link; its address is shown on this answer and never again."""
    given = filled(form)
    with shown_again("family/links.html", form, lambda: {**_context(work, case_number), "made": None}):
        asked = command(MakeLink, {**given, "send": "send" in given})
        made = actions.make_link(work, case_number, asked, base_url=frame(request).settings.base_url)
    context = {**_context(work, case_number), **UNTOUCHED, "made": made}
    return render(request, "family/links.html", context, status=201)


@router.post("/links/{link}/end")
@writes
def revoke_link(work: Work, case_number: str, link: Id, _form: Posted) -> Response:
    """End a link at once."""
    actions.revoke_link(work, case_number, link)
    return RedirectResponse(f"/recipients/{case_number}/family?done=link-ended", 303)


@router.post("/words/{said}/settled")
@writes
def settle_said(work: Work, case_number: str, said: Id, _form: Posted) -> Response:
    """Record that what the family said was seen to."""
    actions.settle_said(work, case_number, said)
    return RedirectResponse(f"/recipients/{case_number}/family?done=words-settled", 303)


def _context(work: Work, case_number: str) -> dict[str, Any]:
    found = recipient(work, case_number)
    return {
        "person": found,
        "links": queries.links(work, case_number),
        "said": queries.said(work, case_number),
        "contacts": [(each.id, each.name) for each in found.contacts],
    }
