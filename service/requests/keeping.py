"""What every act on a request does the same way: find it, see that its need is free, write it, settle it."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from service.access.work import Work
from service.audit.actions import note
from service.kit.days import full_day
from service.kit.errors import Conflict, FieldError, NotFound
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.requests.followups import tell_it_is_settled
from service.requests.naming import Named
from service.requests.rules import UNSETTLED, RequestState, part_key, settled_problem
from service.requests.tables import RequestPartRow, RequestRow, WaitRow


def own(work: Work, request_id: int, *, settled: bool = False) -> RequestRow:
    """A request of a case the actor may see, locked; raises NotFound, and Conflict for one settled unless asked for."""
    mine = (
        sa.select(RequestRow)
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .where(RequestRow.id == request_id, visible(work.actor, work.today))
    )
    row = work.session.scalars(mine.with_for_update(of=RequestRow)).one_or_none()
    if row is None:
        raise NotFound("There is no request with this number among those you may see.")
    problem = settled_problem(row.state, row.settled_at.date() if row.settled_at else None)
    if problem is not None and not settled:
        raise Conflict(problem)
    return row


def lock_case(work: Work, request_id: int) -> None:
    """Lock the case of a request, as whoever asks does: what is asked for there is read and written by one at a time.

    Taken before any request is locked, so that nobody waits for somebody who waits for them.
    """
    of = sa.select(RequestRow.recipient_id).where(RequestRow.id == request_id).scalar_subquery()
    work.session.execute(sa.select(RecipientRow.id).where(RecipientRow.id == of).with_for_update())


def asked_already(work: Work, row: RequestRow, parts: Iterable[Named]) -> Conflict | None:
    """The refusal that names the first request for the same need, or for one of the same parts; None if there is none.

    Whoever asks holds the lock on the case, so nobody else adds one meanwhile.
    """
    same = sa.select(RequestRow).where(RequestRow.need == row.need, RequestRow.state.in_(UNSETTLED))
    first = work.session.scalars(same).first()
    if first is not None:
        return refusal(first, None)
    wanted = {part.key: part for part in parts}
    for each, asked in _parts_asked_for(work, row):
        if (part := wanted.get(part_key(each.place_id, each.kind.value, each.digit, each.happened))) is not None:
            return refusal(asked, part)
    return None


def write(work: Work, row: RequestRow, parts: Iterable[Named]) -> Conflict | None:
    """Write a request with its parts; the refusal if somebody else was quicker, or None."""
    try:
        with work.session.begin_nested():
            work.session.add(row)
            work.session.flush()
            for part in parts:
                part.row.request_id = row.id
                work.session.add(part.row)
    except IntegrityError:
        same = sa.select(RequestRow).where(RequestRow.need == row.need, RequestRow.state.in_(UNSETTLED))
        first = work.session.scalars(same).first()
        if first is None:
            raise
        return refusal(first, None)
    return None


def settle(work: Work, row: RequestRow, state: RequestState, why: str) -> None:
    """Answer a request or close it, in one act with its waits; `why` is kept."""
    before = row.state
    row.state, row.settled_at, row.settled_by, row.settled_why = state, work.now, work.actor.name, why
    work.session.execute(
        sa.update(WaitRow)
        .where(WaitRow.request_id == row.id, WaitRow.until.is_(None))
        .values(until=work.today)
        .execution_options(synchronize_session=False)
    )
    changes = {"state": [before.value, state.value], "why": ["", why]}
    note(work, state.value, "request", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    tell_it_is_settled(work, row.id)
    work.session.flush()  # what is read next finds it settled


def refusal(first: RequestRow, part: Named | None) -> Conflict:
    """Why the same is not asked for twice, naming the first."""
    about = "This" if part is None else "One of these parts"
    on = full_day(first.asked_at.date())
    said = (
        f"{about} is asked for already: request {first.id}, opened on {on}, is {first.state.value}. "
        "Add what is new to that one."
    )
    return Conflict(said, fields=(FieldError("kind" if part is None else "parts", said),))


def _parts_asked_for(work: Work, row: RequestRow) -> Iterable[tuple[RequestPartRow, RequestRow]]:
    rows = work.session.execute(
        sa.select(RequestPartRow, RequestRow)
        .join(RequestRow, RequestRow.id == RequestPartRow.request_id)
        .where(
            RequestRow.recipient_id == row.recipient_id,
            RequestRow.state.in_(UNSETTLED),
            RequestRow.device_id.is_not_distinct_from(row.device_id),
        )
        .order_by(RequestRow.id)
    )
    return [(row[0], row[1]) for row in rows]
