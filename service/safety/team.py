"""Telling those of the charity who may judge what was reported."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from service.access.permissions import Role
from service.access.work import Work
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow
from service.kit.days import full_day
from service.notifications.actions import tell
from service.notifications.schemas import Person
from service.recipients.tables import RecipientRow
from service.safety.rules import Advice


def tell_team(
    work: Work, person: RecipientRow, advice: Advice | None, key: str, page: str, *, due_on: date | None = None
) -> None:
    """Tell those who may judge it, once each: everybody at once where it presses, else to look by a day."""
    urgent = advice is None or advice.urgent
    roles = [Role.COORDINATOR, Role.CLINICIAN] if urgent else [Role.COORDINATOR]
    team = (
        sa.select(AccountRow.id, AccountRow.name, AccountRow.email)
        .join(AccountRoleRow, AccountRoleRow.account_id == AccountRow.id)
        .join(AccountSiteRow, AccountSiteRow.account_id == AccountRow.id)
        .where(AccountRoleRow.role.in_(roles), AccountSiteRow.site_id == person.site_id, AccountRow.closed_at.is_(None))
        .distinct()
    )
    when = "today" if urgent or due_on is None else f"by {full_day(due_on)}"
    for account in work.session.execute(team):
        tell(
            work,
            key=f"safety:{key}:{account.id}",
            to=Person(account.name, email=account.email, account_id=account.id),
            subject=f"Please look at something {when}",
            body=f"Something was reported that somebody should look at {when}. You find it here:\n\n{page}",
            urgent=urgent,
            site_id=person.site_id,
        )
