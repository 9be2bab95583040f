"""The roles an account holds and the sites it belongs to, as the actions read and set them."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa

from service.access.permissions import Role
from service.access.work import Work
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow, SiteRow
from service.kit.errors import Conflict, Invalid


def roles(work: Work, account_id: int | None) -> set[Role]:
    """The roles an account holds."""
    held = sa.select(AccountRoleRow.role).where(AccountRoleRow.account_id == account_id)
    return set(work.session.scalars(held))


def set_roles(work: Work, account_id: int, roles: Iterable[Role]) -> None:
    """Let an account hold these roles and no other."""
    work.session.execute(sa.delete(AccountRoleRow).where(AccountRoleRow.account_id == account_id))
    work.session.add_all(AccountRoleRow(account_id=account_id, role=role) for role in sorted(roles))


def set_sites(work: Work, account_id: int, site_ids: Iterable[int]) -> None:
    """Let an account belong to these sites and no other."""
    work.session.execute(sa.delete(AccountSiteRow).where(AccountSiteRow.account_id == account_id))
    work.session.add_all(AccountSiteRow(account_id=account_id, site_id=site_id) for site_id in site_ids)


def site_ids(work: Work, codes: Iterable[str]) -> list[int]:
    """The ids of sites by code; raises Invalid naming the codes there are."""
    known = {row.code: row.id for row in work.session.execute(sa.select(SiteRow.code, SiteRow.id))}
    if not known.keys() >= set(codes):
        raise Invalid.at("sites", f"There is no site with such a code. The codes are: {', '.join(sorted(known))}.")
    return sorted(known[code] for code in codes)


def keep_an_administrator(work: Work, account_id: int) -> None:
    """Raise Conflict when this account is the only open one of an administrator."""
    # Locked, so that two administrators who close each other at the same moment cannot both succeed.
    administrators = work.session.scalars(
        sa.select(AccountRow.id)
        .join(AccountRoleRow, AccountRoleRow.account_id == AccountRow.id)
        .where(AccountRoleRow.role == Role.ADMINISTRATOR, AccountRow.closed_at.is_(None))
        .order_by(AccountRow.id)
        .with_for_update()
    ).all()
    if list(administrators) == [account_id]:
        raise Conflict("This is the last administrator. Make somebody else administrator first.")
