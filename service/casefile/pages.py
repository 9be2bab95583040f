"""HTML face of the work list and of the case page."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.permissions import May
from service.access.work import Work
from service.accounts.queries import sites
from service.casefile import queries
from service.casefile.beside import beside
from service.casefile.casepage import case_context
from service.casefile.rules import Kind
from service.casefile.schemas import WorkFilter
from service.kit.schema import Day
from service.web.charts import ruler
from service.web.edge import reads
from service.web.render import render

router = APIRouter()

LIST_LENGTH = 25


@router.get("/work-list")
@reads
def work_list(work: Work, request: Request, wanted: Annotated[WorkFilter, Query()]) -> Response:
    """What is to be done, one kind at a time: sockets unless another is asked for."""
    shown = wanted.model_copy(update={"kind": wanted.kind or Kind.SOCKET_DUE, "limit": LIST_LENGTH})
    page = queries.work_list(work, shown)
    context = {
        "items": page.items,
        "beside": beside(work),
        "rulers": [ruler(work.today, item.due, item.start_by) for item in page.items],
        "counts": queries.work_counts(work, wanted),
        "wanted": shown,
        "sites": [(site.code, site.name) for site in sites(work)],
        "address": lambda **changes: _address(shown, **changes),
        "older": page.next and _address(shown, cursor=page.next),
    }
    return render(request, "casefile/work_list.html", context)


@router.get("/recipients/{case_number}")
@reads
def case(work: Work, request: Request, case_number: str, before: Day | None = None) -> Response:
    """Who somebody is, what they wear, when it will be tight, what to do next, and what has happened."""
    found = queries.case_file(work, case_number)
    may_correct = work.actor.can(May.RECORD_MEASUREMENTS)
    return render(request, "casefile/case.html", case_context(found, work.today, before, may_correct=may_correct))


def _address(wanted: WorkFilter, **changes: str | None) -> str:
    """The address of the list as it is wanted, but for some changes; it begins with the first page."""
    asked = {**wanted.model_dump(mode="json", exclude={"cursor", "limit"}), **changes}
    return "/work-list?" + urlencode({name: value for name, value in asked.items() if value})
