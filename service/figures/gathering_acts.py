"""Reading what figures are made from, as it was on a day: incidents, notices, follow-up checks, what prints took."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.builds.tables import BuildRow, PrintRow
from service.figures.facts import Happened, Look, Noticed, Spent
from service.figures.gathering import at
from service.gate.checklists import CheckKind
from service.gate.tables import CheckRow
from service.handovers.tables import FittingRow, FollowUpRow
from service.notices.tables import NoticeRow
from service.recipients.tables import RecipientRow
from service.safety.tables import IncidentRow


def incidents(work: Work, until: date, sites: Collection[int] | None = None) -> list[Happened]:
    """Every incident the charity knew of by a day."""
    found = (
        sa.select(IncidentRow)
        .join(RecipientRow, RecipientRow.id == IncidentRow.recipient_id)
        .where(IncidentRow.aware_on <= until, at(sites))
    )
    return [
        Happened(
            kind=row.kind,
            aware_on=row.aware_on,
            serious=row.serious if _by(work, row.judged_at, until) is not None else None,
            report_by=row.report_by,
            reported_on=row.reported_on if row.reported_on is not None and row.reported_on <= until else None,
            closed_on=_by(work, row.closed_at, until),
        )
        for row in work.session.scalars(found)
    ]


def notices(work: Work, until: date) -> list[Noticed]:
    """Every safety notice opened by a day; they are about things, so no site has its own."""
    opened = ((row, _by(work, row.opened_at, until)) for row in work.session.scalars(sa.select(NoticeRow)))
    return [Noticed(row.kind, on, _by(work, row.closed_at, until)) for row, on in opened if on is not None]


def looks(work: Work, until: date, sites: Collection[int] | None = None) -> list[Look]:
    """Every follow-up check due by a day, and the first that counts for it."""
    done = (
        sa.select(sa.func.min(CheckRow.checked_on))
        .where(
            CheckRow.build_id == FollowUpRow.build_id,
            CheckRow.kind == CheckKind.FOLLOW_UP,
            CheckRow.checked_on >= FollowUpRow.counts_from,
            CheckRow.checked_on <= until,
        )
        .scalar_subquery()
    )
    found = (
        sa.select(FollowUpRow.name, SiteRow.name, FollowUpRow.due_on, done)
        .join(RecipientRow, RecipientRow.id == FollowUpRow.recipient_id)
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .where(FollowUpRow.due_on <= until, at(sites))
    )
    return [Look(*row) for row in work.session.execute(found)]


def spent(work: Work, until: date, sites: Collection[int] | None = None) -> list[Spent]:
    """What the prints of each build took by a day, failed ones too, and when it was fitted."""
    fitted = sa.select(sa.func.max(FittingRow.fitted_on)).where(
        FittingRow.build_id == BuildRow.id, FittingRow.fitted_on <= until
    )
    found = (
        sa.select(
            BuildRow.recipient_id,
            SiteRow.name,
            BuildRow.device_id,
            fitted.scalar_subquery(),
            sa.func.coalesce(sa.func.sum(PrintRow.cents), 0),
            sa.func.coalesce(sa.func.sum(PrintRow.hours), 0.0),
        )
        .join(PrintRow, PrintRow.build_id == BuildRow.id)
        .join(SiteRow, SiteRow.id == BuildRow.site_id)
        .join(RecipientRow, RecipientRow.id == BuildRow.recipient_id)
        .where(PrintRow.printed_on <= until, at(sites))
        .group_by(BuildRow.id, BuildRow.recipient_id, SiteRow.name, BuildRow.device_id)
    )
    return [
        Spent(row[0], row[1], row[2], row[3], int(row[4] or 0), float(row[5] or 0))
        for row in work.session.execute(found)
    ]


def _by(work: Work, moment: datetime | None, until: date) -> date | None:
    """The day of a moment where the register is kept, if it was by a day."""
    on = moment.astimezone(work.now.tzinfo).date() if moment is not None else None
    return on if on is not None and on <= until else None
