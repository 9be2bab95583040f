"""REST face of requests."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.requests import actions, queries
from service.requests.schemas import (
    AskRequest,
    DecideTriage,
    MarkAnswered,
    Promise,
    RequestEvent,
    RequestFilter,
    RequestLine,
    RequestView,
    Settle,
)
from service.web.edge import reads, writes

router = APIRouter(prefix="/requests", tags=["requests"])


@router.post("", status_code=201)
@writes
def ask(work: Work, command: AskRequest) -> RequestView:
    """Ask for a device, a socket, parts, an adjustment, a colour or advice; asked twice, 409 names the first."""
    return actions.ask(work, command)


@router.get("")
@reads
def requests(work: Work, wanted: Annotated[RequestFilter, Query()]) -> Page[RequestLine]:
    """Requests that are not settled, or those of a state, in the order of triage."""
    return queries.requests(work, wanted)


@router.get("/{request_id}")
@reads
def request(work: Work, request_id: Id) -> RequestView:
    """One request: what is needed, by when and why then, who is waited for, and what was asked back."""
    return queries.request(work, request_id)


@router.get("/{request_id}/history")
@reads
def history(work: Work, request_id: Id) -> Page[RequestEvent]:
    """What was done to a request, newest first."""
    return Page(items=queries.request_history(work, request_id))


@router.post("/{request_id}/triage")
@writes
def decide_triage(work: Work, request_id: Id, command: DecideTriage) -> RequestView:
    """Put a request in another place, with a reason; rank null goes back to what follows from the facts."""
    return actions.decide_triage(work, request_id, command)


@router.post("/{request_id}/promise")
@writes
def promise(work: Work, request_id: Id, command: Promise) -> RequestView:
    """Record by when the family was promised it."""
    return actions.promise(work, request_id, command)


@router.post("/{request_id}/close")
@writes
def close(work: Work, request_id: Id, command: Settle) -> RequestView:
    """Close a request without what it asked for, and say why."""
    return actions.close_request(work, request_id, command)


@router.post("/{request_id}/answered")
@writes
def answered(work: Work, request_id: Id, command: MarkAnswered) -> RequestView:
    """Record that what was asked for is handed over."""
    return actions.mark_answered(work, request_id, command)
