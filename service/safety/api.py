"""REST face of what hurts, of incidents and of concerns."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request

from service.access.work import Work
from service.kit.paging import Listing, Page
from service.kit.schema import Id
from service.safety import actions, queries
from service.safety.limits import skin_limits
from service.safety.schemas import (
    CloseConcern,
    CloseIncident,
    ConcernTaken,
    ConcernView,
    FinishReview,
    IncidentFilter,
    IncidentView,
    JudgeIncident,
    RaiseConcern,
    ReportIncident,
    ReportIncidentOf,
    ReportSkin,
    ReviewView,
    SkinReported,
    SkinTable,
)
from service.web.edge import frame, reads, writes

router = APIRouter(tags=["safety"])


@router.post("/recipients/{case_number}/skin-reports", status_code=201)
@writes
def report_skin(work: Work, request: Request, case_number: str, command: ReportSkin) -> SkinReported:
    """Report what is seen after taking a device off; answers what to do, first of all."""
    return actions.report_skin(work, case_number, command, skin_limits(frame(request).settings))


@router.get("/skin-table")
@reads
def skin_table(work: Work, request: Request) -> SkinTable:
    """What is said about the skin here: the signs, the limits in use and where they come from."""
    return queries.skin_table(work, skin_limits(frame(request).settings))


@router.post("/recipients/{case_number}/incidents", status_code=201)
@writes
def report_incident(work: Work, case_number: str, command: ReportIncident) -> IncidentView:
    """Report something that hurt somebody or could have."""
    return queries.incident(work, actions.report_incident(work, case_number, command))


@router.post("/incidents", status_code=201)
@writes
def report_incident_of(work: Work, command: ReportIncidentOf) -> IncidentView:
    """Report something that hurt somebody or could have; the body says in which case."""
    return queries.incident(work, actions.report_incident(work, command.case_number, command))


@router.get("/incidents")
@reads
def incidents(work: Work, wanted: Annotated[IncidentFilter, Query()]) -> Page[IncidentView]:
    """Incidents of the cases you may see, newest first."""
    return queries.incidents(work, wanted)


@router.get("/incidents/{incident}")
@reads
def incident(work: Work, incident: Id) -> IncidentView:
    """One incident, with the days to report it by, were it serious."""
    return queries.incident(work, incident)


@router.post("/incidents/{incident}/judgement")
@writes
def judge(work: Work, incident: Id, command: JudgeIncident) -> IncidentView:
    """Judge how serious an incident is; your name stays with it."""
    return actions.judge(work, incident, command)


@router.post("/incidents/{incident}/judgements", status_code=201)
@writes
def add_judgement(work: Work, incident: Id, command: JudgeIncident) -> IncidentView:
    """Judge how serious an incident is; judged again, the last judgement counts and the audit keeps those before."""
    return actions.judge(work, incident, command)


@router.post("/incidents/{incident}/close")
@writes
def close_incident(work: Work, incident: Id, command: CloseIncident) -> IncidentView:
    """Close an incident that was judged, with what came of it; your name stays with it."""
    return actions.close_incident(work, incident, command)


@router.get("/reviews")
@reads
def reviews(work: Work, wanted: Annotated[Listing, Query()]) -> Page[ReviewView]:
    """What somebody should look at, the first due first."""
    return queries.reviews(work, wanted)


@router.get("/reviews/{review}")
@reads
def review(work: Work, review: Id) -> ReviewView:
    """One review."""
    return queries.review(work, review)


@router.post("/reviews/{review}/done")
@writes
def finish_review(work: Work, review: Id, command: FinishReview) -> ReviewView:
    """Record what was found when somebody looked."""
    return actions.finish_review(work, review, command)


@router.post("/concerns", status_code=201)
@writes
def raise_concern(work: Work, command: RaiseConcern) -> ConcernTaken:
    """Pass a worry about a child or somebody of the charity to the safeguarding lead, who alone reads it."""
    return actions.raise_concern(work, command)


@router.get("/concerns")
@reads
def concerns(work: Work, wanted: Annotated[Listing, Query()]) -> Page[ConcernView]:
    """Concerns of your sites, newest first; for the safeguarding lead."""
    return queries.concerns(work, wanted)


@router.get("/concerns/{concern}")
@writes
def concern(work: Work, concern: Id) -> ConcernView:
    """One concern; that it was read is kept with it."""
    return actions.open_concern(work, concern)


@router.post("/concerns/{concern}/close")
@writes
def close_concern(work: Work, concern: Id, command: CloseConcern) -> ConcernView:
    """Record what came of a concern."""
    return actions.close_concern(work, concern, command)
