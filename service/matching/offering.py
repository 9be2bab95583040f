"""Making offers and settling them: what every act that asks a volunteer has in common."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from service.access.work import Work
from service.audit.actions import note
from service.kit.days import full_day
from service.kit.jobs import enqueue
from service.kit.passwords import fingerprint, random_text
from service.matching import planning
from service.matching.facts import Job, Volunteer, days_on_the_way, delivers, first_day, hours_of
from service.matching.gathering import gather
from service.matching.rows import as_weights, weights_of
from service.matching.rules import LAPSES_AFTER, OfferState
from service.matching.tables import OfferRow
from service.notifications.actions import tell
from service.notifications.queries import wishes
from service.notifications.schemas import Person
from service.recipients.rules import Reach
from service.recipients.tables import RecipientRow
from service.requests.rules import RequestState
from service.requests.tables import RequestRow
from service.volunteers.tables import VolunteerRow

LAPSE = "offers.lapse"
"""Let an offer lapse that nobody answered; the subject is the offer."""

TIDY = "offers.tidy"
"""Take back offers for what is not needed any more."""


@dataclass(frozen=True)
class Asking:
    """Whom to ask to make what, by when, and why them."""

    volunteer: Volunteer
    job: Job
    because: str
    deadline: date
    plan_id: int | None = None


def asking(volunteer: Volunteer, job: Job, today: date, *, plan_id: int | None = None) -> Asking:
    """Asking somebody for one job, beside what they have in hand."""
    done = first_day(volunteer, today, hours_of(volunteer, job)) or job.needed_by
    there = done + timedelta(days=days_on_the_way(volunteer, job, today))
    because = planning.because(volunteer, job, there, today)
    return Asking(volunteer, job, because, max(there, job.needed_by), plan_id)


def offer_to(work: Work, ask: Asking) -> tuple[OfferRow, str] | None:
    """Write an offer down, with the secret text of its link; None when somebody was quicker to ask or to agree."""
    token = random_text()
    row = OfferRow(
        request_id=ask.job.id,
        volunteer_id=ask.volunteer.id,
        plan_id=ask.plan_id,
        printer_id=None,
        token_hash=fingerprint(token),
        why=ask.because,
        deadline=ask.deadline,
        hours=round(hours_of(ask.volunteer, ask.job), 2),
        delivers=ask.job.visit or delivers(ask.volunteer, ask.job, work.today),
        state=OfferState.WAITING,
        offered_at=work.now,
        offered_by=work.actor.name,
        lapses_at=work.now + LAPSES_AFTER[ask.job.rank],
        answered_at=None,
    )
    try:
        with work.session.begin_nested():
            work.session.add(row)
    except IntegrityError:
        return None
    payload = {"offer_id": row.id}
    key = f"{LAPSE}:{row.id}"
    enqueue(work.session, LAPSE, now=work.now, key=key, subject_id=row.id, payload=payload, run_at=row.lapses_at)
    _told(work, row, ask.job, token)
    noted(work, "offered", row)
    return row, token


def _told(work: Work, row: OfferRow, job: Job, token: str) -> None:
    """Tell the volunteer, with the link; the message names nobody and says nothing of a limb."""
    whom = work.session.get_one(VolunteerRow, row.volunteer_id)
    urgent = job.rank == 1
    by = _asked_by(work, whom, urgent=urgent)
    to = Person(whom.name, email=whom.email, phone=whom.phone, reach_by=by, account_id=whom.account_id)
    hours = f"about {row.hours:.1f} hours"
    body = (
        f"Would you make something by {full_day(row.deadline)}? It takes {hours} of your time.\n\n"
        f"Look at it, and say yes or no with a tap:\n/offers/{token}\n\n"
        f"Without an answer by {full_day(row.lapses_at.date())} somebody else is asked; nobody minds."
    )
    tell(
        work,
        key=f"offer:{row.id}",
        to=to,
        subject="Would you make this?",
        body=body,
        urgent=urgent,
        site_id=whom.site_id,
    )


def tell_not_needed(work: Work, row: OfferRow, *, accepted: bool) -> None:
    """Tell a volunteer that what they were asked to make, or make already, is not needed any more."""
    whom = work.session.get_one(VolunteerRow, row.volunteer_id)
    to = Person(whom.name, email=whom.email, phone=whom.phone, reach_by=_reached(whom), account_id=whom.account_id)
    body = (
        "What you agreed to make is not needed any more. Please stop, and keep what is ready: your coordinator will "
        "say what becomes of it. Thank you."
        if accepted
        else "You were asked to make something. It is not needed any more, so there is nothing to do. Thank you."
    )
    key, subject = f"offer:{row.id}:over", "It is not needed any more"
    tell(work, key=key, to=to, subject=subject, body=body, urgent=accepted, site_id=whom.site_id)


def _reached(whom: VolunteerRow) -> Reach:
    return Reach.MAIL if whom.email else Reach.PHONE


def _asked_by(work: Work, whom: VolunteerRow, *, urgent: bool) -> Reach:
    """As they are reached; who stopped mail and has no account is rung, since a question would reach them nowhere."""
    stopped = whom.account_id is None and not urgent and not wishes(work, None, whom.email).wants_mail
    return Reach.PHONE if stopped else _reached(whom)


def settle(work: Work, offer_id: int, state: OfferState, why: str = "", *, was: Collection[OfferState]) -> bool:
    """Move an offer on, if it still stands where it is thought to; False when somebody was quicker."""
    moved = (
        sa.update(OfferRow)
        .where(OfferRow.id == offer_id, OfferRow.state.in_(was))
        .values(state=state, answered_at=work.now, answer_why=why)
    )
    answer = work.session.execute(moved, execution_options={"synchronize_session": False})
    done = bool(answer.rowcount == 1)  # type: ignore[attr-defined]
    row = work.session.get_one(OfferRow, offer_id, populate_existing=True)
    if done:
        noted(work, state.value, row, why)
    return done


def is_needed(work: Work, request_id: int) -> bool:
    """Whether a request still waits for somebody to make it; locked, so that it is not closed in the same moment."""
    found = sa.select(RequestRow.state, RequestRow.settled_at).where(RequestRow.id == request_id)
    row = work.session.execute(found.with_for_update(of=RequestRow)).one()
    return row.settled_at is None and row.state is RequestState.OPEN


def ask_the_next(work: Work, request_id: int, plan_id: int | None) -> OfferRow | None:
    """Offer a request to whoever is cheapest of those not asked yet; None when nobody is left, or it is not needed."""
    if not is_needed(work, request_id):
        return None
    site_id = work.session.scalars(
        sa.select(RecipientRow.site_id)
        .join(RequestRow, RequestRow.recipient_id == RecipientRow.id)
        .where(RequestRow.id == request_id)
    ).one()
    found = gather(work, site_id, request_id)
    asked = _asked(work, [each.id for each in found.volunteers])
    volunteers = {each.id: each for each in found.volunteers}
    job = found.jobs[0]
    for candidate in planning.candidates(found.volunteers, job, as_weights(weights_of(work, site_id)), work.today):
        volunteer = volunteers[candidate.volunteer]
        busy = volunteer.in_hand + asked.get(volunteer.id, 0) >= volunteer.jobs_at_once
        if candidate.eligible and not busy:
            made = offer_to(work, asking(volunteer, job, work.today, plan_id=plan_id))
            return made[0] if made is not None else None
    return None


def noted(work: Work, act: str, row: OfferRow, why: str = "") -> None:
    """The audit's entry of what was done with an offer, in the case it belongs to."""
    recipient_id = work.session.scalar(sa.select(RequestRow.recipient_id).where(RequestRow.id == row.request_id))
    changes: dict[str, Any] = {"volunteer": [None, row.volunteer_id], "request": [None, row.request_id]}
    if why:
        changes["why"] = [None, why]
    note(work, act, "offer", subject_id=row.id, recipient_id=recipient_id, changes=changes)


def _asked(work: Work, volunteer_ids: list[int]) -> dict[int, int]:
    rows = work.session.execute(
        sa.select(OfferRow.volunteer_id, sa.func.count())
        .where(OfferRow.volunteer_id.in_(volunteer_ids), OfferRow.state == OfferState.WAITING)
        .group_by(OfferRow.volunteer_id)
    )
    return {row[0]: row[1] for row in rows}
