"""Opening a case and changing what is known of it. Each act writes its audit entry in the same transaction."""

from __future__ import annotations

import secrets
from collections.abc import Collection
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow, TownRow
from service.audit.actions import note
from service.kit.errors import Conflict, Doubt, Doubted, Invalid, NotFound
from service.recipients import rules
from service.recipients.followups import ask_for_forecast
from service.recipients.queries import recipient, seen_recipient
from service.recipients.rules import DIGITS, REVIEW_AGES, CaseState, Purpose, birthday, case_number, fold
from service.recipients.schemas import (
    AddConsent,
    AddContact,
    AddHelper,
    AddLimb,
    AddRecipient,
    AddSuitability,
    ChangeRecipient,
    EndOn,
    HoldReview,
    RecipientView,
    SeenRecipient,
)
from service.recipients.scope import visible
from service.recipients.tables import (
    ConsentRow,
    ContactRow,
    HelperRow,
    LimbRow,
    RecipientRow,
    ReviewRow,
    SuitabilityRow,
)

TRIES_AT_A_NUMBER = 100
SURPRISING_MOVE_DAYS = 366


@usecase(May.KEEP_CASES)
def may_register(_work: Work) -> None:
    """Whether to show the form for a new case at all; refuses as `register` would."""


@usecase(May.KEEP_CASES)
def register(work: Work, command: AddRecipient) -> RecipientView:
    """Open a case; raises Invalid for a birth date that cannot be, or a site that is not the actor's."""
    site_id = site_choice(work, command.site)
    _check_birth_date(work, command.birth_date)
    _check_state(command.state, command.state_reason)
    _check_prescribed(work, command.prescribed_on, command.birth_date)
    if command.ask_about_namesake:
        _doubt_a_second_case(work, command)
    row = RecipientRow(
        **_with_town(work, command.model_dump(exclude={"site", "limbs", "contacts", "consents", "ask_about_namesake"})),
        case_number=_fresh_case_number(work),
        site_id=site_id,
        search_name=fold(f"{command.given_name} {command.family_name}"),
        state_since=work.today,
        created_at=work.now,
        changed_at=work.now,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    for limb in command.limbs:
        work.session.add(LimbRow(recipient_id=row.id, **limb.model_dump()))
    for contact in command.contacts:
        work.session.add(ContactRow(recipient_id=row.id, **contact.model_dump()))
    for index, consent in enumerate(command.consents):
        _check_past(work, f"consents.{index}.given_on", consent.given_on, command.birth_date)
        work.session.add(ConsentRow(recipient_id=row.id, **consent.model_dump()))
    note(work, "registered", "recipient", subject_id=row.id, recipient_id=row.id)
    work.session.flush()  # the view reads what was just written
    return recipient(work, row.case_number)


@usecase(May.KEEP_CASES)
def change(work: Work, number: str, command: ChangeRecipient) -> RecipientView:
    """Change the particulars that were given; raises Invalid when one of them cannot be."""
    seen = seen_recipient(work, number)
    row = work.session.get_one(RecipientRow, seen.id)
    given = _with_town(work, command.model_dump(include=command.model_fields_set - {"limbs", "confirmed"}))
    for name in ("given_name", "family_name"):
        if given.get(name) == "":
            raise Invalid.at(name, "A name cannot be left empty.")
    if "birth_date" in given:
        _check_birth_date(work, command.birth_date)
        moved = abs((command.birth_date - row.birth_date).days)
        if moved > SURPRISING_MOVE_DAYS and not command.confirmed:
            raise Doubted((Doubt("birth_date", "This moves the birth date by more than a year, and every forecast."),))
    _check_state(given.get("state", row.state), given.get("state_reason", row.state_reason))
    if given.get("state", row.state) != row.state:
        row.state_since = work.today
    _check_prescribed(work, given.get("prescribed_on"), given.get("birth_date", row.birth_date))
    changes = {name: [_plain(getattr(row, name)), _plain(value)] for name, value in given.items()}
    changes = {name: pair for name, pair in changes.items() if pair[0] != pair[1]}
    for name, value in given.items():
        setattr(row, name, value)
    row.search_name = fold(f"{row.given_name} {row.family_name}")
    row.changed_at = work.now
    for limb in command.limbs:
        changes[f"limb {limb.side}"] = _describe_limb(work, seen, limb)
    note(work, "changed", "recipient", subject_id=seen.id, recipient_id=seen.id, changes=changes)
    if {"birth_date", "sex", "state"} & changes.keys() or command.limbs:
        ask_for_forecast(work, seen.id)
    work.session.flush()  # the view reads what was just written
    return recipient(work, number)


@usecase(May.KEEP_CASES)
def add_contact(work: Work, number: str, command: AddContact) -> RecipientView:
    """Add somebody who speaks for the recipient."""
    return _add(work, number, ContactRow, command)


@usecase(May.KEEP_CASES)
def end_contact(work: Work, number: str, contact_id: int, command: EndOn) -> RecipientView:
    """A contact speaks for the recipient no more; the row stays."""
    row = _own(work, number, ContactRow, contact_id)
    row.ended_on = row.ended_on or _ended(work, number, command)
    note(work, "ended", "contact", subject_id=contact_id, recipient_id=row.recipient_id)
    work.session.flush()  # the view reads what was just written
    return recipient(work, number)


@usecase(May.KEEP_CASES)
def add_consent(work: Work, number: str, command: AddConsent) -> RecipientView:
    """Record a yes to one purpose."""
    return _add(work, number, ConsentRow, command, day="given_on")


@usecase(May.KEEP_CASES)
def withdraw_consent(work: Work, number: str, consent_id: int, command: EndOn) -> RecipientView:
    """A yes taken back; that it was given once stays on record."""
    row = _own(work, number, ConsentRow, consent_id)
    row.withdrawn_on = row.withdrawn_on or _ended(work, number, command)
    note(work, "withdrew", "consent", subject_id=consent_id, recipient_id=row.recipient_id)
    work.session.flush()  # the view reads what was just written
    return recipient(work, number)


@usecase(May.SPEAK_AS_FAMILY)
def take_back(work: Work, purposes: Collection[Purpose]) -> None:
    """The family takes back what it agreed to, at once; what was taken back already stays as it is."""
    standing = sa.select(ConsentRow).where(
        ConsentRow.recipient_id == work.actor.recipient_id,
        ConsentRow.purpose.in_(purposes),
        ConsentRow.withdrawn_on.is_(None),
    )
    for row in work.session.scalars(standing.with_for_update()).all():
        row.withdrawn_on = work.today
        note(work, "withdrew", "consent", subject_id=row.id, recipient_id=row.recipient_id)
    work.session.flush()  # the view reads what was just written


@usecase(May.JUDGE_SUITABILITY)
def add_suitability(work: Work, number: str, command: AddSuitability) -> RecipientView:
    """Record a clinician's note."""
    return _add(work, number, SuitabilityRow, command, day="noted_on")


@usecase(May.KEEP_CASES)
def hold_review(work: Work, number: str, command: HoldReview) -> RecipientView:
    """Record the review at 16 or 18, once each."""
    if command.age not in REVIEW_AGES:
        raise Invalid.at("age", "Reviews are held at 16 and at 18.")
    seen = seen_recipient(work, number)
    earliest = birthday(seen.birth_date, command.age - 1)
    if command.held_on < earliest:
        raise Invalid.at("held_on", f"The review at {command.age} can be held from the birthday before it.")
    if work.session.get(ReviewRow, (seen.id, command.age)) is not None:
        raise Conflict(f"The review at {command.age} is on record already.")
    return _add(work, number, ReviewRow, command, day="held_on")


@usecase(May.KEEP_CASES)
def add_helper(work: Work, number: str, command: AddHelper) -> RecipientView:
    """Ask a volunteer to help with a case, which lets them see it; raises Invalid unless they volunteer at its site."""
    seen = seen_recipient(work, number)
    volunteers_here = (
        sa.select(AccountRow.id)
        .join(AccountRoleRow, AccountRoleRow.account_id == AccountRow.id)
        .join(AccountSiteRow, AccountSiteRow.account_id == AccountRow.id)
        .where(AccountRoleRow.role == Role.VOLUNTEER, AccountSiteRow.site_id == seen.site_id)
        .where(AccountRow.id == command.account, AccountRow.closed_at.is_(None))
    )
    if work.session.scalar(volunteers_here) is None:
        raise Invalid.at("account", "Choose a volunteer who belongs to the case's site.")
    row = work.session.get(HelperRow, (seen.id, command.account))
    if row is None:
        work.session.add(HelperRow(recipient_id=seen.id, account_id=command.account, since=work.today))
    else:
        row.until = None
    note(work, "asked to help", "helper", subject_id=command.account, recipient_id=seen.id)
    work.session.flush()  # the view reads what was just written
    return recipient(work, number)


@usecase(May.KEEP_CASES)
def end_helper(work: Work, number: str, account_id: int) -> RecipientView:
    """A volunteer helps no more, and from now on does not see the case."""
    seen = seen_recipient(work, number)
    row = work.session.get(HelperRow, (seen.id, account_id))
    if row is None:
        raise NotFound("Nobody by this number helps with this case.")
    row.until = row.until or work.today
    note(work, "ended", "helper", subject_id=account_id, recipient_id=seen.id)
    work.session.flush()  # the view reads what was just written
    return recipient(work, number)


def _with_town(work: Work, given: dict[str, Any]) -> dict[str, Any]:
    """What was given with the id of the town by its column's name; raises Invalid for a town nobody recorded."""
    given = {"town_id": given.pop("town"), **given} if "town" in given else given
    if given.get("town_id") is not None and work.session.get(TownRow, given["town_id"]) is None:
        raise Invalid.at("town", "Choose one of the towns that are recorded, or record it first.")
    return given


def _add(work: Work, number: str, table: Any, command: Any, *, day: str | None = None) -> RecipientView:
    seen = seen_recipient(work, number)
    if day is not None:
        _check_past(work, day, getattr(command, day), seen.birth_date)
    row = table(recipient_id=seen.id, **command.model_dump())
    work.session.add(row)
    work.session.flush()  # the view reads what was just written
    note(work, "recorded", table.__tablename__, subject_id=getattr(row, "id", None), recipient_id=seen.id)
    return recipient(work, number)


def _ended(work: Work, number: str, command: EndOn) -> date:
    if command.on is not None:
        _check_past(work, "on", command.on, seen_recipient(work, number).birth_date)
    return command.on or work.today


def _own(work: Work, number: str, table: Any, row_id: int) -> Any:
    seen = seen_recipient(work, number)
    row = work.session.get(table, row_id)
    if row is None or row.recipient_id != seen.id:
        raise NotFound("There is no such entry in this case.")
    return row


def _describe_limb(work: Work, seen: SeenRecipient, limb: AddLimb) -> list[Any]:
    row = work.session.scalars(
        sa.select(LimbRow).where(LimbRow.recipient_id == seen.id, LimbRow.side == limb.side)
    ).one_or_none()
    if row is None:
        work.session.add(LimbRow(recipient_id=seen.id, **limb.model_dump()))
        return [None, f"{limb.cause} {limb.level}"]
    before = f"{row.cause} {row.level}"
    row.cause, row.level, row.note = limb.cause, limb.level, limb.note
    return [before, f"{limb.cause} {limb.level}"]


def _fresh_case_number(work: Work) -> str:
    for _ in range(TRIES_AT_A_NUMBER):
        number = case_number(secrets.randbelow(10**DIGITS))
        if work.session.scalar(sa.select(RecipientRow.id).where(RecipientRow.case_number == number)) is None:
            return number
    raise Conflict("No free case number was found. Try again; if it persists, the numbers are running out.")


def _check_birth_date(work: Work, birth_date: Any) -> None:
    if (problem := rules.birth_date_problem(birth_date, work.today)) is not None:
        raise Invalid.at("birth_date", problem)


def _check_prescribed(work: Work, prescribed_on: date | None, birth_date: date) -> None:
    if prescribed_on is not None:
        _check_past(work, "prescribed_on", prescribed_on, birth_date)


def _doubt_a_second_case(work: Work, command: AddRecipient) -> None:
    name = fold(f"{command.given_name} {command.family_name}")
    same = (RecipientRow.search_name == name, RecipientRow.birth_date == command.birth_date)
    number = work.session.scalar(sa.select(RecipientRow.case_number).where(*same, visible(work.actor, work.today)))
    if number is not None:
        sentence = f"Somebody of this name and birth date is registered already: case {number}. Is it the same person?"
        raise Doubted((Doubt("given_name", sentence),))


def _check_past(work: Work, field: str, day: Any, birth_date: Any) -> None:
    if (problem := rules.past_day_problem(day, birth_date, work.today)) is not None:
        raise Invalid.at(field, problem)


def _check_state(state: CaseState, reason: str) -> None:
    if state in {CaseState.CLOSED, CaseState.PAUSED} and not reason:
        raise Invalid.at("state_reason", f"Say why the case is {state}.")


def _plain(value: Any) -> Any:
    return value if isinstance(value, str | int | bool | None) else str(value)
