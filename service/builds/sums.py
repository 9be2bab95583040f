"""What builds took together: hours of printing, grams and money by site, month, recipient, device or build."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.builds.schemas import Sums, SumsFilter, SumsView
from service.builds.scope import visible_builds
from service.builds.tables import BuildRow, PrintRow
from service.recipients.tables import RecipientRow


def summed(work: Work, wanted: SumsFilter) -> Sums:
    """Sums over the prints of builds the actor may see, failed ones too: they took their time and plastic as well."""
    of = _of(work, wanted.by)
    found = (
        sa.select(
            of.label("of"),
            sa.func.count(PrintRow.build_id.distinct()).label("builds"),
            sa.func.count().label("prints"),
            sa.func.count(PrintRow.failed_why).label("failed"),
            *(sa.func.coalesce(sa.func.sum(each), 0) for each in (PrintRow.hours, PrintRow.grams, PrintRow.cents)),
        )
        .select_from(PrintRow)
        .join(BuildRow, BuildRow.id == PrintRow.build_id)
        .join(RecipientRow, RecipientRow.id == BuildRow.recipient_id)
        .join(SiteRow, SiteRow.id == BuildRow.site_id)
        .where(visible_builds(work))
        .group_by(of)
        .order_by(of)
    )
    if wanted.since is not None:
        found = found.where(PrintRow.printed_on >= wanted.since)
    if wanted.until is not None:
        found = found.where(PrintRow.printed_on <= wanted.until)
    items = [
        SumsView(
            of=str(row[0] if row[0] is not None else "no device yet"),
            builds=row[1],
            prints=row[2],
            failed=row[3],
            hours=round(float(row[4]), 2),
            grams=round(float(row[5]), 1),
            cost=round(int(row[6]) / 100, 2),
        )
        for row in work.session.execute(found)
    ]
    return Sums(by=wanted.by, items=items)


def _of(work: Work, by: str) -> sa.ColumnElement[Any]:
    on_postgres = work.session.get_bind().dialect.name == "postgresql"
    month = (
        sa.func.to_char(PrintRow.printed_on, "YYYY-MM")
        if on_postgres
        else sa.func.substr(sa.cast(PrintRow.printed_on, sa.String), 1, 7)
    )
    choices: dict[str, Any] = {
        "site": SiteRow.code,
        "month": month,
        "recipient": RecipientRow.case_number,
        "device": BuildRow.device_id,
        "build": BuildRow.id,
    }
    chosen: sa.ColumnElement[Any] = choices[by]
    return chosen
