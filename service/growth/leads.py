"""How long making takes at a site: learned from its requests where there were enough, else as it is set.

Whatever says "making takes … here" asks here, so that no two pages say two numbers.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.growth.lead import Lead
from service.growth.tables import LearnedLeadRow

OF_SITE = (SiteRow.lead_days, LearnedLeadRow.median_days, LearnedLeadRow.log_sd, LearnedLeadRow.learned_from)
"""What `lead_of_site` reads, of a site with an outer join to what was learned there."""


def lead_of_site(row: Any) -> Lead:
    """The lead time that counts at the site of a row with `OF_SITE`."""
    return Lead.of(row.lead_days) if row.median_days is None else lead_in(row)


def lead_in(row: Any) -> Lead:
    """The lead time in a row of what was learned."""
    return Lead(row.median_days, row.log_sd, row.learned_from)


def lead_days() -> sa.ColumnElement[int]:
    """`Lead.days` of what counts at the site in a statement that has `SiteRow`."""
    learned = sa.select(LearnedLeadRow.days).where(LearnedLeadRow.site_id == SiteRow.id).correlate(SiteRow)
    return sa.func.coalesce(learned.scalar_subquery(), SiteRow.lead_days, type_=sa.Integer)


def lead_days_at(work: Work, site_id: int) -> int:
    """`Lead.days` of what counts at a site."""
    return work.session.scalars(sa.select(lead_days()).where(SiteRow.id == site_id)).one()
