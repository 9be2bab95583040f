"""Opening notices, writing down what families answer, asking for replacements, closing. Each act is in the audit."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Doubted, Invalid, NotFound
from service.lots.tables import LotRow
from service.notices.queries import notice
from service.notices.rows import held_rows, row_of, what_words
from service.notices.rules import (
    NoticeKind,
    Todo,
    days_problem,
    maker_text,
    remain_problem,
)
from service.notices.schemas import AnswerNotice, CloseNotice, NoticeView, OpenNotice, RequestsOpened
from service.notices.tables import NoticeCaseRow, NoticeRow
from service.notices.tracing import builds_of
from service.notifications.actions import tell
from service.notifications.deciders import tell_deciders
from service.notifications.families import FamilyMessage
from service.notifications.schemas import Person
from service.parts.rules import PartKind
from service.parts.tables import VersionRow
from service.recipients.queries import seen_recipient
from service.recipients.rules import Reach
from service.requests.actions import ask
from service.requests.rules import RequestKind, WhatHappened
from service.requests.schemas import AskRequest
from service.volunteers.tables import PrinterRow, VolunteerRow


@usecase(May.KEEP_NOTICES)
def may_open(_work: Work) -> None:
    """Whether to show the form that opens a notice at all."""


@usecase(May.KEEP_NOTICES)
def open_notice(work: Work, command: OpenNotice, phone: str = "") -> NoticeView:
    """Open a notice, and tell every family and every maker it concerns, of every site, in the same transaction.

    Raises Conflict, naming the first, while one on the same thing is open; Invalid for what there is not.
    """
    row = _row(work, command)
    same = sa.select(NoticeRow.id).where(
        NoticeRow.closed_at.is_(None),
        NoticeRow.kind == row.kind,
        *(
            getattr(NoticeRow, each).is_not_distinct_from(getattr(row, each))
            for each in ("version_id", "lot_id", "printer_id", "from_on", "until_on")
        ),
    )
    if (first := work.session.scalar(same)) is not None:
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
    told = work.session.get(NoticeCaseRow, (row.id, seen.id), with_for_update=True)
    if told is None:
        raise Invalid.at("case_number", "This notice is about nothing that was worn in this case. Check the number.")
    changes = {"answer": [told.answer.value if told.answer else None, command.answer.value]}
    told.answer, told.words = command.answer, command.words
    told.answered_at, told.answered_by = work.now, work.actor.name
    note(work, "answered", "notice", subject_id=row.id, recipient_id=seen.id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return notice(work, notice_id)


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


def _row(work: Work, command: OpenNotice) -> NoticeRow:
    given = {
        NoticeKind.VERSION: (command.version, VersionRow),
        NoticeKind.LOT: (command.lot, LotRow),
        NoticeKind.PRINTER: (command.printer, PrinterRow),
    }
    named = [(kind, each, table) for kind, (each, table) in given.items() if each is not None]
    if len(named) != 1:
        raise Invalid.at("version", "Say what it is about: a version, a lot, or a printer. One notice is about one.")
    kind, about, table = named[0]
    there = work.session.get(
        table, about, with_for_update=True
    )  # what is being fitted of it is fitted first, and found
    site_id = getattr(there, "site_id", None)
    if isinstance(there, PrinterRow):
        site_id = work.session.get_one(VolunteerRow, there.volunteer_id).site_id
    if there is None or (site_id is not None and site_id not in work.actor.sites):
        raise Invalid.at(kind.value, f"There is no {kind.label} with this number at your sites. Look it up.")
    if (wrong := days_problem(kind, command.from_on, command.until_on, work.today)) is not None:
        raise Invalid.at(*wrong)
    return NoticeRow(
        kind=kind,
        version_id=command.version,
        lot_id=command.lot,
        printer_id=command.printer,
        from_on=command.from_on,
        until_on=command.until_on,
        todo=command.todo,
        why=command.why,
        opened_at=work.now,
        opened_by=work.actor.name,
    )


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
