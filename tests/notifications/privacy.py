"""What no message may say, looked for in every message that any test made the register write."""

from __future__ import annotations

import re

import sqlalchemy as sa
from sqlalchemy.orm import Session

from service.notifications.tables import MessageRow
from service.recipients.tables import ContactRow, RecipientRow

DIAGNOSES = re.compile(
    r"congenital|amput|disarticulat|residual limb|limb difference|metacarpal|\bcarpal|allerg", re.IGNORECASE
)


def said_too_much(session: Session) -> list[str]:
    """A sentence for each message with a diagnosis, the family name or the address of whom it is about."""
    rows = session.execute(
        sa.select(MessageRow.key, MessageRow.subject, MessageRow.body, RecipientRow.family_name, ContactRow.address)
        .outerjoin(RecipientRow, RecipientRow.id == MessageRow.recipient_id)
        .outerjoin(ContactRow, ContactRow.recipient_id == RecipientRow.id)
    ).all()
    found = []
    for key, subject, body, family_name, address in rows:
        text = f"{subject}\n{body}"
        if (diagnosis := DIAGNOSES.search(text)) is not None:
            found.append(f"the message {key} says {diagnosis[0]!r}")
        if family_name and re.search(rf"\b{re.escape(family_name)}\b", text, re.IGNORECASE):
            found.append(f"the message {key} names the family")
        if address and address in text:
            found.append(f"the message {key} says where they live")
    return found
