"""REST face of family links."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from service.access.work import Work
from service.family import actions, queries
from service.family.schemas import LinkView, MadeLink, MakeLink, SaidView
from service.kit.paging import Page
from service.kit.schema import Id
from service.web.edge import frame, reads, writes

router = APIRouter(prefix="/recipients/{case_number}", tags=["family"])


@router.post("/family-links", status_code=201)
@writes
def make_link(work: Work, request: Request, case_number: str, command: MakeLink) -> MadeLink:
    """Make a link for a family, and send it if asked to. Its address is answered this once."""
    return actions.make_link(work, case_number, command, base_url=frame(request).settings.base_url)


@router.get("/family-links")
@reads
def links(work: Work, case_number: str) -> Page[LinkView]:
    """The links of a recipient, newest first, without their addresses."""
    return Page(items=queries.links(work, case_number))


@router.delete("/family-links/{link}", status_code=204)
@writes
def revoke_link(work: Work, case_number: str, link: Id) -> Response:
    """End a link at once."""
    actions.revoke_link(work, case_number, link)
    return Response(status_code=204)


@router.get("/family-words")
@reads
def said(work: Work, case_number: str) -> Page[SaidView]:
    """What the family said that is no request, newest first."""
    return Page(items=queries.said(work, case_number))
