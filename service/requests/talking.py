"""Questions back and their answers, and the clock that stands still while somebody else is waited for."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, NotFound
from service.requests.keeping import own
from service.requests.rules import WaitsFor, waiting_problem
from service.requests.schemas import AnswerQuestion, AskBack, BeginWait
from service.requests.tables import QuestionRow, RequestRow, WaitRow


def ask_back(work: Work, request_id: int, command: AskBack) -> None:
    """Ask a question back; the clock stands still while it waits for an answer, unless it does already."""
    row = own(work, request_id)
    work.session.add(
        QuestionRow(request_id=row.id, question=command.question, asked_at=work.now, asked_by=work.actor.name)
    )
    if command.waits_for is not None and _open_wait(work, row) is None:
        _wait(work, row, command.waits_for, command.question)
    note(work, "asked back", "request", subject_id=row.id, recipient_id=row.recipient_id)
    work.session.flush()  # what is read next finds it


def answer(work: Work, request_id: int, question_id: int, command: AnswerQuestion) -> None:
    """Record the answer to a question; with the last one the clock goes on, if it stood still for an answer.

    Raises Conflict for a question that is answered already.
    """
    row = own(work, request_id)
    asked = work.session.get(QuestionRow, question_id, with_for_update=True)
    if asked is None or asked.request_id != row.id:
        raise NotFound("There is no such question about this request.")
    if asked.answered_at is not None:
        raise Conflict("This question is answered already. Ask another if something is still unclear.")
    asked.answer, asked.answered_at = command.answer, work.now
    asked.answered_by = command.answered_by or work.actor.name
    work.session.flush()  # what is still open is looked up next
    open_ones = sa.select(QuestionRow.id).where(QuestionRow.request_id == row.id, QuestionRow.answered_at.is_(None))
    wait = _open_wait(work, row)
    if wait is not None and work.session.scalars(open_ones).first() is None and _is_for_a_question(work, wait):
        wait.until = work.today
    note(work, "answered back", "request", subject_id=row.id, recipient_id=row.recipient_id)
    work.session.flush()  # what is read next finds it


def begin_wait(work: Work, request_id: int, command: BeginWait) -> None:
    """Let the clock stand still from today; raises Conflict while it does already."""
    row = own(work, request_id)
    standing = _open_wait(work, row)
    if (problem := waiting_problem(standing.since if standing else None)) is not None:
        raise Conflict(problem)
    _wait(work, row, command.waits_for, command.why)
    note(work, "waits", "request", subject_id=row.id, recipient_id=row.recipient_id)
    work.session.flush()  # what is read next finds it


def end_wait(work: Work, request_id: int) -> None:
    """Let the clock go on from today; raises Conflict when it does not stand still."""
    row = own(work, request_id)
    wait = _open_wait(work, row)
    if wait is None:
        raise Conflict("Nobody is waited for: the clock goes on already.")
    wait.until = work.today
    note(work, "goes on", "request", subject_id=row.id, recipient_id=row.recipient_id)
    work.session.flush()  # what is read next finds it


def _open_wait(work: Work, row: RequestRow) -> WaitRow | None:
    standing = sa.select(WaitRow).where(WaitRow.request_id == row.id, WaitRow.until.is_(None))
    return work.session.scalars(standing).one_or_none()


def _wait(work: Work, row: RequestRow, who: WaitsFor, why: str) -> None:
    work.session.add(WaitRow(request_id=row.id, waits_for=who, why=why, since=work.today))


def _is_for_a_question(work: Work, wait: WaitRow) -> bool:
    """Whether a wait began with a question, whose text is then why."""
    asked = sa.select(QuestionRow.id).where(QuestionRow.request_id == wait.request_id, QuestionRow.question == wait.why)
    return work.session.scalars(asked).first() is not None
