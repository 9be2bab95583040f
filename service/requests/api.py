"""REST face of requests."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.requests import actions, queries
from service.requests.arriving import JPEG, SeenPhoto, SentPhoto, by_program, shown
from service.requests.schemas import (
    AnswerQuestion,
    AskBack,
    AskRequest,
    BeginWait,
    DecideTriage,
    JoinRequests,
    MarkAnswered,
    Promise,
    RequestEvent,
    RequestFilter,
    RequestLine,
    RequestView,
    Settle,
    SplitRequest,
)
from service.web.edge import frame, reads, writes

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


@router.post("/{request_id}/photos", status_code=201)
@writes
def add_photo(work: Work, request_id: Id, sent: Annotated[SentPhoto, Depends(by_program)]) -> RequestView:
    """Add a photograph, sent as multipart/form-data; what it shows is kept, and nothing else that was in the file."""
    return actions.add_photo(work, request_id, sent.taken())


@router.get("/{request_id}/photos/{photo}", responses=JPEG, response_class=Response)
def photo(request: Request, name: SeenPhoto) -> Response:
    """A photograph."""
    return shown(frame(request).files, name)


@router.delete("/{request_id}/photos/{photo}", status_code=204)
@writes
def remove_photo(work: Work, request_id: Id, photo: Id) -> None:
    """Take a photograph away, for good."""
    actions.remove_photo(work, request_id, photo)


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


@router.post("/{request_id}/questions", status_code=201)
@writes
def ask_back(work: Work, request_id: Id, command: AskBack) -> RequestView:
    """Ask a question back; the clock stands still until it is answered."""
    return actions.ask_back(work, request_id, command)


@router.post("/{request_id}/questions/{question}/answer")
@writes
def answer(work: Work, request_id: Id, question: Id, command: AnswerQuestion) -> RequestView:
    """Record the answer to a question."""
    return actions.answer(work, request_id, question, command)


@router.post("/{request_id}/waits", status_code=201)
@writes
def begin_wait(work: Work, request_id: Id, command: BeginWait) -> RequestView:
    """Let the clock stand still: say who is waited for, and why."""
    return actions.begin_wait(work, request_id, command)


@router.post("/{request_id}/waits/end")
@writes
def end_wait(work: Work, request_id: Id) -> RequestView:
    """Let the clock go on."""
    return actions.end_wait(work, request_id)


@router.post("/{request_id}/join")
@writes
def join(work: Work, request_id: Id, command: JoinRequests) -> RequestView:
    """Join a request into the one about the same that was asked first; answers that one."""
    return actions.join(work, request_id, command)


@router.post("/{request_id}/split", status_code=201)
@writes
def split(work: Work, request_id: Id, command: SplitRequest) -> RequestView:
    """Make a request of its own of some parts of a request; answers the new one."""
    return actions.split(work, request_id, command)
