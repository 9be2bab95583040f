"""Whose cases somebody may see, and whose they look for, as SQL; every query over cases narrows itself with it."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from service.access.actor import Actor
from service.access.permissions import Role
from service.recipients.rules import fold
from service.recipients.tables import HelperRow, RecipientRow

_WHOLE_SITE = {Role.COORDINATOR, Role.CLINICIAN, Role.SAFEGUARDING_LEAD}


def visible(actor: Actor, today: date) -> sa.ColumnElement[bool]:
    """The system sees every case, a family its own, who runs a site the site's, a volunteer those they help with."""
    if Role.SYSTEM in actor.roles:
        return sa.true()
    if Role.FAMILY in actor.roles:
        return RecipientRow.id == actor.recipient_id
    at_own_site = RecipientRow.site_id.in_(actor.sites)
    if actor.roles & _WHOLE_SITE:
        return at_own_site
    helps = sa.exists().where(
        HelperRow.recipient_id == RecipientRow.id,
        HelperRow.account_id == actor.account_id,
        sa.or_(HelperRow.until.is_(None), HelperRow.until > today),
    )
    return sa.and_(at_own_site, helps)


def named(q: str) -> list[sa.ColumnElement[bool]]:
    """Recipients of whom every word of `q` begins a name, and whose case number holds its digits, spaced anyhow."""
    parts = fold(q).split()
    names = [part for part in parts if not part[0].isdigit()]
    conditions = [(sa.literal(" ") + RecipientRow.search_name).contains(f" {part}", autoescape=True) for part in names]
    if digits := "".join(part.replace("-", "") for part in parts if part[0].isdigit()):
        bare = sa.func.replace(RecipientRow.case_number, "-", "")
        conditions.append(bare.contains(digits, autoescape=True))
    return conditions
