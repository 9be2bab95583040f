"""HTML face of a case: find one, open one, change its particulars. The case page itself is the casefile's."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel
from starlette.datastructures import FormData

from service.access.permissions import May, Role
from service.access.work import Work
from service.accounts.queries import people_at, sites, towns
from service.kit.schema import Id
from service.recipients import actions, posted, queries
from service.recipients.languages import LANGUAGES
from service.recipients.schemas import (
    AddConsent,
    AddContact,
    AddHelper,
    AddRecipient,
    AddSuitability,
    ChangeRecipient,
    EndOn,
    HoldReview,
    RecipientFilter,
    RecipientView,
)
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()


@router.get("/recipients")
@reads
def recipients(work: Work, request: Request, wanted: Annotated[RecipientFilter, Query()]) -> Response:
    """Recipients by name, filtered."""
    page = queries.recipients(work, wanted)
    following = None
    if page.next is not None:
        following = "?" + urlencode({**wanted.model_dump(mode="json", exclude_none=True), "cursor": page.next})
    context = {
        "found": page.items,
        "older": following,
        "wanted": wanted,
        "sites": sites(work),
        "first": wanted.cursor is None,
    }
    return render(request, "recipients/list.html", context)


@router.get("/recipients/new")
@reads
def register_form(work: Work, request: Request) -> Response:
    """The empty form for a new case."""
    actions.may_register(work)
    return render(request, "recipients/form.html", {**_form_context(work), **UNTOUCHED})


@router.post("/recipients/new")
@writes
def register(work: Work, form: Posted) -> Response:
    """Open a case."""
    with shown_again("recipients/form.html", form, lambda: _form_context(work)):
        opened = actions.register(work, command(AddRecipient, posted.registered(form)))
    return RedirectResponse(f"/recipients/{opened.case_number}?done=recipient-registered", 303)


@router.get("/recipients/{case_number}/particulars")
@reads
def particulars(work: Work, request: Request, case_number: str) -> Response:
    """Everything known of a person, with the forms that change it."""
    return render(request, "recipients/particulars.html", {**_case_context(work, case_number), **UNTOUCHED})


@router.get("/recipients/{case_number}/change")
@reads
def change_form(work: Work, request: Request, case_number: str) -> Response:
    """The particulars in a form."""
    person = queries.recipient(work, case_number)
    now = posted.typed(person)
    context = {**_form_context(work, person), **UNTOUCHED, "typed": now, "opened": now}
    return render(request, "recipients/form.html", context)


@router.post("/recipients/{case_number}/change")
@writes
def change(work: Work, case_number: str, form: Posted) -> Response:
    """Change the fields that were altered, and leave alone what somebody else changed meanwhile."""
    person = queries.recipient(work, case_number)
    opened = posted.opened_again(form, person)
    with shown_again("recipients/form.html", form, lambda: {**_form_context(work, person), "opened": opened}):
        actions.change(work, case_number, command(ChangeRecipient, posted.changed(form, person)))
    return RedirectResponse(f"/recipients/{case_number}?done=recipient-changed", 303)


@router.post("/recipients/{case_number}/contacts")
@writes
def add_contact(work: Work, case_number: str, form: Posted) -> Response:
    """Add a contact."""
    return _record(work, case_number, form, AddContact, actions.add_contact)


@router.post("/recipients/{case_number}/contacts/{contact}/end")
@writes
def end_contact(work: Work, case_number: str, contact: Id, form: Posted) -> Response:
    """End a contact."""
    return _record(work, case_number, form, EndOn, partial(_end, actions.end_contact, contact))


@router.post("/recipients/{case_number}/consents")
@writes
def add_consent(work: Work, case_number: str, form: Posted) -> Response:
    """Record what was agreed to, each purpose as a consent of its own."""
    with shown_again("recipients/particulars.html", form, lambda: _case_context(work, case_number)):
        for given in posted.consents(form):
            actions.add_consent(work, case_number, command(AddConsent, given))
    return _back_to_particulars(case_number, "consent-recorded")


@router.post("/recipients/{case_number}/consents/{consent}/withdraw")
@writes
def withdraw_consent(work: Work, case_number: str, consent: Id, form: Posted) -> Response:
    """Take a consent back."""
    return _record(work, case_number, form, EndOn, partial(_end, actions.withdraw_consent, consent))


@router.post("/recipients/{case_number}/suitability")
@writes
def add_suitability(work: Work, case_number: str, form: Posted) -> Response:
    """Record a clinician's note."""
    return _record(work, case_number, form, AddSuitability, actions.add_suitability)


@router.post("/recipients/{case_number}/helpers")
@writes
def add_helper(work: Work, case_number: str, form: Posted) -> Response:
    """Ask a volunteer to help."""
    return _record(work, case_number, form, AddHelper, actions.add_helper)


@router.post("/recipients/{case_number}/helpers/{account}/end")
@writes
def end_helper(work: Work, case_number: str, account: Id, _form: Posted) -> Response:
    """A volunteer helps no more."""
    actions.end_helper(work, case_number, account)
    return _back_to_particulars(case_number)


@router.post("/recipients/{case_number}/reviews")
@writes
def hold_review(work: Work, case_number: str, form: Posted) -> Response:
    """Record a review."""
    return _record(work, case_number, form, HoldReview, actions.hold_review)


def _record(
    work: Work,
    case_number: str,
    form: FormData,
    kind: type[BaseModel],
    act: Callable[[Work, str, Any], RecipientView],
) -> Response:
    with shown_again("recipients/particulars.html", form, lambda: _case_context(work, case_number)):
        act(work, case_number, command(kind, filled(form)))
    return _back_to_particulars(case_number)


def _end(act: Callable[..., RecipientView], row_id: int, work: Work, case_number: str, asked: EndOn) -> RecipientView:
    return act(work, case_number, row_id, asked)


def _back_to_particulars(case_number: str, done: str = "recipient-changed") -> Response:
    return RedirectResponse(f"/recipients/{case_number}/particulars?done={done}", 303)


def _form_context(work: Work, person: RecipientView | None = None) -> dict[str, Any]:
    return {
        "person": person,
        "opened": {},
        "sites": [(each.code, each.name) for each in sites(work)],
        "towns": [(each.id, each.name) for each in towns(work)],
        "languages": sorted(LANGUAGES.items(), key=lambda each: each[1]),
    }


def _case_context(work: Work, case_number: str) -> dict[str, Any]:
    person = queries.recipient(work, case_number)
    volunteers = []
    if work.actor.can(May.KEEP_CASES):
        helping = {helper.account for helper in person.helpers}
        at_site = people_at(work, Role.VOLUNTEER, person.site)
        volunteers = [(each.id, each.name) for each in at_site if each.id not in helping]
    return {"person": person, "volunteers": volunteers}
