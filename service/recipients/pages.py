"""HTML face of a case: find one, open one, change its particulars. The case page itself is the casefile's."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel
from starlette.datastructures import FormData

from service.access.permissions import May, Role
from service.access.work import Work
from service.accounts.queries import people_at, sites
from service.kit.errors import Invalid
from service.kit.schema import Id
from service.recipients import actions, queries
from service.recipients.rules import Side
from service.recipients.schemas import (
    AddConsent,
    AddContact,
    AddHelper,
    AddRecipient,
    AddSuitability,
    ChangeRecipient,
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
        values = _particulars(form)
        opened = actions.register(work, command(AddRecipient, values))
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
    context = _form_context(work, queries.recipient(work, case_number))
    return render(request, "recipients/form.html", {**context, **UNTOUCHED, "typed": _typed(context["person"])})


@router.post("/recipients/{case_number}/change")
@writes
def change(work: Work, case_number: str, form: Posted) -> Response:
    """Change the particulars; every field of the form was shown, so an empty one is meant to be empty."""
    with shown_again("recipients/form.html", form, lambda: _form_context(work, queries.recipient(work, case_number))):
        values = {**dict.fromkeys(_EMPTIABLE, ""), "latex_allergy": None, "prescribed_on": None, **_particulars(form)}
        values.pop("site", None)
        actions.change(work, case_number, command(ChangeRecipient, values))
    return RedirectResponse(f"/recipients/{case_number}?done=recipient-changed", 303)


@router.post("/recipients/{case_number}/contacts")
@writes
def add_contact(work: Work, case_number: str, form: Posted) -> Response:
    """Add a contact."""
    return _record(work, case_number, form, AddContact, actions.add_contact)


@router.post("/recipients/{case_number}/contacts/{contact}/end")
@writes
def end_contact(work: Work, case_number: str, contact: Id, _form: Posted) -> Response:
    """End a contact."""
    actions.end_contact(work, case_number, contact)
    return _back_to_particulars(case_number)


@router.post("/recipients/{case_number}/consents")
@writes
def add_consent(work: Work, case_number: str, form: Posted) -> Response:
    """Record a consent."""
    return _record(work, case_number, form, AddConsent, actions.add_consent)


@router.post("/recipients/{case_number}/consents/{consent}/withdraw")
@writes
def withdraw_consent(work: Work, case_number: str, consent: Id, _form: Posted) -> Response:
    """Take a consent back."""
    actions.withdraw_consent(work, case_number, consent)
    return _back_to_particulars(case_number)


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


_EMPTIABLE = (
    "state_reason",
    "skin_allergies",
    "colour_wishes",
    "notes",
    "prescriber_name",
    "prescriber_profession",
    "prescriber_registration",
)


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


def _back_to_particulars(case_number: str) -> Response:
    return RedirectResponse(f"/recipients/{case_number}/particulars?done=recipient-changed", 303)


def _form_context(work: Work, person: RecipientView | None = None) -> dict[str, Any]:
    return {"person": person, "sites": [(each.code, each.name) for each in sites(work)]}


def _case_context(work: Work, case_number: str) -> dict[str, Any]:
    person = queries.recipient(work, case_number)
    volunteers = []
    if work.actor.can(May.KEEP_CASES):
        helping = {helper.account for helper in person.helpers}
        at_site = people_at(work, Role.VOLUNTEER, person.site)
        volunteers = [(each.id, each.name) for each in at_site if each.id not in helping]
    return {"person": person, "volunteers": volunteers}


def _typed(person: RecipientView) -> dict[str, str]:
    """The form's fields as they stand in the register."""
    typed = {name: str(value) for name, value in person.model_dump(mode="json").items() if isinstance(value, str)}
    if person.latex_allergy is not None:
        typed["latex_allergy"] = "yes" if person.latex_allergy else "no"
    for limb in person.limbs:
        typed |= {f"{limb.side}_cause": limb.cause, f"{limb.side}_level": limb.level, f"{limb.side}_note": limb.note}
    return typed


def _particulars(form: FormData) -> dict[str, Any]:
    """The fields of the form as a command's values: limbs by side, allergy as yes, no or not asked."""
    values: dict[str, Any] = filled(form)
    limbs = []
    for side in Side:
        cause, level, note = (values.pop(f"{side}_{part}", None) for part in ("cause", "level", "note"))
        if level and not cause:
            raise Invalid.at(f"{side}_cause", "Say whether it was so at birth or came later.")
        if cause and not level:
            raise Invalid.at(f"{side}_level", "Say where the limb ends.")
        if level:
            limbs.append({"side": side, "cause": cause, "level": level, "note": note or ""})
    if limbs:
        values["limbs"] = limbs
    if "latex_allergy" in values:
        values["latex_allergy"] = {"yes": True, "no": False}.get(values["latex_allergy"])
    return values
