"""Reading the work list and whole cases, narrowed to what the actor may see."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime
from typing import Any, TypeVar

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.assembly.queries import stays
from service.audit.tables import AuditRow
from service.casefile import worklist
from service.casefile.asked import asked_for
from service.casefile.items import items
from service.casefile.rules import Kind
from service.casefile.schemas import CaseFile, ParticularsChange, StateChange, WorkCounts, WorkFilter, WorkItem
from service.casefile.signs import signs
from service.devices.queries import histories, sock_reports, worn_sockets
from service.growth.leads import lead_days_at
from service.growth.queries import forecasts
from service.kit.errors import Invalid
from service.kit.paging import Listing, Page, after, decode, encode
from service.measurements.queries import measurements
from service.outcomes.queries import follow_ups, goals
from service.recipients.queries import recipient, seen_recipient
from service.recipients.rules import CaseState
from service.recipients.schemas import SeenRecipient

T = TypeVar("T")

MOST_ITEMS = 200
"""The longest page there is."""

TOLD = ("birth_date", "sex", "latex_allergy", "skin_allergies", "prescriber_name")
"""Particulars whose changes belong to the history of a case."""


@usecase(May.SEE_CASES)
def work_list(work: Work, wanted: WorkFilter) -> Page[WorkItem]:
    """What is to be done: first sockets reported or measured tight, then those probably tight, then by day."""
    every = _keys(work, wanted, [wanted.kind] if wanted.kind else list(Kind))
    order = (every.c.rank, every.c.act_by, every.c.kind, every.c.subject)
    statement = sa.select(every).order_by(*order).limit(wanted.limit + 1)
    if wanted.cursor is not None:
        statement = statement.where(after(order, _position(wanted.cursor)))
    rows = work.session.execute(statement).all()
    shown = rows[: wanted.limit]
    last = shown[-1] if len(rows) > len(shown) else None
    more = encode((last.rank, last.act_by.isoformat(), last.kind, last.subject)) if last else None
    return Page(items=items(work, shown), next=more)


@usecase(May.SEE_CASES)
def work_counts(work: Work, wanted: WorkFilter) -> WorkCounts:
    """How much there is to do of every kind, the kind asked for aside."""
    every = _keys(work, wanted, Kind)
    per_kind = sa.select(every.c.kind, sa.func.count()).group_by(every.c.kind)
    found = {worklist.KINDS[kind]: count for kind, count in work.session.execute(per_kind)}
    counts = {kind: found.get(kind, 0) for kind in Kind}
    sockets = work.session.execute(worklist.socket_counts(work, wanted)).mappings().one()
    return WorkCounts.model_validate({"of_kind": counts, **sockets})


@usecase(May.SEE_CASES)
def case_file(work: Work, case_number: str) -> CaseFile:
    """A case with all its history; opening it is recorded."""
    seen = seen_recipient(work, case_number)
    worn = worn_sockets(work, [seen.id])
    entries = _audited(work, seen)
    return CaseFile(
        person=recipient(work, case_number),
        lead_days=lead_days_at(work, seen.site_id),
        devices=histories(work, case_number),
        parts=stays(work, case_number),
        worn=worn,
        signs=signs(work, [each.socket for each in worn]),
        forecasts=forecasts(work, case_number),
        sessions=_every(lambda page: measurements(work, case_number, page)),
        sock_reports=_every(lambda page: sock_reports(work, case_number, page)),
        states=_states(entries, seen.state),
        changes=list(_changes(entries)),
        asked=asked_for(work, [seen.id])[seen.id],
        asks=follow_ups(work, case_number),
        goals=goals(work, case_number).items,
    )


def _every(pages: Callable[[Listing], Page[T]]) -> list[T]:
    """All pages of a list at once; a case has few."""
    page = pages(Listing(limit=MOST_ITEMS))
    found = page.items
    while page.next is not None:
        page = pages(Listing(limit=MOST_ITEMS, cursor=page.next))
        found = [*found, *page.items]
    return found


def _audited(work: Work, seen: SeenRecipient) -> Sequence[sa.Row[datetime, str, str, dict[str, Any]]]:
    """The opening of a case and the changes of its particulars, newest first.

    The recipient's row holds only what is so now; the audit alone knows what was before, since when, and by whom.
    """
    return work.session.execute(
        sa.select(AuditRow.at, AuditRow.actor, AuditRow.act, AuditRow.changes)
        .where(AuditRow.recipient_id == seen.id, AuditRow.subject == "recipient")
        .where(AuditRow.act.in_(["registered", "changed"]))
        .order_by(AuditRow.id.desc())
    ).all()


def _changes(entries: Iterable[Any]) -> Iterator[ParticularsChange]:
    """The changes that bear on safety or on who is responsible."""
    for at, actor, _act, changes in entries:
        for field in (name for name in TOLD if name in changes):
            before, after = changes[field]
            yield ParticularsChange(on=at.date(), by=actor, field=field, before=before, after=after)


def _states(entries: Iterable[Any], now: CaseState) -> list[StateChange]:
    """Where the case has stood, newest first."""
    found: list[StateChange] = []
    after = now
    for at, actor, act, changes in entries:
        before = CaseState(changes["state"][0]) if "state" in changes else None
        if before is not None or act == "registered":
            found.append(StateChange(on=at.date(), by=actor, before=before, after=after))
            after = before or after
    return found


def _keys(work: Work, wanted: WorkFilter, kinds: Iterable[Kind]) -> sa.Subquery:
    return sa.union_all(*(worklist.keys(work, wanted, kind) for kind in kinds)).subquery()


def _position(cursor: str) -> list[Any]:
    rank, day, kind, subject = decode(cursor, (int, str, int, int))
    try:
        return [rank, date.fromisoformat(day), kind, subject]
    except ValueError:
        raise Invalid.at(
            "cursor", "This cursor is not valid. Start again from the first page, without a cursor."
        ) from None
