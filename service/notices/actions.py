"""Opening notices, writing down what families answer, asking for replacements, closing. Each act is in the audit."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Doubted, Invalid, NotFound
from service.notices.queries import notice
from service.notices.rows import held_rows, new_row, open_on_the_same, row_of, what_words
from service.notices.rules import Answer, Todo, maker_text, remain_problem
from service.notices.schemas import AnswerNotice, CloseNotice, NoticeView, OpenNotice, RequestsOpened
from service.notices.tables import NoticeCaseRow, NoticeRow
from service.notices.tracing import builds_of
from service.notifications.actions import tell
from service.notifications.deciders import tell_deciders
from service.notifications.families import FamilyMessage
from service.notifications.schemas import Person
from service.parts.rules import PartKind
from service.recipients.queries import seen_recipient
from service.recipients.rules import Reach
from service.requests.actions import ask
from service.requests.rules import RequestKind, WhatHappened
from service.requests.schemas import AskRequest
from service.volunteers.tables import VolunteerRow


@usecase(May.KEEP_NOTICES)
def may_open(_work: Work) -> None:
    """Whether to show the form that opens a notice at all."""


@usecase(May.KEEP_NOTICES)
def open_notice(work: Work, command: OpenNotice, phone: str = "") -> NoticeView:
    """Open a notice, and tell every family and every maker it concerns, of every site, in the same transaction.

    Raises Conflict, naming the first, while one on the same thing is open; Invalid for what there is not.
    """
    row = new_row(work, command, held=True)
    row.todo, row.why = command.todo, command.why
    if (first := open_on_the_same(work, row)) is not None:
        raise Conflict(f"Notice {first} is open on this already. Go on with that one.")
    work.session.add(row)
    work.session.flush()  # the id is needed below
    note(work, "opened", "notice", subject_id=row.id, changes={"why": [None, row.why]})
    _tell_families(work, row, phone)
    _tell_makers(work, row)
    work.session.flush()  # the view reads what was just written
    return notice(work, row.id)


@usecase(May.ANSWER_NOTICES)
def answer(work: Work, notice_id: int, command: AnswerNotice) -> NoticeView:
    """Write down what a family said; said anew, the last word counts and the audit keeps what was said before.

    Raises NotFound for a case that is not theirs to see, Invalid for one that the notice is not about.
    """
    row = row_of(work, notice_id)
    seen = seen_recipient(work, command.case_number)
    _answered(work, row, seen.id, command.answer, command.words)
    return notice(work, notice_id)


@usecase(May.SPEAK_AS_FAMILY)
def answer_for_own(work: Work, notice_id: int, said: Answer) -> None:
    """Keep what a family says of its own device; raises NotFound for a notice that is not about one of theirs."""
    row = work.session.get(NoticeRow, notice_id)
    own = work.actor.recipient_id
    if row is None or own is None or own not in {each.recipient_id for each in held_rows(work, row)}:
        raise NotFound("There is no such notice.")
    _answered(work, row, own, said, "")


@usecase(May.KEEP_NOTICES)
def ask_for_all(work: Work, notice_id: int) -> RequestsOpened:
    """Ask for a replacement of every affected part of the cases the actor may see, in one act; twice is once.

    What cannot be asked for, such as in a case that is closed, is answered in words, and the rest is asked for.
    """
    found = notice(work, notice_id)
    opened, before, not_asked = [], [], []
    for device in found.affected.items:
        if device.request is not None:
            before.append(device.request)
            continue
        places = [part for part in device.parts if part.kind is not PartKind.SOCKET and part.place is not None]
        commands = []
        why = f"After safety notice {found.id}: {found.what}."
        if places:
            parts = [{"place": each.place, "happened": WhatHappened.NOTICE} for each in places]
            commands.append({"kind": RequestKind.REPLACEMENT, "parts": parts})
        if len(places) < len(device.parts):
            commands.append({"kind": RequestKind.NEXT_SOCKET})
        for each in commands:
            given = {"case_number": device.case_number, "device": device.device, "words": why, "usable": False}
            try:
                with work.session.begin_nested():
                    opened.append(ask(work, AskRequest.model_validate({**given, **each})).id)
            except (Conflict, Doubted, Invalid, NotFound) as refusal:
                not_asked.append(f"{device.case_number}: {refusal.detail}")
    return RequestsOpened(opened=opened, open_before=before, not_asked=not_asked)


@usecase(May.KEEP_NOTICES)
def close_notice(work: Work, notice_id: int, command: CloseNotice) -> NoticeView:
    """Close a notice once nothing that it is about is in a device any more, at whichever site; raises Conflict."""
    row = row_of(work, notice_id, locked=True)
    if row.closed_at is not None:
        raise Conflict(f"{row.closed_by} has closed this notice already.")
    remaining = len({each.device for each in held_rows(work, row)})
    if (problem := remain_problem(remaining)) is not None:
        raise Conflict(problem)
    row.closed_at, row.closed_by, row.outcome = work.now, work.actor.name, command.outcome
    note(work, "closed", "notice", subject_id=row.id, changes={"outcome": [None, command.outcome]})
    work.session.flush()  # the view reads what was just written
    return notice(work, notice_id)


def _answered(work: Work, row: NoticeRow, recipient_id: int, said: Answer, words: str) -> None:
    told = work.session.get(NoticeCaseRow, (row.id, recipient_id), with_for_update=True)
    if told is None:
        if recipient_id not in {each.recipient_id for each in held_rows(work, row)}:
            raise Invalid.at("case_number", "This notice is about nothing worn in this case. Check the number.")
        # The part came into the device after the notice was opened; who answers has heard of it.
        told = NoticeCaseRow(notice_id=row.id, recipient_id=recipient_id, told_at=work.now, words="")
        work.session.add(told)
    changes = {"answer": [told.answer.value if told.answer else None, said.value]}
    told.answer, told.words = said, words
    told.answered_at, told.answered_by = work.now, work.actor.name
    note(work, "answered", "notice", subject_id=row.id, recipient_id=recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written


def _tell_families(work: Work, row: NoticeRow, phone: str) -> None:
    message = FamilyMessage.NOTICE_STOP if row.todo is Todo.STOP else FamilyMessage.NOTICE_LOOK
    for person in sorted({each.recipient_id for each in held_rows(work, row)}):
        work.session.add(NoticeCaseRow(notice_id=row.id, recipient_id=person, told_at=work.now, words=""))
        said = {"why": row.why, "phone": phone or "-"}
        tell_deciders(work, message, row.id, recipient_id=person, urgent=True, **said)
        note(work, "told", "notice", subject_id=row.id, recipient_id=person)


def _tell_makers(work: Work, row: NoticeRow) -> None:
    builds = work.session.scalars(builds_of(row)).all()
    makers = sa.select(VolunteerRow).where(VolunteerRow.id.in_({each.volunteer_id for each in builds} - {None}))
    body = maker_text(what_words(work, row), row.why)
    for whom in work.session.scalars(makers.order_by(VolunteerRow.id)):
        reach = Reach.MAIL if whom.email else Reach.PHONE
        to = Person(whom.name, email=whom.email, phone=whom.phone, reach_by=reach, account_id=whom.account_id)
        key, subject = f"notice:{row.id}:maker:{whom.id}", "Safety notice on something you are making"
        tell(work, key=key, to=to, subject=subject, body=body, urgent=True, site_id=whom.site_id)
