"""REST face of a case."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.recipients import actions, queries
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
    RecipientLine,
    RecipientView,
)
from service.web.edge import reads, writes

router = APIRouter(tags=["recipients"])

TODAY = EndOn()


@router.post("/recipients", status_code=201)
@writes
def register(work: Work, command: AddRecipient) -> RecipientView:
    """Open a case."""
    return actions.register(work, command)


@router.get("/recipients")
@reads
def recipients(work: Work, wanted: Annotated[RecipientFilter, Query()]) -> Page[RecipientLine]:
    """List cases by name."""
    return queries.recipients(work, wanted)


@router.get("/recipients/{case_number}")
@reads
def recipient(work: Work, case_number: str) -> RecipientView:
    """One case's particulars."""
    return queries.recipient(work, case_number)


@router.patch("/recipients/{case_number}")
@writes
def change(work: Work, case_number: str, command: ChangeRecipient) -> RecipientView:
    """Change particulars; what is left out stays."""
    return actions.change(work, case_number, command)


@router.post("/recipients/{case_number}/contacts", status_code=201)
@writes
def add_contact(work: Work, case_number: str, command: AddContact) -> RecipientView:
    """Add a guardian or other contact."""
    return actions.add_contact(work, case_number, command)


@router.post("/recipients/{case_number}/contacts/{contact}/end")
@writes
def end_contact(work: Work, case_number: str, contact: Id, command: EndOn = TODAY) -> RecipientView:
    """A contact speaks for the recipient no more."""
    return actions.end_contact(work, case_number, contact, command)


@router.post("/recipients/{case_number}/consents", status_code=201)
@writes
def add_consent(work: Work, case_number: str, command: AddConsent) -> RecipientView:
    """Record a consent or an assent."""
    return actions.add_consent(work, case_number, command)


@router.post("/recipients/{case_number}/consents/{consent}/withdraw")
@writes
def withdraw_consent(work: Work, case_number: str, consent: Id, command: EndOn = TODAY) -> RecipientView:
    """Take a consent back."""
    return actions.withdraw_consent(work, case_number, consent, command)


@router.post("/recipients/{case_number}/suitability", status_code=201)
@writes
def add_suitability(work: Work, case_number: str, command: AddSuitability) -> RecipientView:
    """Record a clinician's note."""
    return actions.add_suitability(work, case_number, command)


@router.post("/recipients/{case_number}/helpers", status_code=201)
@writes
def add_helper(work: Work, case_number: str, command: AddHelper) -> RecipientView:
    """Ask a volunteer to help."""
    return actions.add_helper(work, case_number, command)


@router.post("/recipients/{case_number}/helpers/{account}/end")
@writes
def end_helper(work: Work, case_number: str, account: Id) -> RecipientView:
    """A volunteer helps no more."""
    return actions.end_helper(work, case_number, account)


@router.post("/recipients/{case_number}/reviews", status_code=201)
@writes
def hold_review(work: Work, case_number: str, command: HoldReview) -> RecipientView:
    """Record the review at 16 or 18."""
    return actions.hold_review(work, case_number, command)
