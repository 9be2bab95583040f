"""HTML face of requests: one list, a page for each, and the forms that ask and settle."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.kit.schema import Id
from service.requests import actions, posted, showing
from service.requests.arriving import SeenPhoto, SentPhoto, by_form, shown
from service.requests.posted import Act
from service.requests.schemas import AnswerQuestion, RequestFilter
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()

NEW = "/recipients/{case_number}/requests/new"


@router.get("/requests")
@reads
def requests(work: Work, request: Request, wanted: Annotated[RequestFilter, Query()]) -> Response:
    """What is asked for, in the order of triage."""
    return render(request, "requests/list.html", showing.of_list(work, wanted))


@router.get(NEW)
@reads
def new_form(work: Work, request: Request, case_number: str, device: Id | None = None) -> Response:
    """The form that asks for something."""
    actions.may_ask(work)
    return render(request, "requests/new.html", {**showing.of_new(work, case_number, device), **UNTOUCHED})


@router.post(NEW)
@writes
def ask(work: Work, form: Posted, case_number: str, device: Id | None = None) -> Response:
    """Ask for something."""
    with shown_again("requests/new.html", form, lambda: showing.of_new(work, case_number, device)):
        found = actions.ask(work, posted.asked(form, case_number))
    return _to_request(found.id, "request-opened")


@router.get("/requests/{request_id}")
@reads
def one(work: Work, request: Request, request_id: Id) -> Response:
    """A request: what is needed, why it ranks where it does, who is waited for, and what was done."""
    return render(request, "requests/request.html", {**showing.of_request(work, request_id), **UNTOUCHED})


@router.post("/requests/{request_id}/questions/{question}/answer")
@writes
def answer(work: Work, form: Posted, request_id: Id, question: Id) -> Response:
    """Record the answer to a question."""
    with shown_again("requests/request.html", form, lambda: showing.of_request(work, request_id)):
        actions.answer(work, request_id, question, command(AnswerQuestion, filled(form)))
    return _to_request(request_id, "question-answered")


@router.post("/requests/{request_id}/photos")
@writes
def add_photo(work: Work, request_id: Id, form: Posted, sent: Annotated[SentPhoto, Depends(by_form)]) -> Response:
    """Add a photograph."""
    with shown_again("requests/request.html", form, lambda: showing.of_request(work, request_id)):
        actions.add_photo(work, request_id, sent.taken())
    return _to_request(request_id, "photo-added")


@router.get("/requests/{request_id}/photos/{photo}")
def photo(request: Request, name: SeenPhoto) -> Response:
    """A photograph."""
    return shown(frame(request).files, name)


@router.post("/requests/{request_id}/photos/{photo}/remove")
@writes
def remove_photo(work: Work, _form: Posted, request_id: Id, photo: Id) -> Response:
    """Take a photograph away."""
    actions.remove_photo(work, request_id, photo)
    return _to_request(request_id, "photo-removed")


@router.post("/requests/{request_id}/wait-over")
@writes
def end_wait(work: Work, form: Posted, request_id: Id) -> Response:
    """Let the clock go on."""
    with shown_again("requests/request.html", form, lambda: showing.of_request(work, request_id)):
        actions.end_wait(work, request_id)
    return _to_request(request_id, "wait-over")


@router.get("/requests/{request_id}/{act}")
@reads
def act_form(work: Work, request: Request, request_id: Id, act: Act) -> Response:
    """The form for something that is done to a request, and what follows from it."""
    (actions.may_order if act.is_for_those_who_order else actions.may_ask)(work)
    return render(request, "requests/act.html", {**showing.of_act(work, request_id, act), **UNTOUCHED})


@router.post("/requests/{request_id}/{act}")
@writes
def do(work: Work, form: Posted, request_id: Id, act: Act) -> Response:
    """Do something to a request."""
    with shown_again("requests/act.html", form, lambda: showing.of_act(work, request_id, act)):
        found = posted.DOES[act](work, request_id, form)
    return _to_request(found.id, f"request-{act.value}")


def _to_request(request_id: int, done: str) -> Response:
    return RedirectResponse(f"/requests/{request_id}?done={done}", 303)
