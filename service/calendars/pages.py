"""A person's own page about their calendar link, and the calendar that a telephone fetches by it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.calendars import actions, queries
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, shown_again
from service.web.problems import plain_problem
from service.web.render import render

router = APIRouter()

PAGE = "calendars/calendar.html"


@router.get("/calendar")
@reads
def own(work: Work, request: Request) -> Response:
    """Whether the actor has a calendar link."""
    return render(request, PAGE, {"feed": queries.feed(work), "made": None, **UNTOUCHED})


@router.post("/calendar")
@writes
def make(work: Work, request: Request, _form: Posted) -> Response:
    """Make a link; its address is shown on this answer and never again."""
    made = actions.make_feed(work, base_url=frame(request).settings.base_url)
    return render(request, PAGE, {"feed": queries.feed(work), "made": made, **UNTOUCHED}, status=201)


@router.post("/calendar/end")
@writes
def end(work: Work, form: Posted) -> Response:
    """End the link."""
    with shown_again(PAGE, form, lambda: {"feed": queries.feed(work), "made": None}):
        actions.end_feed(work)
    return RedirectResponse("/calendar?done=calendar-ended", 303)


@router.get("/calendars/{key}.ics")
@writes
def fetched(work: Work, request: Request, key: str) -> Response:
    """The calendar, for whoever has its link."""
    settings = frame(request).settings
    found = actions.open_feed(work, key, base_url=settings.base_url, name=settings.charity_name)
    if found is None:
        return plain_problem(
            request.scope, 404, "There is nothing here", "This calendar link opens nothing, or no more."
        )
    return Response(found, media_type="text/calendar; charset=utf-8", headers={"Content-Disposition": "inline"})
