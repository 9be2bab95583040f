"""Reporting what hurts, judging it, looking at it; raising a concern, and reading one."""

from __future__ import annotations

from datetime import date
from typing import TypeVar

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.audit.actions import note
from service.devices.tables import DeviceRow
from service.kit.days import full_day
from service.kit.errors import Conflict, Invalid, NotFound
from service.recipients.rules import read_case_number
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.safety.queries import concern, incident, review
from service.safety.rules import (
    SKIN,
    IncidentKind,
    SkinLimits,
    aware_problem,
    closing_problem,
    in_words,
    judgement_problem,
    look_by,
    report_by,
    worst,
)
from service.safety.schemas import (
    CloseConcern,
    CloseIncident,
    ConcernTaken,
    ConcernView,
    FinishReview,
    IncidentView,
    JudgeIncident,
    RaiseConcern,
    ReportIncident,
    ReportSkin,
    ReviewView,
    SkinReported,
)
from service.safety.tables import ConcernRow, IncidentRow, ReviewTaskRow
from service.safety.team import tell_team

R = TypeVar("R", IncidentRow, ReviewTaskRow)

TAKEN = "It is passed on. Only the safeguarding lead reads it. If somebody is in danger now, ring the emergency number."


@usecase(May.REPORT_INCIDENTS)
def may_report(_work: Work) -> None:
    """Whether to show the forms that report what hurts at all; refuses as reporting would."""


@usecase(May.REPORT_INCIDENTS)
def report_skin(work: Work, case_number: str, command: ReportSkin, limits: SkinLimits) -> SkinReported:
    """Record what was seen on the skin, and start what follows from it; returns what to tell the wearer, first of all.

    Sent twice on a day, the same thing starts one review or one incident. Raises NotFound for a case not theirs to
    see, Invalid for a device that is not of the case.
    """
    person = _whose(work, case_number)
    device_id = _device(work, person, command.device)
    seen = worst(command.signs)
    advice = SKIN[seen]
    words = f"{in_words(command.signs, limits)} {command.words}".strip()
    due_on = look_by(advice.look, work.today, limits)
    opened = None
    if advice.opens_incident:
        opened = _incident(work, person, IncidentKind.SKIN, words, device_id)
        tell_team(work, person, advice, f"incident:{opened.id}", f"/incidents/{opened.id}")
    elif due_on is not None:
        task = ReviewTaskRow(
            recipient_id=person.id,
            device_id=device_id,
            seen=seen,
            words=words,
            due_on=due_on,
            opened_at=work.now,
            opened_by=work.actor.name,
        )
        task = _same_review(work, task) or _added(work, task, "review")
        due_on = task.due_on
        tell_team(work, person, advice, f"review:{task.id}", f"/reviews/{task.id}", due_on=due_on)
    else:
        note(work, "recorded", "skin", recipient_id=person.id, changes={"seen": [None, seen.value]})
    then = advice.then.format(day=full_day(due_on)) if due_on else advice.then
    return SkinReported(
        seen=seen, say=advice.say, then=then, review_due_on=due_on, incident=opened.id if opened else None
    )


@usecase(May.REPORT_INCIDENTS)
def report_incident(work: Work, case_number: str, command: ReportIncident) -> int:
    """Open an incident; returns its id. Sent twice on a day, the same one is opened once.

    Raises NotFound for a case not theirs to see, Invalid for a day to come or a device that is not of the case.
    """
    person = _whose(work, case_number)
    aware_on = command.aware_on or work.today
    if (problem := aware_problem(aware_on, work.today)) is not None:
        raise Invalid.at("aware_on", problem)
    device_id = _device(work, person, command.device)
    row = _incident(work, person, command.kind, command.words, device_id, aware_on=aware_on)
    tell_team(work, person, None, f"incident:{row.id}", f"/incidents/{row.id}")
    return row.id


@usecase(May.JUDGE_INCIDENTS)
def judge(work: Work, incident_id: int, command: JudgeIncident) -> IncidentView:
    """Judge how serious an incident is, by name; judged again, the audit keeps what was said before.

    Raises Invalid when a serious one does not say in which way, Conflict for one that is closed.
    """
    before = incident(work, incident_id)  # raises NotFound for what is not the actor's
    if (problem := judgement_problem(command.clock, serious=command.serious)) is not None:
        raise Invalid.at("clock", problem)
    row = work.session.get_one(IncidentRow, incident_id, with_for_update=True, populate_existing=True)
    if row.closed_at is not None:
        raise Conflict(
            f"{row.closed_by} has closed this, so its judgement stays. If more has happened, report it anew."
        )
    row.serious, row.judged_why = command.serious, command.why
    row.judged_at, row.judged_by = work.now, work.actor.name
    row.report_by = report_by(command.clock, row.aware_on) if command.clock else None
    changes = {
        "serious": [before.serious, command.serious],
        "why": [before.judged_why, command.why],
        "report_by": [
            before.report_by.isoformat() if before.report_by else None,
            row.report_by.isoformat() if row.report_by else None,
        ],
    }
    note(work, "judged", "incident", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return incident(work, incident_id)


@usecase(May.JUDGE_INCIDENTS)
def close_incident(work: Work, incident_id: int, command: CloseIncident) -> IncidentView:
    """Close an incident, by name, with what came of it.

    Raises Conflict for one that nobody has judged and for one closed already, Invalid when a serious one does not say
    whether it was reported.
    """
    incident(work, incident_id)  # raises NotFound for what is not the actor's
    row = work.session.get_one(IncidentRow, incident_id, with_for_update=True, populate_existing=True)
    if row.closed_at is not None:
        raise Conflict(f"{row.closed_by} has closed this already. If more has happened, report it anew.")
    if row.serious is None:
        raise Conflict("Nobody has judged this yet. Judge how serious it is, then close it.")
    found = closing_problem(
        command.reported_on,
        command.not_reported_why,
        serious=row.serious,
        aware_on=row.aware_on,
        today=work.today,
    )
    if found is not None:
        raise Invalid.at(*found)
    row.closed_at, row.closed_by, row.outcome = work.now, work.actor.name, command.outcome
    row.reported_on, row.not_reported_why = command.reported_on, command.not_reported_why or None
    reported = row.reported_on.isoformat() if row.reported_on else None
    changes = {"outcome": [None, row.outcome], "reported_on": [None, reported]}
    if row.not_reported_why:
        changes["not_reported_why"] = [None, row.not_reported_why]
    note(work, "closed", "incident", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return incident(work, incident_id)


@usecase(May.JUDGE_INCIDENTS)
def finish_review(work: Work, review_id: int, command: FinishReview) -> ReviewView:
    """Record what was found when somebody looked; raises Conflict when it is done already."""
    review(work, review_id)  # raises NotFound for what is not the actor's
    row = work.session.get_one(ReviewTaskRow, review_id, with_for_update=True, populate_existing=True)
    if row.done_at is not None:
        raise Conflict(f"{row.done_by} has looked at this already. If something is to be seen again, report it anew.")
    row.done_at, row.done_by, row.outcome = work.now, work.actor.name, command.outcome
    note(work, "looked", "review", subject_id=row.id, recipient_id=row.recipient_id)
    work.session.flush()  # the view reads what was just written
    return review(work, review_id)


@usecase(May.RAISE_CONCERN)
def may_raise(_work: Work) -> None:
    """Whether to show the form for a concern at all."""


@usecase(May.RAISE_CONCERN)
def raise_concern(work: Work, command: RaiseConcern) -> ConcernTaken:
    """Pass a worry on to the safeguarding lead.

    It leaves no trace but its own row: no audit entry, no message, nothing in the case. A case number that is not the
    actor's to see is kept as they wrote it, and the answer does not tell whether there is such a case.
    """
    about, person = command.about, None
    if work.actor.recipient_id is not None:
        person = work.session.get_one(RecipientRow, work.actor.recipient_id)
    elif command.case_number:
        number = read_case_number(command.case_number)
        mine = sa.select(RecipientRow).where(RecipientRow.case_number == number, visible(work.actor, work.today))
        person = work.session.scalars(mine).one_or_none()
        about = about if person else f"{about} (case {command.case_number})"
    site_id = person.site_id if person else site_choice(work, command.site)
    work.session.add(
        ConcernRow(
            site_id=site_id,
            recipient_id=person.id if person else None,
            about=about,
            words=command.words,
            raised_at=work.now,
            raised_by=work.actor.name,
            reach=command.reach,
        )
    )
    return ConcernTaken(said=TAKEN)


@usecase(May.READ_CONCERNS)
def open_concern(work: Work, concern_id: int) -> ConcernView:
    """Read a concern; when it was first read is kept with it."""
    found = concern(work, concern_id)  # raises NotFound for what is not the lead's
    if found.read_at is None:
        unread = sa.update(ConcernRow).where(ConcernRow.id == concern_id, ConcernRow.read_at.is_(None))
        work.session.execute(unread.values(read_at=work.now))
    return found


@usecase(May.READ_CONCERNS)
def close_concern(work: Work, concern_id: int, command: CloseConcern) -> ConcernView:
    """Record what came of a concern; raises Conflict when it is closed already."""
    concern(work, concern_id)  # raises NotFound for what is not the lead's
    row = work.session.get_one(ConcernRow, concern_id, with_for_update=True, populate_existing=True)
    if row.closed_at is not None:
        raise Conflict("This concern is closed already. What came of it stays as it was written.")
    row.read_at = row.read_at or work.now
    row.closed_at, row.outcome = work.now, command.outcome
    work.session.flush()  # the view reads what was just written
    return concern(work, concern_id)


def _whose(work: Work, case_number: str) -> RecipientRow:
    """The recipient, locked: of two reports sent at once the second sees the first."""
    mine = sa.select(RecipientRow).where(
        RecipientRow.case_number == read_case_number(case_number), visible(work.actor, work.today)
    )
    found = work.session.scalars(mine.with_for_update(of=RecipientRow)).one_or_none()
    if found is None:
        raise NotFound("There is no case with this number among those you may see.")
    return found


def _device(work: Work, person: RecipientRow, device_id: int | None) -> int | None:
    own = sa.select(DeviceRow.id).where(DeviceRow.id == device_id, DeviceRow.recipient_id == person.id)
    if device_id is not None and work.session.scalar(own) is None:
        raise Invalid.at("device", "This case has no such device. Choose one of its own.")
    return device_id


def _same_review(work: Work, task: ReviewTaskRow) -> ReviewTaskRow | None:
    same = sa.select(ReviewTaskRow).where(
        ReviewTaskRow.recipient_id == task.recipient_id,
        ReviewTaskRow.seen == task.seen,
        ReviewTaskRow.words == task.words,
        ReviewTaskRow.due_on == task.due_on,
        ReviewTaskRow.done_at.is_(None),
    )
    return work.session.scalars(same).first()


def _incident(
    work: Work,
    person: RecipientRow,
    kind: IncidentKind,
    words: str,
    device_id: int | None,
    *,
    aware_on: date | None = None,
) -> IncidentRow:
    row = IncidentRow(
        recipient_id=person.id,
        device_id=device_id,
        kind=kind,
        words=words,
        aware_on=aware_on or work.today,
        opened_at=work.now,
        opened_by=work.actor.name,
    )
    same = sa.select(IncidentRow).where(
        IncidentRow.recipient_id == person.id,
        IncidentRow.kind == kind,
        IncidentRow.words == words,
        IncidentRow.aware_on == row.aware_on,
        IncidentRow.serious.is_(None),
    )
    return work.session.scalars(same).first() or _added(work, row, "incident")


def _added(work: Work, row: R, subject: str) -> R:
    work.session.add(row)
    work.session.flush()  # the id is needed
    note(work, "opened", subject, subject_id=row.id, recipient_id=row.recipient_id)
    return row
