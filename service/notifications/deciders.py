"""Whom to tell of a family: whoever has parental responsibility, or else whoever is on record."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.work import Work
from service.notifications.actions import tell_family
from service.notifications.families import FamilyMessage
from service.recipients.rules import Responsibility
from service.recipients.tables import ContactRow


def tell_deciders(
    work: Work, message: FamilyMessage, about: object, *, recipient_id: int, urgent: bool = False, **filled: object
) -> int:
    """Tell each contact of a case who may decide for it, or every one where nobody may; how many there are.

    Part of another act, which was permitted; as `tell_family`, each contact is told the same once.
    """
    current = sa.select(ContactRow).where(ContactRow.recipient_id == recipient_id, ContactRow.ended_on.is_(None))
    contacts = work.session.scalars(current.order_by(ContactRow.id)).all()
    decide = [each for each in contacts if each.responsibility is Responsibility.YES] or list(contacts)
    for to in decide:
        own = f"{about}:{to.id}"
        tell_family(work, message, own, to=to, recipient_id=recipient_id, path="", urgent=urgent, **filled)
    return len(decide)
