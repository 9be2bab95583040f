"""Whose cases somebody may see, as SQL; every query over cases narrows itself with it."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from service.access.actor import Actor
from service.access.permissions import Role
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
