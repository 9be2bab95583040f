"""Asking for things, and what becomes of it. Each act writes its audit entry in the same transaction."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.audit.actions import note
from service.devices.tables import DeviceRow
from service.growth.leads import lead_days_at
from service.growth.tables import ForecastRow
from service.kit.errors import Conflict, Invalid
from service.recipients.rules import CaseState
from service.recipients.tables import RecipientRow
from service.requests import joining, leads, photographs, talking
from service.requests import review as reviewing
from service.requests.keeping import asked_already, own, settle, write
from service.requests.naming import Named, name_parts, which_device, whose
from service.requests.photographs import KeptPhoto
from service.requests.queries import request
from service.requests.rules import (
    Asker,
    RequestKind,
    RequestState,
    need,
    needed_by,
    settled_problem,
    usable_unless_said,
)
from service.requests.schemas import (
    AnswerQuestion,
    AskBack,
    AskRequest,
    BeginWait,
    DecideTriage,
    JoinRequests,
    MarkAnswered,
    Promise,
    RequestView,
    Settle,
    SplitRequest,
)
from service.requests.tables import RequestRow

_ASKERS = (Asker.FAMILY, Asker.COORDINATOR, Asker.CLINICIAN, Asker.VOLUNTEER)


@usecase(May.ASK)
def may_ask(_work: Work) -> None:
    """Whether to show the forms that ask for something at all; refuses as asking would."""


@usecase(May.ORDER_REQUESTS)
def may_order(_work: Work) -> None:
    """Whether to show the forms that settle requests at all; refuses as settling would."""


@usecase(May.ASK)
def ask(work: Work, command: AskRequest) -> RequestView:
    """Ask for something; returns the request.

    Raises NotFound for a case not theirs to see, Conflict, naming the first, if the same need is open already, and
    Invalid for a device or a part that cannot be.
    """
    recipient = whose(work, command.case_number)
    if recipient.state is CaseState.CLOSED:
        raise Conflict("This case is closed. Open it again before you ask for something.")
    if command.parts and command.kind is not RequestKind.REPLACEMENT:
        raise Invalid.at("parts", "Parts are named when they are to be replaced: ask for a replacement.")
    device = which_device(work, recipient, command)
    parts = name_parts(work, recipient, device, command.parts)
    if command.kind in {RequestKind.REPLACEMENT, RequestKind.ADVICE} and not parts and not command.words:
        raise Invalid.at("words", "Say in a few words what is needed, or which part it is.")
    row = _row(work, recipient, device, command, parts)
    written = asked_already(work, row, parts) or write(work, row, parts)
    if isinstance(written, Conflict):
        raise written
    note(work, "asked", "request", subject_id=row.id, recipient_id=recipient.id)
    return request(work, row.id)


@usecase(May.ORDER_REQUESTS)
def decide_triage(work: Work, request_id: int, command: DecideTriage) -> RequestView:
    """Put a request in another place than follows from the facts, with a reason; or take that back."""
    row = own(work, request_id)
    if command.rank is not None and not command.why:
        raise Invalid.at("why", "Say why it comes before or after where the facts put it.")
    before = (row.rank, row.rank_why)
    row.rank, row.rank_why, row.rank_by = command.rank, command.why, work.actor.name
    if command.rank is None:
        row.rank_why, row.rank_by = "", None
    changes = {"place": [before[0], row.rank], "why": [before[1], command.why]}
    note(work, "placed", "request", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return request(work, request_id)


@usecase(May.ORDER_REQUESTS)
def promise(work: Work, request_id: int, command: Promise) -> RequestView:
    """Record by when the family was promised it; raises Invalid for a day gone by."""
    row = own(work, request_id)
    if command.on is not None and command.on < work.today:
        raise Invalid.at("on", "This day has gone by. Promise a day that is still to come.")
    changes = {"promised_on": [_plain(row.promised_on), _plain(command.on)]}
    row.promised_on = command.on
    note(work, "promised", "request", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return request(work, request_id)


@usecase(May.ORDER_REQUESTS)
def close_request(work: Work, request_id: int, command: Settle) -> RequestView:
    """Close a request without what it asked for; raises Conflict for one that is settled."""
    settle(work, own(work, request_id), RequestState.CLOSED, command.why)
    return request(work, request_id)


@usecase(May.ORDER_REQUESTS)
def mark_answered(work: Work, request_id: int, command: MarkAnswered) -> RequestView:
    """Record that what was asked for is handed over; raises Conflict for one that is settled."""
    settle(work, own(work, request_id), RequestState.ANSWERED, command.note)
    return request(work, request_id)


@usecase(May.ASK)
def ask_back(work: Work, request_id: int, command: AskBack) -> RequestView:
    """Ask a question back; the clock stands still while it waits for an answer."""
    talking.ask_back(work, request_id, command)
    return request(work, request_id)


@usecase(May.ASK)
def answer(work: Work, request_id: int, question_id: int, command: AnswerQuestion) -> RequestView:
    """Record the answer to a question; raises Conflict for one that is answered already."""
    talking.answer(work, request_id, question_id, command)
    return request(work, request_id)


@usecase(May.ASK)
def begin_wait(work: Work, request_id: int, command: BeginWait) -> RequestView:
    """Let the clock stand still from today; raises Conflict while it does already."""
    talking.begin_wait(work, request_id, command)
    return request(work, request_id)


@usecase(May.ASK)
def end_wait(work: Work, request_id: int) -> RequestView:
    """Let the clock go on from today; raises Conflict when it does not stand still."""
    talking.end_wait(work, request_id)
    return request(work, request_id)


@usecase(May.ASK)
def may_add_photo(work: Work, request_id: int) -> None:
    """Whether to take in a photograph at all; refuses as `add_photo` would, before it is looked at."""
    found = request(work, request_id)
    if (problem := settled_problem(found.state, found.settled_at.date() if found.settled_at else None)) is not None:
        raise Conflict(problem)


@usecase(May.ASK)
def add_photo(work: Work, request_id: int, kept: KeptPhoto) -> RequestView:
    """Keep a photograph with a request; the same once more changes nothing. Raises Conflict when there are enough."""
    photographs.add(work, request_id, kept)
    return request(work, request_id)


@usecase(May.ORDER_REQUESTS)
def remove_photo(work: Work, request_id: int, photo_id: int) -> None:
    """Take a photograph away, for good; raises NotFound for none."""
    photographs.remove(work, request_id, photo_id)


@usecase(May.ORDER_REQUESTS)
def join(work: Work, request_id: int, command: JoinRequests) -> RequestView:
    """Join a request into the one about the same that was asked first, which is returned.

    Raises Invalid for one of another case, about something else, or asked later.
    """
    return request(work, joining.join(work, request_id, command))


@usecase(May.ORDER_REQUESTS)
def split(work: Work, request_id: int, command: SplitRequest) -> RequestView:
    """Make a request of its own of some parts of a request, which is returned; raises Invalid unless some stay."""
    return request(work, joining.split(work, request_id, command))


@usecase(May.REVIEW_REQUESTS)
def review(work: Work, recipient_id: int) -> None:
    """Bring what the forecast asked for a recipient in line with the newest forecasts."""
    reviewing.review(work, recipient_id)


@usecase(May.REVIEW_REQUESTS)
def review_everybody(work: Work) -> None:
    """Ask for a review of everybody whose forecast has an open request, or says that it is time to start."""
    reviewing.review_everybody(work)


@usecase(May.REVIEW_REQUESTS)
def learn_leads(work: Work) -> None:
    """Have forecasts reckon with how long making took at each site, as its own requests show."""
    leads.learn_leads(work)


def _row(
    work: Work, recipient: RecipientRow, device: DeviceRow | None, command: AskRequest, parts: tuple[Named, ...]
) -> RequestRow:
    site = work.session.get_one(SiteRow, recipient.site_id)
    device_id = device.id if device else None
    usable = command.usable
    if usable is None:
        usable = usable_unless_said(command.kind, [part.row.happened for part in parts])
    start_by, tight_on = (None, None)
    if command.kind is RequestKind.NEXT_SOCKET and device_id is not None:
        start_by, tight_on = _foreseen(work, device_id)
    asker = _asker(work, command)
    return RequestRow(
        recipient_id=recipient.id,
        device_id=device_id,
        kind=command.kind,
        need=need(command.kind, recipient.id, device_id, [part.key for part in parts]),
        asker=asker,
        asked_by=command.asked_by or ("the family" if command.asker else work.actor.name),
        asked_at=work.now,
        words=command.words,
        colour=command.colour,
        usable=usable,
        harm=command.harm,
        needed_by=needed_by(
            command.kind,
            work.today,
            usable=usable,
            harm=command.harm,
            replacement_days=site.replacement_days,
            lead_days=lead_days_at(work, site.id),
            start_by=start_by,
        ),
        tight_on=tight_on,
        state=RequestState.OPEN,
    )


def _asker(work: Work, command: AskRequest) -> Asker:
    """Who asks: the family where somebody writes it down for them, else what the actor is first."""
    if command.asker is not None:
        return Asker(command.asker)
    held = {role.value for role in work.actor.roles}
    return next((asker for asker in _ASKERS if asker.value in held), Asker.COORDINATOR)


def _foreseen(work: Work, device_id: int) -> tuple[date | None, date | None]:
    newest = sa.select(ForecastRow.start_by, ForecastRow.p50).where(
        ForecastRow.device_id == device_id, ForecastRow.is_newest
    )
    found = work.session.execute(newest).first()
    return (found.start_by, found.p50) if found else (None, None)


def _plain(value: date | None) -> Any:
    return value.isoformat() if value else None
