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
    """The system sees every case, those who run a site see the site's, a volunteer those they help with now."""
    if Role.SYSTEM in actor.roles:
        return sa.true()
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
    """Recipients of whom every word of `q` begins a name, or their case number."""
    conditions: list[sa.ColumnElement[bool]] = []
    for part in fold(q).split():
        if part[0].isdigit():
            digits = part.replace("-", "")
            shown = digits if len(digits) <= 3 else f"{digits[:3]}-{digits[3:]}"
            conditions.append(RecipientRow.case_number.startswith(shown, autoescape=True))
        else:
            conditions.append((sa.literal(" ") + RecipientRow.search_name).contains(f" {part}", autoescape=True))
    return conditions
