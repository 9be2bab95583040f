"""HTML face of follow-ups: whom to ask, a form for a call or a visit, and what was said."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.kit.schema import Id
from service.outcomes import actions, queries, showing
from service.outcomes.posted import follow_up_values
from service.outcomes.schemas import AddQuestionnaireScore, RecordFollowUp, SeeToFollowUp, StrikeFollowUp
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()

CASE = "/recipients/{case_number}/follow-ups"
AHEAD = 14
"""The list looks so many days ahead."""

Which = Annotated[Id | None, Query()]


@router.get("/follow-ups")
@reads
def due(work: Work, request: Request) -> Response:
    """Whom to ask how it goes, the longest due first; before it, which devices are said not to be used any more."""
    context = {"due": queries.due(work, AHEAD), "stopped": queries.said_stopped(work)}
    return render(request, "outcomes/due.html", context)


@router.get(CASE)
@reads
def follow_ups(work: Work, request: Request, case_number: str) -> Response:
    """How somebody gets on with each device, ask by ask."""
    return render(request, "outcomes/follow_ups.html", showing.of_case(work, case_number))


@router.get(f"{CASE}/new")
@reads
def asking_form(work: Work, request: Request, case_number: str, device: Which = None) -> Response:
    """The form for a call or a visit."""
    actions.may_record(work)
    return render(request, "outcomes/ask.html", {**showing.of_asking(work, case_number, device), **UNTOUCHED})


@router.post(f"{CASE}/new")
@writes
def record_follow_up(work: Work, case_number: str, form: Posted) -> Response:
    """Record what came of asking; what to tell them is said first of all."""
    with shown_again("outcomes/ask.html", form, lambda: showing.of_asking(work, case_number, None)):
        asked = command(RecordFollowUp, follow_up_values(filled(form)))
        made = actions.record_follow_up(work, case_number, asked)
    return _to(case_number, "follow-up-harm" if made.advice else f"follow-up-{made.outcome}")


@router.get(f"{CASE}/{{follow_up}}/strike")
@reads
def strike_form(work: Work, request: Request, case_number: str, follow_up: Id) -> Response:
    """The form that strikes a follow-up through."""
    actions.may_see_to(work)
    context = showing.of_follow_up(work, case_number, follow_up)
    return render(request, "outcomes/strike.html", {**context, **UNTOUCHED})


@router.post(f"{CASE}/{{follow_up}}/strike")
@writes
def strike_follow_up(work: Work, case_number: str, follow_up: Id, form: Posted) -> Response:
    """Strike a follow-up through."""
    with shown_again("outcomes/strike.html", form, lambda: showing.of_follow_up(work, case_number, follow_up)):
        actions.strike_follow_up(work, case_number, follow_up, command(StrikeFollowUp, filled(form)))
    return _to(case_number, "follow-up-struck")


@router.post(f"{CASE}/{{follow_up}}/seen-to")
@writes
def see_to_follow_up(work: Work, case_number: str, follow_up: Id, form: Posted) -> Response:
    """A device is said not to be used any more: stop it, or leave it as it is."""
    wanted = command(SeeToFollowUp, filled(form))
    actions.see_to_follow_up(work, case_number, follow_up, wanted)
    return _to(case_number, "device-stopped" if wanted.stopped else "device-used")


@router.get("/recipients/{case_number}/questionnaire-scores/new")
@reads
def score_form(work: Work, request: Request, case_number: str) -> Response:
    """The form for the score of a questionnaire."""
    actions.may_record(work)
    return render(request, "outcomes/questionnaire.html", {**showing.of_goal(work, case_number, None), **UNTOUCHED})


@router.post("/recipients/{case_number}/questionnaire-scores/new")
@writes
def add_score(work: Work, case_number: str, form: Posted) -> Response:
    """Record the score of a questionnaire."""
    with shown_again("outcomes/questionnaire.html", form, lambda: showing.of_goal(work, case_number, None)):
        given = filled(form)
        wanted = {**given, "score": given.get("score", "").replace(",", ".")}
        actions.add_questionnaire_score(work, case_number, command(AddQuestionnaireScore, wanted))
    return _to(case_number, "questionnaire-recorded")


def _to(case_number: str, done: str) -> Response:
    return RedirectResponse(f"/recipients/{case_number}/follow-ups?done={done.replace('_', '-')}", 303)
