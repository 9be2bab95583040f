"""HTML face of what hurts, of incidents and of concerns."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.accounts.queries import sites
from service.kit.paging import Listing
from service.kit.schema import Id
from service.recipients.queries import seen_recipient
from service.safety import actions, queries
from service.safety.limits import skin_limits
from service.safety.rules import Clock, IncidentKind
from service.safety.schemas import (
    CloseConcern,
    CloseIncident,
    FinishReview,
    IncidentFilter,
    JudgeIncident,
    RaiseConcern,
    ReportIncident,
)
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()


@router.get("/safety")
@reads
def to_look_at(work: Work, request: Request, wanted: Annotated[Listing, Query()]) -> Response:
    """What somebody should look at, and what was judged before."""
    judged = queries.incidents(work, IncidentFilter(judged=True, **wanted.model_dump()))
    context = {"waiting": queries.to_look_at(work), "judged": judged.items, "older": judged.next}
    return render(request, "safety/list.html", context)


@router.get("/safety/skin")
@reads
def skin_table(work: Work, request: Request) -> Response:
    """What is said about the skin, the limits in use, and what comes before them."""
    found = queries.skin_table(work, skin_limits(frame(request).settings))
    return render(request, "safety/skin.html", {"table": found})


@router.get("/recipients/{case_number}/incidents/new")
@reads
def incident_form(work: Work, request: Request, case_number: str) -> Response:
    """The form for something that hurt somebody or could have."""
    actions.may_report(work)
    return render(request, "safety/report.html", {**_report_context(work, case_number), **UNTOUCHED})


@router.post("/recipients/{case_number}/incidents/new")
@writes
def report_incident(work: Work, case_number: str, form: Posted) -> Response:
    """Open an incident."""
    with shown_again("safety/report.html", form, lambda: _report_context(work, case_number)):
        opened = actions.report_incident(work, case_number, command(ReportIncident, filled(form)))
    return RedirectResponse(f"/incidents/{opened}?done=incident-opened", 303)


@router.get("/incidents/{incident}")
@reads
def incident(work: Work, request: Request, incident: Id) -> Response:
    """An incident: what happened, who judged it, and by when it would have to be reported."""
    return render(request, "safety/incident.html", {**_incident_context(work, incident), **UNTOUCHED})


@router.post("/incidents/{incident}")
@writes
def judge(work: Work, incident: Id, form: Posted) -> Response:
    """Judge an incident."""
    with shown_again("safety/incident.html", form, lambda: _incident_context(work, incident)):
        actions.judge(work, incident, command(JudgeIncident, _judgement(filled(form))))
    return RedirectResponse(f"/incidents/{incident}?done=incident-judged", 303)


@router.post("/incidents/{incident}/close")
@writes
def close_incident(work: Work, incident: Id, form: Posted) -> Response:
    """Close an incident."""
    with shown_again("safety/incident.html", form, lambda: _incident_context(work, incident)):
        actions.close_incident(work, incident, command(CloseIncident, filled(form)))
    return RedirectResponse(f"/incidents/{incident}?done=incident-closed", 303)


@router.get("/reviews/{review}")
@reads
def review(work: Work, request: Request, review: Id) -> Response:
    """What somebody should look at, and what was found."""
    return render(request, "safety/review.html", {"review": queries.review(work, review), **UNTOUCHED})


@router.post("/reviews/{review}")
@writes
def finish_review(work: Work, review: Id, form: Posted) -> Response:
    """Record what was found."""
    with shown_again("safety/review.html", form, lambda: {"review": queries.review(work, review)}):
        actions.finish_review(work, review, command(FinishReview, filled(form)))
    return RedirectResponse("/safety?done=review-done", 303)


@router.get("/concerns")
@reads
def concerns(work: Work, request: Request, wanted: Annotated[Listing, Query()]) -> Response:
    """Concerns, for the safeguarding lead."""
    return render(request, "safety/concerns.html", {"page": queries.concerns(work, wanted)})


@router.get("/concerns/new")
@reads
def concern_form(work: Work, request: Request) -> Response:
    """The form for a concern."""
    actions.may_raise(work)
    return render(request, "safety/raise.html", {**_raise_context(work), **UNTOUCHED})


@router.post("/concerns/new")
@writes
def raise_concern(work: Work, request: Request, form: Posted) -> Response:
    """Pass a concern on. The answer has no address: nothing in the browser leads to it."""
    with shown_again("safety/raise.html", form, lambda: _raise_context(work)):
        taken = actions.raise_concern(work, command(RaiseConcern, filled(form)))
    return render(request, "safety/raised.html", {"taken": taken}, status=201)


@router.get("/concerns/{concern}")
@writes
def concern(work: Work, request: Request, concern: Id) -> Response:
    """A concern; that it was read is kept with it."""
    return render(request, "safety/concern.html", {"concern": actions.open_concern(work, concern), **UNTOUCHED})


@router.post("/concerns/{concern}")
@writes
def close_concern(work: Work, concern: Id, form: Posted) -> Response:
    """Record what came of a concern."""
    with shown_again("safety/concern.html", form, lambda: {"concern": queries.concern(work, concern)}):
        actions.close_concern(work, concern, command(CloseConcern, filled(form)))
    return RedirectResponse(f"/concerns/{concern}?done=concern-closed", 303)


NOT_SERIOUS = "not"
"""The choice of the form that is no clock."""


def _judgement(given: dict[str, str]) -> dict[str, Any]:
    how = given.pop("how", None)
    if how is not None:
        given |= {"serious": "no"} if how == NOT_SERIOUS else {"serious": "yes", "clock": how}
    return {**given}


def _incident_context(work: Work, incident_id: int) -> dict[str, Any]:
    choices = [(NOT_SERIOUS, "Not serious"), *((each.value, each.label.capitalize()) for each in Clock)]
    return {"incident": queries.incident(work, incident_id), "choices": choices}


def _report_context(work: Work, case_number: str) -> dict[str, Any]:
    kinds = [(each.value, each.label.capitalize()) for each in IncidentKind]
    return {"person": seen_recipient(work, case_number), "kinds": kinds}


def _raise_context(work: Work) -> dict[str, Any]:
    return {"sites": [(each.code, each.name) for each in sites(work)]}
