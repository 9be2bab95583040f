"""Reading incidents and reviews of the cases the actor may see, and concerns for the safeguarding lead alone."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import sqlalchemy as sa
from sqlalchemy import orm

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.kit.errors import NotFound
from service.kit.paging import Listing, Page, after, decode, encode
from service.recipients.rules import read_case_number
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow, SuitabilityRow
from service.safety.rules import SIGNS, SKIN, SOURCE, Clock, SkinLimits, in_words, report_by, what_follows
from service.safety.schemas import (
    ClockDay,
    ConcernView,
    IncidentFilter,
    IncidentView,
    ReviewView,
    SkinLine,
    SkinTable,
    ToLookAt,
)
from service.safety.tables import ConcernRow, IncidentRow, ReviewTaskRow

MOST_TO_LOOK_AT = 100
"""So many of each are shown at once; more would mean that nobody looks."""

_PERSON = (RecipientRow.case_number, RecipientRow.given_name, RecipientRow.family_name)


@usecase(May.SEE_INCIDENTS)
def incidents(work: Work, wanted: IncidentFilter) -> Page[IncidentView]:
    """Incidents, the newest first."""
    statement = _incidents(work).order_by(IncidentRow.id.desc()).limit(wanted.limit + 1)
    if wanted.judged is not None:
        statement = statement.where(IncidentRow.serious.is_not(None) == wanted.judged)
    if wanted.case_number is not None:
        statement = statement.where(RecipientRow.case_number == read_case_number(wanted.case_number))
    if wanted.cursor is not None:
        statement = statement.where(IncidentRow.id < decode(wanted.cursor, (int,))[0])
    found = [_incident(row) for row in work.session.execute(statement).mappings()]
    shown = found[: wanted.limit]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(found) > len(shown) else None)


@usecase(May.SEE_INCIDENTS)
def incident(work: Work, incident_id: int) -> IncidentView:
    """One incident; raises NotFound for one of a case that is not theirs to see."""
    row = work.session.execute(_incidents(work).where(IncidentRow.id == incident_id)).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no incident with this number among those you may see.")
    return _incident(row)


@usecase(May.SEE_INCIDENTS)
def reviews(work: Work, wanted: Listing) -> Page[ReviewView]:
    """Reviews still to be done, the first due first."""
    order = (ReviewTaskRow.due_on, ReviewTaskRow.id)
    statement = _reviews(work).where(ReviewTaskRow.done_at.is_(None)).order_by(*order).limit(wanted.limit + 1)
    if wanted.cursor is not None:
        last = review(work, decode(wanted.cursor, (int,))[0])
        statement = statement.where(after(order, (last.due_on, last.id)))
    found = [_review(row) for row in work.session.execute(statement).mappings()]
    shown = found[: wanted.limit]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(found) > len(shown) else None)


@usecase(May.SEE_INCIDENTS)
def review(work: Work, review_id: int) -> ReviewView:
    """One review, done or not; raises NotFound for one of a case that is not theirs to see."""
    row = work.session.execute(_reviews(work).where(ReviewTaskRow.id == review_id)).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no review with this number among those you may see.")
    return _review(row)


@usecase(May.SEE_INCIDENTS)
def to_look_at(work: Work) -> ToLookAt:
    """What waits for somebody to look at it."""
    unjudged = IncidentFilter(judged=False, limit=MOST_TO_LOOK_AT)
    return ToLookAt(
        incidents=incidents(work, unjudged).items, reviews=reviews(work, Listing(limit=MOST_TO_LOOK_AT)).items
    )


@usecase(May.SEE_INCIDENTS)
def skin_table(_work: Work, limits: SkinLimits) -> SkinTable:
    """What is said about the skin, with the limits in use and their source."""
    lines = [
        SkinLine(
            seen=seen,
            signs=[in_words([sign], limits) for sign, (amounts_to, _) in SIGNS.items() if amounts_to is seen],
            say=advice.say,
            does=what_follows(advice, limits),
        )
        for seen, advice in SKIN.items()
    ]
    return SkinTable(lines=lines, **asdict(limits), source=SOURCE)


@usecase(May.READ_CONCERNS)
def concerns(work: Work, wanted: Listing) -> Page[ConcernView]:
    """Concerns of the lead's sites, the newest first. That they were looked at is kept with each, nowhere else."""
    statement = _concerns(work).order_by(ConcernRow.id.desc()).limit(wanted.limit + 1)
    if wanted.cursor is not None:
        statement = statement.where(ConcernRow.id < decode(wanted.cursor, (int,))[0])
    found = [ConcernView.model_validate({**row}) for row in work.session.execute(statement).mappings()]
    shown = found[: wanted.limit]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(found) > len(shown) else None)


@usecase(May.READ_CONCERNS)
def concern(work: Work, concern_id: int) -> ConcernView:
    """One concern; raises NotFound for one of a site that is not the lead's."""
    row = work.session.execute(_concerns(work).where(ConcernRow.id == concern_id)).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no concern with this number among those you may read.")
    return ConcernView.model_validate({**row})


def _incidents(work: Work) -> sa.Select[*tuple[Any, ...]]:
    return (
        sa.select(IncidentRow.__table__, IncidentRow.device_id.label("device"), *_PERSON)
        .join(RecipientRow, RecipientRow.id == IncidentRow.recipient_id)
        .where(visible(work.actor, work.today))
    )


def _incident(row: sa.RowMapping) -> IncidentView:
    clocks = [
        ClockDay(clock=each, words=each.label, days=each.days, report_by=report_by(each, row["aware_on"]))
        for each in Clock
    ]
    return IncidentView.model_validate({**row, "clocks": clocks})


def _reviews(work: Work) -> sa.Select[*tuple[Any, ...]]:
    return (
        sa.select(
            *(ReviewTaskRow.__table__, ReviewTaskRow.device_id.label("device"), *_PERSON),
            *(SuitabilityRow.watch_for, SuitabilityRow.noted_by, SuitabilityRow.noted_on),
        )
        .join(RecipientRow, RecipientRow.id == ReviewTaskRow.recipient_id)
        .outerjoin(SuitabilityRow, sa.and_(SuitabilityRow.id == _newest_note(), SuitabilityRow.watch_for != ""))
        .where(visible(work.actor, work.today))
    )


def _newest_note() -> sa.ScalarSelect[int]:
    """The clinician's note that counts, of the recipient of a review."""
    note = orm.aliased(SuitabilityRow)
    of = sa.select(note.id).where(note.recipient_id == RecipientRow.id).order_by(note.noted_on.desc(), note.id.desc())
    return of.limit(1).correlate(RecipientRow).scalar_subquery()


def _review(row: sa.RowMapping) -> ReviewView:
    return ReviewView.model_validate({**row, "said": SKIN[row["seen"]].say})


def _concerns(work: Work) -> sa.Select[*tuple[Any, ...]]:
    return (
        sa.select(
            ConcernRow.__table__,
            SiteRow.name.label("site_name"),
            RecipientRow.case_number,
            RecipientRow.given_name,
        )
        .join(SiteRow, SiteRow.id == ConcernRow.site_id)
        .outerjoin(RecipientRow, RecipientRow.id == ConcernRow.recipient_id)
        .where(ConcernRow.site_id.in_(work.actor.sites))
    )
