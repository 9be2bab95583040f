"""HTML face of safety notices."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from service.access.work import Work
from service.kit.schema import Id
from service.notices import actions, queries
from service.notices.rules import NoticeKind
from service.notices.schemas import AnswerNotice, CloseNotice, NoticeAbout, NoticeFilter, OpenNotice
from service.notices.showing import answers, households, shape
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/notices")

ABOUT = tuple(NoticeAbout.model_fields)
"""The fields of a form that say what a notice is about."""


@router.get("")
@reads
def notices(work: Work, request: Request, wanted: Annotated[NoticeFilter, Query()]) -> Response:
    """Safety notices: the open ones, or all."""
    context = {"page": queries.notices(work, wanted), "open": queries.notices_open(work), "wanted": wanted}
    return render(request, "notices/list.html", context)


@router.get("/new")
@reads
def new_form(work: Work, request: Request, about: Annotated[NoticeAbout, Query()]) -> Response:
    """The form that opens a notice; it says first what it would concern."""
    actions.may_open(work)
    return render(request, "notices/new.html", {**_new_context(work, about), **UNTOUCHED})


@router.post("/new")
@writes
def open_notice(work: Work, request: Request, form: Posted) -> Response:
    """Open a notice, and tell everybody it concerns."""
    with shown_again("notices/new.html", form, lambda: _new_context(work, _about(form))):
        opened = actions.open_notice(work, command(OpenNotice, filled(form)), frame(request).settings.charity_phone)
    return RedirectResponse(f"/notices/{opened.id}?done=notice-opened", 303)


@router.get("/{notice}")
@reads
def notice(work: Work, request: Request, notice: Id) -> Response:
    """A notice: what remains, who was told and answered, and what is being made of it."""
    return render(request, "notices/notice.html", {**_context(work, notice), **UNTOUCHED})


@router.post("/{notice}/answers")
@writes
def answer(work: Work, notice: Id, form: Posted) -> Response:
    """Write down what a family said, by one tap."""
    with shown_again("notices/notice.html", form, lambda: _context(work, notice)):
        actions.answer(work, notice, command(AnswerNotice, filled(form)))
    return RedirectResponse(f"/notices/{notice}?done=notice-answered", 303)


@router.post("/{notice}/requests")
@writes
def ask_for_all(work: Work, request: Request, notice: Id, form: Posted) -> Response:  # noqa: ARG001 only its token
    """Ask for a replacement of all, and say what could not be asked for."""
    asked = actions.ask_for_all(work, notice)
    return render(request, "notices/asked.html", {"asked": asked, "notice": queries.notice(work, notice)}, status=201)


@router.post("/{notice}/close")
@writes
def close_notice(work: Work, notice: Id, form: Posted) -> Response:
    """Close it; refused with the number that remains while any does."""
    with shown_again("notices/notice.html", form, lambda: _context(work, notice)):
        actions.close_notice(work, notice, command(CloseNotice, filled(form)))
    return RedirectResponse(f"/notices/{notice}?done=notice-closed", 303)


def _about(form: FormData) -> NoticeAbout:
    return command(NoticeAbout, {name: value for name, value in filled(form).items() if name in ABOUT})


def _new_context(work: Work, about: NoticeAbout) -> dict[str, Any]:
    """What it is about; a printer is asked for its first day before anything is counted."""
    asks_days = about.printer is not None and about.from_on is None
    counted = about.model_copy(update={"from_on": work.today}) if asks_days else about
    found = queries.concerned(work, counted)
    back = {
        NoticeKind.VERSION: f"/parts/versions/{about.version}",
        NoticeKind.LOT: f"/lots/{about.lot}",
        NoticeKind.PRINTER: "/volunteers",
    }[found.kind]
    named = {name: value for name in ABOUT if (value := getattr(about, name)) is not None}
    return {"concerned": found, "asks_days": asks_days, "named": named, "back": back}


def _context(work: Work, notice_id: int) -> dict[str, Any]:
    found = queries.notice(work, notice_id)
    return {
        "notice": found,
        "households": households(found.affected.items),
        "answers": answers(found.todo),
        "shape": {each.case_number: shape(each.answer) for each in found.affected.items},
    }
