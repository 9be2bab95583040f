"""Who acts for an account when it is not signed in, such as by a link of its own."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.actor import Actor
from service.access.work import Work
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow


def acting_as(work: Work, account_id: int) -> Actor | None:
    """The actor an account is today, with the roles and sites it holds; None for one that is closed or holds none."""
    rows = work.session.execute(
        sa.select(AccountRow.name, AccountRoleRow.role, AccountSiteRow.site_id)
        .join(AccountRoleRow, AccountRoleRow.account_id == AccountRow.id)
        .join(AccountSiteRow, AccountSiteRow.account_id == AccountRow.id)
        .where(AccountRow.id == account_id, AccountRow.closed_at.is_(None))
    ).all()
    if not rows:
        return None
    roles, sites = frozenset(row.role for row in rows), frozenset(row.site_id for row in rows)
    return Actor(rows[0].name, roles, sites, account_id)
